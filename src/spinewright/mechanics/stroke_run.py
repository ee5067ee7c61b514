"""The compiled run of whole strokes: phases backward from the free arrow to full draw, then the drawn state."""

from __future__ import annotations

from math import ceil, sqrt
from typing import NamedTuple

import numpy as np
from numba import njit

from spinewright.mechanics.stroke_kernel import (
    FAST,
    GRAVITY,
    BowArrays,
    Moment,
    RodArrays,
    State,
    fill_moment,
    new_moment,
    new_state,
    shape_at,
    step_back,
)
from spinewright.mechanics.values import FloatArray

__all__ = ["Outputs", "Plan", "run_strokes", "share_at_travel"]


class Plan(NamedTuple):
    """Which rows to run and how finely: steps over the time on the string, largest step times highest frequency."""

    first: int
    last: int
    steps: int
    reach: float


class Outputs(NamedTuple):
    """Filled in place: effects (N, 2, 9, 4), speed (N,), time on the string (N,)."""

    effects: FloatArray
    speed: FloatArray
    time: FloatArray


class _Phase(NamedTuple):
    """A stretch without a break, seen backward: its length, and what is known at its late and its early end."""

    span: float  # [s]
    late: float  # share of the time on the string at the late end; -1 when the string has gone
    early: float
    rest_late: float  # [m] rest's coordinate at the late end, without the string
    rest_early: float
    touching: float  # 1 while the rest touches, else 0


class _Tools(NamedTuple):
    """Working room of one thread."""

    now: Moment
    middle: Moment
    then: Moment
    state: State
    shape: FloatArray


@njit(cache=True)
def share_at_travel(table: FloatArray, travel: float) -> float:
    """Share of the time on the string at which the nock has travelled ``travel`` [m] from full draw."""
    low, high = 0, table.shape[0] - 1
    if travel >= table[high, 0]:
        return 1.0
    while high - low > 1:
        middle = (low + high) // 2
        if table[middle, 0] <= travel:
            low = middle
        else:
            high = middle
    part = (travel - table[low, 0]) / (table[high, 0] - table[low, 0])
    return float((low + part) / (table.shape[0] - 1))


@njit(cache=True)
def _start_at_release(rod: RodArrays, row: FloatArray, state: State) -> None:
    """Release columns of the free arrow as adjoint end values, and this row's stiffness and damping.

    Place and direction are the mass-weighted means over the arrow alone: the rigid fields 1/m and (s - b)/I, which the
    rigid motions with the nock mass can write exactly.
    """
    state.y[:] = 0.0
    state.v[:] = 0.0
    state.sums[:] = 0.0
    root, turn = sqrt(rod.body[0]), sqrt(rod.body[2])
    aside = root / rod.body[4]
    tilt, tilt_aside = turn / rod.body[6], root * (rod.body[1] - rod.body[5]) / rod.body[6]
    for plane in range(2):
        state.v[plane, 0, 0], state.y[plane, 0, 1] = aside, aside
        state.v[plane, 0, 2], state.y[plane, 0, 3] = tilt_aside, tilt_aside
        state.v[plane, 1, 2], state.y[plane, 1, 3] = tilt, tilt
        for i in range(rod.stiffness.shape[0]):
            square = row[plane] * rod.stiffness[i]
            state.bent[plane, 2 + i] = square
            state.drag[plane, 2 + i] = 2.0 * row[11] * sqrt(square)
    state.nock[0], state.nock[1] = 1.0 / root, -rod.body[1] / turn
    state.nock[2:] = rod.table[0, 0, : rod.stiffness.shape[0]]
    _set_extra_mass(rod.body[4] - rod.body[0], state)


@njit(cache=True)
def _set_extra_mass(extra: float, state: State) -> None:
    state.mass[0] = extra
    state.mass[1] = extra / (1.0 + extra * (state.nock**2).sum())


@njit(cache=True)
def _put_on_string(extra: float, state: State) -> None:
    """Carry the adjoint back through the departure, where the mass on the nock becomes ``extra`` more than the shapes'.

    Place and speed of the arrow are continuous there, so M v and M dv/dtau + C v of the adjoint are.
    """
    before, nock = state.mass[0], state.nock
    _set_extra_mass(extra, state)
    gain = before - state.mass[1] * (1.0 + before * (nock**2).sum())  # M2^-1 M1 = 1 + gain p p^T
    for plane in range(2):
        for column in range(4):
            y, v = state.y[plane, :, column], state.v[plane, :, column]
            change = gain * (nock * y).sum() * nock
            v += gain * (nock * v).sum() * nock
            y += change
            dragged = -state.drag[plane] * change
            v += dragged - state.mass[1] * (nock * dragged).sum() * nock


@njit(cache=True)
def _drawn_state(rod: RodArrays, row: FloatArray, s0: float, state: State, shape: FloatArray) -> None:
    """Add what each disturbance has put into the arrow before it is let go.

    The release holds the nock at its own place, the rest holds the shaft at ``s0``: two supports, so no bending but by
    weight. NOCK, HOLD: the straight line 1 - s/s0. REST: s/s0. KICK: the arrow turning about the rest, its nock
    moving at 1 m/s. BEND: the crooked shaft on its two supports. Turned thrust: nothing.
    """
    mass, balance = rod.body[0], rod.body[1]
    root, turn = sqrt(mass), sqrt(rod.body[2])
    shape_at(rod, s0, shape)
    crooked = 1.0 - (2.0 * s0 / rod.body[3] - 1.0) ** 2
    for plane in range(2):
        for column in range(4):
            y, v, sums = state.y[plane, :, column], state.v[plane, :, column], state.sums[plane, :, column]
            along_y = state.mass[0] * (state.nock * y).sum()
            along_v = state.mass[0] * (state.nock * v).sum()
            # what a rigid place 1 or a rigid line w = s at full draw does, and the same for a speed
            aside = root * (v[0] + state.nock[0] * along_v)
            tilted = turn * (v[1] + state.nock[1] * along_v) + balance * aside
            aside_speed = root * (y[0] + state.nock[0] * along_y)
            tilted_speed = turn * (y[1] + state.nock[1] * along_y) + balance * aside_speed
            sums[0] += aside - tilted / s0
            sums[3] += tilted / s0
            sums[4] += aside - tilted / s0
            sums[5] += aside_speed - tilted_speed / s0
            sums[7] -= crooked * tilted / s0
            sums[6] += _sagged(rod, row, (s0, aside, tilted, along_v), state, shape, (plane, column))


@njit(cache=True)
def _sagged(
    rod: RodArrays,
    row: FloatArray,
    rigid: tuple[float, float, float, float],
    state: State,
    shape: FloatArray,
    lane: tuple[int, int],
) -> float:
    """Effect of the drawn arrow's sag under its weight: bent between nock and rest, the rest pressed down.

    ``rigid``: rest's coordinate, effects of the lines 1 and s, the column's momentum in the extra nock mass.
    """
    k = rod.stiffness.shape[0]
    s0, aside, tilted, along_v = rigid
    plane, column = lane
    on_rest = rod.body[0] * GRAVITY * rod.body[1] / s0
    on_nock = rod.body[0] * GRAVITY - on_rest
    nock_up = (rod.table[0, 0, 2 * k + 3] * on_nock + shape[2 * k + 2] * on_rest) / row[plane]
    rest_up = (shape[2 * k + 2] * on_nock + shape[2 * k + 3] * on_rest) / row[plane]
    effect = 0.0
    for i in range(k):
        sag = (state.nock[2 + i] * on_nock + shape[i] * on_rest) / state.bent[plane, 2 + i]
        nock_up += state.nock[2 + i] * sag
        rest_up += shape[i] * sag
        momentum = state.v[plane, 2 + i, column] + state.nock[2 + i] * along_v
        effect += sag * (momentum + state.drag[plane, 2 + i] * state.y[plane, 2 + i, column])
    # then the rigid line that puts the nock back in its place and the shaft down on the yielding rest
    rest_down = -on_rest / row[8 + plane] - rest_up
    return float(effect - nock_up * (aside - tilted / s0) + rest_down * tilted / s0)


@njit(cache=True, fastmath=FAST)
def _highest(state: State, m: Moment) -> float:
    """A bound of the highest square frequency at this moment [rad2/s2]."""
    n = state.y.shape[1]
    worst = 0.0
    for plane in range(2):
        square = state.bent[plane, n - 1]
        for i in range(n):
            square += m.hold[plane, 0] * m.nock[plane, i] ** 2 + m.hold[plane, 2] * m.rest[plane, i] ** 2
        worst = max(worst, square)
    return worst


@njit(cache=True, fastmath=FAST)
def _steps_for(state: State, ends: tuple[Moment, Moment], span: float, plan: Plan, time: float) -> int:
    fastest = sqrt(max(_highest(state, ends[0]), _highest(state, ends[1])))
    return max(ceil(span * max(plan.steps / time, fastest / plan.reach)), 2)


@njit(cache=True, fastmath=FAST)
def _walk_back(rod: RodArrays, bow: BowArrays, row: FloatArray, phase: _Phase, tools: _Tools, count: int) -> None:
    """``count`` equal steps backward through ``phase``; ``tools.now`` holds its late end already."""
    now, then = tools.now, tools.then
    for step in range(count):
        for half in range(1, 3):
            done = (step + 0.5 * half) / count
            share = phase.late * (1.0 - done) + phase.early * done
            s_rest = phase.rest_late * (1.0 - done) + phase.rest_early * done
            where = (share, s_rest, phase.touching)
            fill_moment(rod, bow, row, where, tools.middle if half == 1 else then, tools.shape)
        step_back(now, tools.middle, then, tools.state, phase.span / count, rod.body[0])
        now, then = then, now


@njit(cache=True, fastmath=FAST)
def _one_phase(
    rod: RodArrays, bow: BowArrays, row: FloatArray, phase: _Phase, tools: _Tools, pace: tuple[Plan, float]
) -> None:
    """Steps no longer than the plan's share of the time on the string, and stable for the stiffest contact."""
    if phase.span <= 0.0:
        return
    fill_moment(rod, bow, row, (phase.early, phase.rest_early, phase.touching), tools.then, tools.shape)
    fill_moment(rod, bow, row, (phase.late, phase.rest_late, phase.touching), tools.now, tools.shape)
    count = _steps_for(tools.state, (tools.now, tools.then), phase.span, pace[0], pace[1])
    _walk_back(rod, bow, row, phase, tools, count)


@njit(cache=True, nogil=True)
def run_strokes(rod: RodArrays, bow: BowArrays, rows: FloatArray, plan: Plan, out: Outputs) -> None:
    """Strokes of rows ``plan.first`` to ``plan.last``; ``stroke.parameter_rows`` lists their columns."""
    n = rod.thrust.shape[0] + 1
    tools = _Tools(new_moment(n), new_moment(n), new_moment(n), new_state(n), np.zeros(rod.table.shape[2]))
    stroke, s0 = bow.scalars[0], bow.scalars[1]
    for index in range(plan.first, plan.last):
        row = rows[index]
        unit = sqrt((rod.body[4] + row[3]) / row[2])
        time = bow.scalars[2] * unit
        speed = sqrt(2.0 * bow.scalars[3]) / unit
        out.time[index], out.speed[index] = time, speed
        let_go = min(row[10], s0)
        share = share_at_travel(bow.table, let_go)
        pace = (plan, time)
        _start_at_release(rod, row, tools.state)
        if row[10] >= stroke and s0 > stroke:
            phase = _Phase((s0 - stroke) / speed, -1.0, -1.0, 0.0, s0 - stroke, 1.0)
            _one_phase(rod, bow, row, phase, tools, pace)
        _put_on_string(row[7] - (rod.body[0] - rod.body[4]), tools.state)
        _one_phase(rod, bow, row, _Phase((1.0 - share) * time, 1.0, share, 0.0, 0.0, 0.0), tools, pace)
        _one_phase(rod, bow, row, _Phase(share * time, share, 0.0, 0.0, 0.0, 1.0), tools, pace)
        _drawn_state(rod, row, s0, tools.state, tools.shape)
        out.effects[index] = tools.state.sums
