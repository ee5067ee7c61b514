"""The compiled flight: a stiff arrow falling, turning and slowing through air, row by row.

State along x (the distance flown by the centre of mass, the independent variable):
0 time, 1 forward speed U, then for each plane (sideways 2..5, height 6..9) position, velocity v, angle psi, rate r.

With the angle small, the axis is (1, psi, theta) and the normals (-psi, 1, 0) and (-theta, 0, 1); then the air meets a
point ``xi`` ahead of the centre of mass from the side with w(xi) = U psi - v - xi r + wind, and the same w is minus
that point's own normal speed, so every force along +w takes energy out: nothing in here can push the arrow.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from spinewright.flight.air import AIR_VISCOSITY, GRAVITY
from spinewright.flight.crossflow import FORM, FRICTION
from spinewright.flight.drag import DragParts, axial_coefficient, turbulent_share

__all__ = [
    "ACROSS",
    "LARGEST_ANGLE",
    "SLOWED",
    "SOLVED",
    "STATES",
    "TURNED",
    "Row",
    "constants",
    "fly_rows",
    "slope",
    "steps_needed",
]

FloatArray = NDArray[np.float64]

SOLVED, SLOWED, TURNED, ACROSS = 0, 1, 2, 3
LARGEST_ANGLE = 0.35  # [rad] beyond about 20 degrees the small-angle equations say nothing
LOST_SPEED = 0.3  # share of the launch speed below which a flight is given up
STATES = 10

_share = njit(cache=True, nogil=True, error_model="numpy")(turbulent_share)
_coefficient = njit(cache=True, nogil=True, error_model="numpy")(axial_coefficient)


class Row(NamedTuple):
    """Constants of one flight.

    mass [kg], inertia [kg m2]
    axial        [kg/m] 0.5 rho (pi d^2/4) times the drag factor
    per_speed    [s/m]  Re_d over speed
    lift0..lift2 0.5 rho sum(slope area place^k), with the place [m] to the power k = 0, 1, 2
    form         [kg/m2] 0.5 rho d times the form coefficient of cross-flow and the cross-flow factor
    friction     [kg/m^1.5 s^0.5] the same of the laminar friction, multiplies sqrt(w)
    wind [m/s], fall [m/s2] gravity across the line of the shot, climb [m/s2] against the flight
    """

    mass: float
    inertia: float
    axial: float
    per_speed: float
    lift0: float
    lift1: float
    lift2: float
    form: float
    friction: float
    wind: float
    fall: float
    climb: float


@njit(cache=True, nogil=True, error_model="numpy")
def slope(state: FloatArray, row: Row, parts: DragParts, strips: FloatArray, out: FloatArray) -> None:
    """Derivative of ``state`` (10,) along x, into ``out`` (10,); ``strips`` (2, S): places and lengths [m]."""
    speed, psi, r, theta, q = state[1], state[4], state[5], state[8], state[9]
    wy = speed * psi - state[3] + row.wind
    wz = speed * theta - state[7]
    force_y = speed * (row.lift0 * wy - row.lift1 * r)
    turn_y = speed * (row.lift1 * wy - row.lift2 * r)
    force_z = speed * (row.lift0 * wz - row.lift1 * q)
    turn_z = speed * (row.lift1 * wz - row.lift2 * q)
    for k in range(strips.shape[1]):
        place = strips[0, k]
        cross_y = wy - place * r
        cross_z = wz - place * q
        cross = math.sqrt(cross_y * cross_y + cross_z * cross_z)
        grip = strips[1, k] * (row.form * cross + row.friction * math.sqrt(cross))
        force_y += grip * cross_y
        force_z += grip * cross_z
        turn_y += place * grip * cross_y
        turn_z += place * grip * cross_z
    reynolds = max(row.per_speed * speed, 1.0)
    share = _share(reynolds, math.sqrt(wy * wy + wz * wz) / speed, parts.tripped)
    drag = row.axial * speed * speed * _coefficient(parts, reynolds, share)
    inverse = 1.0 / speed
    out[0] = inverse
    out[1] = (-(drag + force_y * psi + force_z * theta) / row.mass - row.climb) * inverse
    out[2] = state[3] * inverse
    out[3] = (force_y - drag * psi) / row.mass * inverse
    out[4] = r * inverse
    out[5] = turn_y / row.inertia * inverse
    out[6] = state[7] * inverse
    out[7] = ((force_z - drag * theta) / row.mass - row.fall) * inverse
    out[8] = q * inverse
    out[9] = turn_z / row.inertia * inverse


@njit(cache=True, nogil=True, error_model="numpy")
def _step(work: FloatArray, h: float, row: Row, parts: DragParts, strips: FloatArray) -> None:
    """One classical Runge-Kutta step of fourth order.

    Rows of ``work``: 0 state at the start, 1 its derivative (given), 2 state at the end, 3 its derivative (both
    filled in), 4 and 5 scratch.
    """
    start, first, end, last, trial, rise = work[0], work[1], work[2], work[3], work[4], work[5]
    for i in range(STATES):
        end[i] = start[i] + h / 6.0 * first[i]
        trial[i] = start[i] + 0.5 * h * first[i]
    for stage in range(3):
        slope(trial, row, parts, strips, rise)
        weight = h / 3.0 if stage < 2 else h / 6.0
        reach = 0.5 * h if stage == 0 else h
        for i in range(STATES):
            end[i] += weight * rise[i]
            trial[i] = start[i] + reach * rise[i]
    slope(end, row, parts, strips, last)


@njit(cache=True, nogil=True, error_model="numpy")
def _between(work: FloatArray, i: int, part: float, h: float) -> float:
    """State ``i`` at ``part`` (0 to 1) of the step, by the cubic through both ends and their derivatives."""
    left = 1.0 - part
    ends = left * left * (1.0 + 2.0 * part) * work[0, i] + part * part * (3.0 - 2.0 * part) * work[2, i]
    return float(ends + h * part * left * (left * work[1, i] - part * work[3, i]))


@njit(cache=True, nogil=True, error_model="numpy")
def _read(work: FloatArray, span: FloatArray, reads: FloatArray, out: FloatArray) -> None:
    """Note what passed during the step from ``span[0]`` of length ``span[1]``.

    Rows of ``reads``: 0, 1 places of the centre of mass when point and nock pass each distance; 2, 3 how far point and
    nock are ahead of it. Columns of ``out``: hole y z, angle y z, speed, time, nock's place y z.
    """
    begin, h = span[0], span[1]
    for j in range(reads.shape[1]):
        part = (reads[0, j] - begin) / h
        if 0.0 <= part < 1.0:
            psi, theta = _between(work, 4, part, h), _between(work, 8, part, h)
            out[j, 0] = _between(work, 2, part, h) + reads[2, j] * psi
            out[j, 1] = _between(work, 6, part, h) + reads[2, j] * theta
            out[j, 2] = psi
            out[j, 3] = theta
            out[j, 4] = _between(work, 1, part, h)
            out[j, 5] = _between(work, 0, part, h)
        part = (reads[1, j] - begin) / h
        if 0.0 <= part < 1.0:
            out[j, 6] = _between(work, 2, part, h) + reads[3, j] * _between(work, 4, part, h)
            out[j, 7] = _between(work, 6, part, h) + reads[3, j] * _between(work, 8, part, h)


@njit(cache=True, nogil=True, error_model="numpy")
def _fly_row(
    start: FloatArray, row: Row, parts: DragParts, strips: FloatArray, reads: FloatArray, steps: int, out: FloatArray
) -> int:
    """Fly one arrow from ``start`` (10 states) and fill ``out`` (D, 8); see ``_read`` for ``reads`` and ``out``.

    ``strips`` (2, S): places and lengths. ``steps`` equal steps reach just past the last place in ``reads``.
    Returns SOLVED, SLOWED (too slow or not finite) or TURNED (left the range of small angles).
    """
    work = np.empty((6, STATES))
    for k in range(STATES):  # written out: what checks a slice's shape takes seconds to compile
        work[0, k] = start[k]
    slope(work[0], row, parts, strips, work[1])
    furthest = 0.0
    for j in range(reads.shape[1]):
        furthest = max(furthest, reads[0, j], reads[1, j])
    span = np.empty(2)
    span[1] = furthest / steps * (1.0 + 1e-12)  # so that rounding cannot leave the last place unread
    for i in range(steps):
        span[0] = i * span[1]
        _step(work, span[1], row, parts, strips)
        if not work[2, 1] > LOST_SPEED * start[1]:
            return SLOWED
        if not (abs(work[2, 4]) < LARGEST_ANGLE and abs(work[2, 8]) < LARGEST_ANGLE):
            return TURNED
        _read(work, span, reads, out)
        for k in range(STATES):
            work[0, k], work[1, k] = work[2, k], work[3, k]
    return SOLVED


@njit(cache=True, nogil=True, error_model="numpy")
def constants(
    size: FloatArray, lift_moments: FloatArray, varied: tuple[FloatArray, ...], climb: FloatArray
) -> FloatArray:
    """Constants of N flights in the order of :class:`Row`, (N, 12).

    ``size`` (4,): mass, inertia, section, diameter of the arrow; ``lift_moments`` (3, 3) of nose, vanes and blades;
    ``varied`` (N,) each: air density, drag, cross-flow, vane and head factor, crosswind; ``climb`` (N,) [rad].
    """
    density, drag, cross, vane, head, wind = varied
    table = np.empty((density.size, 12))
    for n in range(density.size):
        rho = density[n]
        table[n, 0] = size[0]
        table[n, 1] = size[1]
        table[n, 2] = 0.5 * rho * size[2] * drag[n]
        table[n, 3] = rho * size[3] / AIR_VISCOSITY
        for k in range(3):
            lift = head[n] * (lift_moments[0, k] + lift_moments[2, k]) + vane[n] * lift_moments[1, k]
            table[n, 4 + k] = 0.5 * rho * lift
        table[n, 7] = 0.5 * rho * size[3] * FORM * cross[n]
        table[n, 8] = 0.5 * FRICTION * math.sqrt(rho * AIR_VISCOSITY * size[3]) * cross[n]
        table[n, 9] = wind[n]
        table[n, 10] = GRAVITY * math.cos(climb[n])
        table[n, 11] = GRAVITY * math.sin(climb[n])
    return table


@njit(cache=True, nogil=True, error_model="numpy")
def steps_needed(furthest: float, table: FloatArray, limits: tuple[float, float, float]) -> NDArray[np.int64]:
    """Equal steps (N,) of each flight over ``furthest`` [m]; none for a row with a number that is not finite.

    ``limits``: longest step [m], most of the yaw's own oscillation in one step [rad], how many times finer than that.
    """
    steps = np.zeros(table.shape[0], dtype=np.int64)
    for n in range(table.shape[0]):
        if np.all(np.isfinite(table[n])):
            turn = math.sqrt(abs(table[n, 5]) / table[n, 1])  # Row.lift1 / Row.inertia, independent of speed
            longest = min(limits[0], limits[1] / max(turn, 1e-9))
            steps[n] = math.ceil(limits[2] * math.ceil(furthest / longest))
    return steps


@njit(cache=True, nogil=True, error_model="numpy")
def _set_out(start: FloatArray, speed: float, release: FloatArray) -> bool:
    """Fill the first state (10,) from a release (2, 4); whether it can fly: forward and finite."""
    start[0], start[1] = 0.0, speed
    finite = math.isfinite(speed) and speed > 0.0
    for plane in range(2):
        for k in range(4):
            start[2 + 4 * plane + k] = release[plane, k]
            finite = finite and math.isfinite(release[plane, k])
    return finite


@njit(cache=True, nogil=True, error_model="numpy")
def fly_rows(
    left: tuple[FloatArray, FloatArray, float],
    table: FloatArray,
    parts: DragParts,
    strips: FloatArray,
    reads: FloatArray,
    steps: NDArray[np.int64],
    out: FloatArray,
) -> NDArray[np.int64]:
    """Fly a batch; fill ``out`` (N, D, 8) where solved, zero elsewhere, and return a code a row.

    ``left``: speed (N,), release (N, 2, 4) and the most energy across the line of the shot over that along it;
    ``table`` (N, 12) in the order of :class:`Row`; ``steps`` (N,). Rows with no steps come back as SLOWED.
    """
    speed, release, most_across = left
    codes = np.full(speed.size, SLOWED)
    start = np.empty(STATES)
    for n in range(speed.size):
        if not _set_out(start, speed[n], release[n]) or steps[n] <= 0:
            continue
        t = table[n]
        aside = start[3] ** 2 + start[7] ** 2 + t[1] / t[0] * (start[5] ** 2 + start[9] ** 2)
        if aside > most_across * speed[n] ** 2:
            codes[n] = ACROSS
            continue
        row = Row(t[0], t[1], t[2], t[3], t[4], t[5], t[6], t[7], t[8], t[9], t[10], t[11])
        codes[n] = _fly_row(start, row, parts, strips, reads, steps[n], out[n])
        if codes[n] == SOLVED and not np.all(np.isfinite(out[n])):
            codes[n] = SLOWED
        if codes[n] != SOLVED:
            out[n] = 0.0
    return codes
