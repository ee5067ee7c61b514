"""The arrow as a bending rod: its rigid body, its modes, its thrust matrix and when it would buckle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import pi, sqrt

import numpy as np

from spinewright.equipment import MassModel
from spinewright.errors import SolveError
from spinewright.mechanics.legendre import MOST_FUNCTIONS, bending_functions, bending_table, gauss_rule
from spinewright.mechanics.rod_assembly import assemble, bending_modes, critical_acceleration, load_nock
from spinewright.mechanics.values import FloatArray

__all__ = ["GRID_CELLS", "Rod", "build_rod", "frequencies", "mode_nodes", "rod_of_parts"]

GRID_CELLS = 96  # cells of the table of shapes along the shaft; cubic Hermite in between


@dataclass(frozen=True, eq=False)
class Rod:
    """A free arrow that bends: its rigid body, its bending modes, and what is needed to put it on a string.

    length, EI            [m], [N m2]
    mass, balance, inertia  [kg], [m] from the nock throat, [kg m2] about the balance point
    modes                 bending shapes that a power stroke keeps of it
    rigid   (2, static)   lift and lean: the rigid part that frees each bending function of momentum
    block   (all, all)    mass of the bending functions so freed
    parts                 mass moments, functions' moments, mass block and thrust matrix as assembled
    """

    length: float
    EI: float
    mass: float
    balance: float
    inertia: float
    modes: int
    rigid: FloatArray
    block: FloatArray
    parts: tuple[FloatArray, FloatArray, FloatArray, FloatArray]

    @cached_property
    def _modal(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        body = np.array([self.mass, self.balance, self.inertia])
        return bending_modes(body, self.rigid, self.block, self.parts[3], self.kappa)

    @property
    def omega_squared(self) -> FloatArray:
        """Squares of angular frequency [rad2/s2] of every bending mode of the basis, lowest first, (all,).

        Only the first half is exact.
        """
        return self._modal[0]

    @property
    def shapes(self) -> FloatArray:
        """Coefficients of the bending functions, mass-normalised modes in columns, (all, all)."""
        return self._modal[1]

    @property
    def thrust(self) -> FloatArray:
        """G [1/m] over rotation and all modes, (all+1, all+2): compression is acceleration times this.

        The last column is for a shaft crooked by a unit parabola.
        """
        return self._modal[2][: self.block.shape[0] + 1]

    @property
    def kappa(self) -> float:
        """Bending energy [N/m] of every bending function."""
        return 8.0 * self.EI / self.length**3

    @cached_property
    def critical_acceleration(self) -> float:
        """Acceleration [m/s2] at which a steady thrust would buckle the rod, the thrust's direction fixed."""
        return float(critical_acceleration(self.parts[3], self.kappa))

    def evaluate(self, s: FloatArray | float) -> FloatArray:
        """Shapes of translation, rotation and ALL bending modes at ``s`` [m]: (len(s), 2 + all), in 1/sqrt(kg).

        Beyond the shaft's ends they go on straight.
        """
        positions = np.atleast_1d(np.asarray(s, dtype=np.float64))
        count = self.omega_squared.size
        out = np.empty((positions.size, 2 + count))
        values, slopes = np.empty(count), np.empty(count)
        for row, position in enumerate(positions):
            inside = min(max(float(position), 0.0), self.length)
            bending_functions(2.0 * inside / self.length - 1.0, values, slopes)
            values += (position - inside) * slopes * (2.0 / self.length)
            values -= self.rigid[0, :count] + self.rigid[1, :count] * (position - self.balance)
            out[row, 0] = 1.0 / sqrt(self.mass)
            out[row, 1] = (position - self.balance) / sqrt(self.inertia)
            out[row, 2:] = values @ self.shapes
        return out

    def buckling_margin(self, acceleration: float) -> float:
        """How many times the thrust of ``acceleration`` [m/s2] a steady thrust could be before the shaft gives way."""
        return self.critical_acceleration / acceleration


def build_rod(masses: MassModel, *, functions: int = 14, modes: int = 7, static_functions: int = 40) -> Rod:
    """The rod of an arrow: ``functions`` Legendre polynomials on [0, length], ``modes`` bending shapes for a stroke.

    Euler-Bernoulli bending with rotary inertia of the lumps only; integrals exact by Gauss quadrature.
    ``static_functions`` polynomials carry the static flexibility of the shapes that a stroke drops. Raises SolveError
    when masses or stiffness are out of range.
    """
    bending, static = functions - 2, max(static_functions, functions) - 2
    if not 1 <= modes <= bending:
        msg = f"modes must lie in 1..{bending} for {functions} functions, not {modes}"
        raise ValueError(msg)
    if static > MOST_FUNCTIONS:
        msg = f"at most {MOST_FUNCTIONS} bending functions, not {static}"
        raise ValueError(msg)
    lumps = np.array([masses.positions, masses.masses, masses.inertias], dtype=np.float64)
    rules = _rule(max(functions, static // 2) + 3), _rule(functions + 1)
    parts = assemble(masses.length, masses.carbon_start, masses.linear_density, lumps, rules, (bending, static))
    if not (masses.EI > 0.0 and np.isfinite(masses.EI / masses.length**3) and np.all(np.isfinite(parts[2]))):
        raise SolveError("the arrow's bending modes", "masses or stiffness out of range", "check the arrow build")
    return rod_of_parts(parts, masses.length, masses.EI, modes, 0.0)


def rod_of_parts(
    parts: tuple[FloatArray, FloatArray, FloatArray, FloatArray],
    length: float,
    bending_stiffness: float,
    modes: int,
    nock_mass: float,
) -> Rod:
    """The rod of assembled ``parts`` with ``nock_mass`` [kg] riding on its nock."""
    moments, coupling, block, _ = parts
    at_nock = bending_table(coupling.shape[1], GRID_CELLS)[0][0]
    body, rigid, own = load_nock(moments, coupling, block, at_nock, nock_mass)
    return Rod(
        length=length,
        EI=bending_stiffness,
        mass=float(body[0]),
        balance=float(body[1]),
        inertia=float(body[2]),
        modes=modes,
        rigid=rigid,
        block=own,
        parts=parts,
    )


@lru_cache(maxsize=8)
def _rule(points: int) -> FloatArray:
    return np.stack(gauss_rule(points))


def frequencies(rod: Rod, count: int = 3) -> FloatArray:
    """The first natural frequencies [Hz] of the free arrow, (count,)."""
    return np.sqrt(rod.omega_squared[:count]) / (2.0 * pi)


def mode_nodes(rod: Rod, mode: int = 1) -> FloatArray:
    """Positions [m] from the nock throat where bending mode ``mode`` (1 = lowest) stands still on the shaft."""
    from scipy.optimize import brentq

    grid = np.linspace(0.0, rod.length, 201)
    column = mode + 1
    shape = rod.evaluate(grid)[:, column]
    crossings = np.flatnonzero(shape[:-1] * shape[1:] < 0.0)
    return np.array(
        [brentq(lambda s: float(rod.evaluate(s)[0, column]), grid[i], grid[i + 1], xtol=1e-9) for i in crossings]
    )
