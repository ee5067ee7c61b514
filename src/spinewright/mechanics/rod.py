"""The arrow as a bending rod: its modes, its thrust matrix and the flexibility that the dropped modes leave behind."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from scipy.optimize import brentq

from spinewright.equipment import MassModel
from spinewright.errors import SolveError
from spinewright.mechanics.legendre import bending_functions, bending_table, gauss_rule
from spinewright.mechanics.rod_assembly import assemble, reduce_to_modes
from spinewright.mechanics.values import FloatArray

__all__ = ["GRID_CELLS", "Rod", "build_rod", "frequencies", "mode_nodes"]

GRID_CELLS = 96  # cells of the table of shapes along the shaft; cubic Hermite in between


@dataclass(frozen=True, slots=True, eq=False)
class Rod:
    """A free arrow reduced to translation, rotation and ``modes`` bending modes, all mass-normalised.

    length, EI            [m], [N m2]
    mass, balance, inertia  [kg], [m] from the nock throat, [kg m2] about the balance point
    modes                 number of bending modes kept, k
    omega_squared  (all,) [rad2/s2] of every bending mode of the basis, lowest first (only the first third is exact)
    shapes  (functions, all)        coefficients of the bending functions
    lean, lift (functions,)         rigid part that makes each bending function free of momentum
    thrust         (k+1, k+1) [1/m] modal G over rotation and kept modes: compression is acceleration times this
    thrust_high    (k+1, k+2)       the same for what G stirs up in the dropped modes, per a^2 / stiffness factor; the
                                    last column of both is for a crooked shaft
    table  (cells + 1, 2, width)    along the shaft, values and slopes times the cell's length: kept modes; what G adds
                                    to them through the dropped modes (rotation, modes, crooked shaft); flexibility of
                                    the dropped modes between nock and here, and here and here
    critical_acceleration [m/s2]    at which a steady thrust would buckle the rod (fixed thrust direction)
    """

    length: float
    EI: float
    mass: float
    balance: float
    inertia: float
    modes: int
    omega_squared: FloatArray
    shapes: FloatArray
    lean: FloatArray
    lift: FloatArray
    thrust: FloatArray
    thrust_high: FloatArray
    table: FloatArray
    critical_acceleration: float

    def evaluate(self, s: FloatArray | float) -> FloatArray:
        """Shapes of translation, rotation and ALL bending modes at ``s`` [m]: (len(s), 2 + all), in 1/sqrt(kg)."""
        positions = np.atleast_1d(np.asarray(s, dtype=np.float64))
        out = np.empty((positions.size, 2 + self.omega_squared.size))
        values, slopes = np.empty(self.lean.size), np.empty(self.lean.size)
        for row, position in enumerate(positions):
            inside = min(max(float(position), 0.0), self.length)
            bending_functions(2.0 * inside / self.length - 1.0, values, slopes)
            values += (
                (position - inside) * slopes * (2.0 / self.length) - self.lift - self.lean * (position - self.balance)
            )
            out[row, 0] = 1.0 / sqrt(self.mass)
            out[row, 1] = (position - self.balance) / sqrt(self.inertia)
            out[row, 2:] = values[: self.shapes.shape[0]] @ self.shapes
        return out

    def buckling_margin(self, acceleration: float) -> float:
        """How many times the thrust of ``acceleration`` [m/s2] a steady thrust could be before the shaft gives way."""
        return self.critical_acceleration / acceleration


def build_rod(masses: MassModel, *, functions: int = 14, modes: int = 5, static_functions: int = 32) -> Rod:
    """The rod of an arrow: ``functions`` Legendre polynomials on [0, length], ``modes`` bending modes kept.

    ``static_functions`` polynomials carry the static flexibility of what is dropped. Euler-Bernoulli bending with
    rotary inertia of the lumps only; integrals exact by Gauss quadrature.
    """
    bending, static = functions - 2, max(static_functions, functions) - 2
    if not 1 <= modes <= bending:
        msg = f"modes must lie in 1..{bending} for {functions} functions, not {modes}"
        raise ValueError(msg)
    lumps = np.vstack([masses.positions, masses.masses, masses.inertias]).astype(np.float64)
    rule = np.stack(gauss_rule(max(functions + 1, static // 2 + 3)))
    body, rigid, block, thrust = assemble(
        masses.length, masses.carbon_start, masses.linear_density, lumps, rule, (bending, static)
    )
    kappa = 8.0 * masses.EI / masses.length**3
    squares, shapes, g, critical = reduce_to_modes(body, rigid, block, thrust, kappa)
    if not np.all(np.isfinite(squares)):
        raise SolveError("the arrow's bending modes", "masses or stiffness out of range", "check the arrow build")
    lift, lean = rigid[0] / body[0], rigid[1] / body[2]
    high = g[: modes + 1, modes + 1 : bending + 1] / squares[modes:]
    return Rod(
        length=masses.length,
        EI=masses.EI,
        mass=float(body[0]),
        balance=float(body[1]),
        inertia=float(body[2]),
        modes=modes,
        omega_squared=squares,
        shapes=shapes,
        lean=lean,
        lift=lift,
        thrust=np.ascontiguousarray(np.delete(g[: modes + 1], np.s_[modes + 1 : bending + 1], axis=1)),
        thrust_high=high @ np.delete(g[modes + 1 : bending + 1], np.s_[modes + 1 : bending + 1], axis=1),
        table=_shape_table(masses.length, body, (lift, lean), (squares, shapes, g, kappa), modes),
        critical_acceleration=float(critical),
    )


def _shape_table(
    length: float,
    body: FloatArray,
    rigid: tuple[FloatArray, FloatArray],
    modal: tuple[FloatArray, FloatArray, FloatArray, float],
    modes: int,
) -> FloatArray:
    """The table of :class:`Rod`. The dropped modes' flexibility is the whole static one less the kept modes'."""
    lift, lean = rigid
    squares, shapes, g, kappa = modal
    bending = squares.size
    values, slopes = bending_table(lift.size, GRID_CELLS)
    cell = length / GRID_CELLS
    arm = np.linspace(0.0, length, GRID_CELLS + 1)[:, None] - body[1]
    psi = np.stack([values - lift - arm * lean, slopes * (2.0 / GRID_CELLS) - lean * cell], axis=1)
    every = psi[:, :, :bending] @ shapes
    stirred = np.delete(g[modes + 1 : bending + 1], np.s_[modes + 1 : bending + 1], axis=1) / squares[modes:, None]
    table = np.empty((GRID_CELLS + 1, 2, 2 * modes + 4))
    table[:, :, :modes] = every[:, :, :modes]
    table[:, :, modes : 2 * modes + 2] = every[:, :, modes:] @ stirred
    kept = every[:, :, :modes] / np.sqrt(squares[:modes])
    root = psi / sqrt(kappa)
    table[:, :, -2] = root @ root[0, 0] - kept @ kept[0, 0]
    table[:, 0, -1] = np.einsum("ij,ij->i", root[:, 0], root[:, 0]) - np.einsum("ij,ij->i", kept[:, 0], kept[:, 0])
    table[:, 1, -1] = 2.0 * (
        np.einsum("ij,ij->i", root[:, 0], root[:, 1]) - np.einsum("ij,ij->i", kept[:, 0], kept[:, 1])
    )
    return table


def frequencies(rod: Rod, count: int = 3) -> FloatArray:
    """The first natural frequencies [Hz] of the free arrow, (count,)."""
    return np.sqrt(rod.omega_squared[:count]) / (2.0 * pi)


def mode_nodes(rod: Rod, mode: int = 1) -> FloatArray:
    """Positions [m] from the nock throat where bending mode ``mode`` (1 = lowest) stands still on the shaft."""
    grid = np.linspace(0.0, rod.length, 201)
    column = mode + 1
    shape = rod.evaluate(grid)[:, column]
    crossings = np.flatnonzero(shape[:-1] * shape[1:] < 0.0)
    return np.array(
        [brentq(lambda s: float(rod.evaluate(s)[0, column]), grid[i], grid[i + 1], xtol=1e-9) for i in crossings]
    )
