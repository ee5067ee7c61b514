"""What the bow does along the shot, tabulated once per draw curve: travel, thrust and the string's hold on the nock.

With time measured in units of sqrt((arrow mass + virtual mass) / force factor) the motion along the shot is the same
for every arrow weight and every true draw weight, so one table serves all of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from spinewright.equipment import Bow
from spinewright.errors import SolveError
from spinewright.mechanics.stroke_moment import BowArrays
from spinewright.mechanics.values import FloatArray

__all__ = ["PIVOT_TO_DRAW", "BowMotion", "DrawForce", "StringGeometry", "bow_arrays", "bow_motion"]

PIVOT_TO_DRAW = 1.75 * 0.0254  # [m] draw length less nock point to grip pivot (ASTM F1880)
_TIMES = 1024  # intervals of the time table; linear in between is good to 1e-6 of travel and thrust
_CELLS = 4096  # cells of the draw curve for the energy integral


class DrawForce(Protocol):
    """A draw curve: its stroke [m] and the force [N] at distances u [m] from brace."""

    @property
    def stroke(self) -> float:
        """Draw from brace to full draw [m]."""
        ...

    def force(self, u: FloatArray, /) -> FloatArray:
        """Draw force [N] at ``u`` [m] from brace, 0 at brace."""
        ...


@dataclass(frozen=True, slots=True)
class StringGeometry:
    """Where the string's hold on the nock comes from; nobody can measure it at the bench, so it is assumed.

    tracks_behind    [m]   how far in front of the braced nock the line of the cams' string tracks (about the line of
                           the axles) lies: roughly a cam's radius
    synchronisation  [N/m] stiffness against a nock that moves up or down, from cams that may only turn together
    """

    tracks_behind: float = 0.045
    synchronisation: float = 1500.0


@dataclass(frozen=True, slots=True, eq=False)
class BowMotion:
    """The universal motion of one bow and draw curve.

    stroke          [m]   full draw to brace
    rest_at_draw    [m]   arrow coordinate (from the nock throat) of the rest's contact at full draw
    duration        time on the string in the universal unit, s / sqrt(kg) of moving mass per unit force factor
    energy          [J]   under the draw curve
    peak_force      [N]
    synchronisation [N/m]
    table (n, 5)    on even universal times: travel [m]; force [N]; string stiffness sideways and up and down [N/m] for
                    force factor 1; stiffness per newton of residual tension [1/m]
    """

    stroke: float
    rest_at_draw: float
    duration: float
    energy: float
    peak_force: float
    synchronisation: float
    table: FloatArray

    def at(self, fraction: FloatArray) -> FloatArray:
        """Rows of the table, (n, 5), at fractions 0..1 of the time on the string."""
        place = np.clip(np.asarray(fraction, dtype=np.float64), 0.0, 1.0) * (self.table.shape[0] - 1)
        cell = np.minimum(place.astype(np.int64), self.table.shape[0] - 2)
        part = (place - cell)[..., None]
        return np.asarray(self.table[cell] * (1.0 - part) + self.table[cell + 1] * part)


def bow_motion(curve: DrawForce, bow: Bow, geometry: StringGeometry | None = None) -> BowMotion:
    """Tabulate the motion of ``bow`` with draw curve ``curve``.

    A nock pulled back by d from the line of the tracks with force F is held sideways by F/d, and up and down by
    (F/d)(d/l)^2, l the half string, plus the cams' synchronisation; a residual tension T holds it by 2T/l at brace,
    fading as 1/d. Both follow from the direction of two string halves under tension. Energy and time by quadrature of
    m v dv = F dx, the force taken constant in each of 4096 cells for the time.
    """
    geometry = geometry or StringGeometry()
    stroke = float(curve.stroke)
    x = np.linspace(0.0, stroke, _CELLS + 1)
    force = np.asarray(curve.force(stroke - x), dtype=np.float64)
    if not (np.all(np.isfinite(force)) and stroke > 0.0 and np.all(force[:-1] > 0.0)):
        raise SolveError("the motion along the shot", "the draw force must stay above zero", "check the draw curve")
    cell = stroke / _CELLS
    work = np.concatenate([[0.0], np.cumsum(0.5 * (force[1:] + force[:-1]) * cell)])
    speed = np.sqrt(2.0 * work)
    time = np.concatenate([[0.0], np.cumsum(2.0 * cell / (speed[1:] + speed[:-1]))])
    even = np.linspace(0.0, time[-1], _TIMES + 1)
    left = np.minimum(np.searchsorted(time, even, side="right") - 1, _CELLS - 1)
    since = (even - time[left]) / (time[left + 1] - time[left])
    mean = (speed[left + 1] - speed[left]) / (time[left + 1] - time[left])
    step = even - time[left]
    travel = np.minimum(x[left] + speed[left] * step + 0.5 * mean * step**2, stroke)
    thrust = force[left] * (1.0 - since) + force[left + 1] * since
    return BowMotion(
        stroke=stroke,
        rest_at_draw=bow.draw_length - PIVOT_TO_DRAW + bow.rest.ahead,
        duration=float(time[-1]),
        energy=float(work[-1]),
        peak_force=float(force.max()),
        synchronisation=geometry.synchronisation,
        table=_string_columns(travel, thrust, stroke, bow.axle_to_axle, geometry),
    )


def _string_columns(
    travel: FloatArray, force: FloatArray, stroke: float, axle_to_axle: float, geometry: StringGeometry
) -> FloatArray:
    behind = stroke - travel + geometry.tracks_behind
    half = np.hypot(0.5 * axle_to_axle, behind)
    sideways = force / behind
    residual = 2.0 * geometry.tracks_behind / (behind * half)
    return np.ascontiguousarray(np.stack([travel, force, sideways, sideways * (behind / half) ** 2, residual], axis=1))


def bow_arrays(motion: BowMotion) -> BowArrays:
    """``motion`` as the kernels want it."""
    scalars = (motion.stroke, motion.rest_at_draw, motion.duration, motion.energy, motion.synchronisation)
    return BowArrays(np.array(scalars), motion.table)
