"""The compiled run of whole strokes: phases backward from the free arrow to full draw, then the drawn state."""

from __future__ import annotations

from math import ceil, sqrt
from typing import NamedTuple

import numpy as np
from numba import njit

from spinewright.mechanics.reweigh import reweighed
from spinewright.mechanics.stroke_kernel import (
    EFFECTS,
    State,
    advance,
    clear,
    new_state,
    press,
    set_swing,
    stage_on,
    start,
)
from spinewright.mechanics.stroke_moment import (
    FAST,
    GRAVITY,
    BowArrays,
    Moment,
    RodArrays,
    contact_square,
    fill_moment,
    new_moment,
    shape_at,
)
from spinewright.mechanics.values import FloatArray

__all__ = [
    "SWINGS",
    "Outputs",
    "Phase",
    "Plan",
    "after_string",
    "place_in",
    "run_strokes",
    "set_shapes",
    "share_at_travel",
]


_ROUNDING = 1e-9  # of a step
SWINGS = 5.0  # a shape's own swing may be this much faster than the contacts' at the same error


class Plan(NamedTuple):
    """Which rows to run and how finely: steps over the time on the string, largest step times highest frequency."""

    first: int
    last: int
    steps: int
    reach: float
    nodes: FloatArray  # Gauss rule on [-1, 1] for the swing of a step
    weights: FloatArray


class Outputs(NamedTuple):
    """Filled in place: effects (N, 2, 9, 4), speed (N,), time on the string (N,), steps taken (N,)."""

    effects: FloatArray
    speed: FloatArray
    time: FloatArray
    steps: FloatArray


class Phase(NamedTuple):
    """A stretch without a break, seen backward: its length, and what is known at its late and its early end."""

    span: float  # [s]
    late: float  # share of the time on the string at the late end; -1 when the string has gone
    early: float
    rest_late: float  # [m] rest's coordinate at the late end, without the string
    rest_early: float
    touching: float  # 1 while the rest touches, else 0


_Phase = Phase  # compiled code that was kept from before asks for it by this name


class _Tools(NamedTuple):
    """Working room of one thread."""

    moment: Moment
    state: State
    shape: FloatArray
    steps: FloatArray  # (1,) taken so far in this row


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy")
def set_shapes(rod: RodArrays, row: FloatArray, state: State) -> None:
    """This row's stiffness and damping of the shapes of ``rod``."""
    for plane in range(2):
        for i in range(rod.stiffness.shape[0]):
            square = row[plane] * rod.stiffness[i]
            state.bent[plane, 2 + i] = square
            state.drag[plane, 2 + i] = 2.0 * row[11] * sqrt(square)


@njit(cache=True, error_model="numpy")
def _start_at_release(rod: RodArrays, state: State) -> None:
    """Release columns of the free arrow as adjoint end values, in the shapes of ``rod`` whatever its nock mass.

    Place and direction are means over the mass of the arrow alone: the rigid fields 1/m and (s - b)/I.
    """
    clear(state)
    root, turn = sqrt(rod.body[0]), sqrt(rod.body[2])
    aside, tilt = root / rod.body[4], turn / rod.body[6]
    tilt_aside = root * (rod.body[1] - rod.body[5]) / rod.body[6]
    for plane in range(2):
        state.v[plane, 0, 0], state.y[plane, 0, 1] = aside, aside
        state.v[plane, 0, 2], state.y[plane, 0, 3] = tilt_aside, tilt_aside
        state.v[plane, 1, 2], state.y[plane, 1, 3] = tilt, tilt


@njit(cache=True, error_model="numpy")
def _combine(turn: FloatArray, columns: FloatArray, room: FloatArray) -> None:
    """columns (n, 4) = turn columns; ``room`` (n, 4) for what they were."""
    n = columns.shape[0]
    for i in range(n):
        for column in range(4):
            room[i, column] = columns[i, column]
    for i in range(n):
        for column in range(4):
            along = 0.0
            for j in range(n):
                along += turn[i, j] * room[j, column]
            columns[i, column] = along


@njit(cache=True, error_model="numpy")
def _common_shapes(turn: FloatArray, state: State) -> None:
    """Columns over the shapes ``turn`` to columns over the common ones, the damping's share added to the speed."""
    n = state.y.shape[1]
    for plane in range(2):
        for i in range(n):
            for column in range(4):
                state.v[plane, i, column] += state.drag[plane, i] * state.y[plane, i, column]
        _combine(turn, state.y[plane], state.stage[plane])
        _combine(turn, state.v[plane], state.stage[plane])


@njit(cache=True, error_model="numpy")
def _add_mass(columns: FloatArray, nock: FloatArray, mass: float) -> None:
    """columns += mass p p^T columns."""
    for column in range(4):
        along = 0.0
        for i in range(nock.shape[0]):
            along += nock[i] * columns[i, column]
        for i in range(nock.shape[0]):
            columns[i, column] += mass * along * nock[i]


@njit(cache=True, error_model="numpy")
def _put_on_string(rod: RodArrays, turn: FloatArray, light: float, state: State) -> None:
    """Carry the adjoint back through the departure, where the mass on the nock joins.

    Place and speed of the arrow are continuous there, so the momentum of the adjoint is, and that of its rate with the
    damping's share. On entry columns are over the common shapes of ``rod``, in which the free arrow's mass is
    1 + ``light`` p p^T; on leaving over the held arrow's, ``turn`` in common ones, whose damping is set.
    """
    n = state.y.shape[1]
    nock = np.empty(n)
    nock[0], nock[1] = 1.0 / sqrt(rod.body[0]), -rod.body[1] / sqrt(rod.body[2])
    for i in range(n - 2):
        nock[2 + i] = rod.table[0, 0, i]
    back = np.ascontiguousarray(turn.T)
    for plane in range(2):
        _add_mass(state.y[plane], nock, light)
        _add_mass(state.v[plane], nock, light)
        _combine(back, state.y[plane], state.stage[plane])
        _combine(back, state.v[plane], state.stage[plane])
        for i in range(n):
            for column in range(4):
                state.v[plane, i, column] -= state.drag[plane, i] * state.y[plane, i, column]


@njit(cache=True, error_model="numpy")
def _drawn_state(rod: RodArrays, row: FloatArray, s0: float, state: State, shape: FloatArray) -> None:
    """Add what each disturbance has put into the arrow before it is let go.

    The release holds the nock at its own place, the rest holds the shaft at ``s0``: two supports, so no bending but by
    weight. NOCK, HOLD: the straight line 1 - s/s0. REST: s/s0. KICK: the arrow turning about the rest, its nock
    moving at 1 m/s. BEND: the crooked shaft on its two supports. Turned thrust: nothing.
    """
    balance, root, turn = rod.body[1], sqrt(rod.body[0]), sqrt(rod.body[2])
    shape_at(rod, s0, shape)
    crooked = 1.0 - (2.0 * s0 / rod.body[3] - 1.0) ** 2
    for plane in range(2):
        for column in range(4):
            y, v, sums = state.y[plane, :, column], state.v[plane, :, column], state.sums[plane, :, column]
            # what a rigid place 1 or a rigid line w = s at full draw does, and the same for a speed
            aside, aside_speed = root * v[0], root * y[0]
            tilted, tilted_speed = turn * v[1] + balance * aside, turn * y[1] + balance * aside_speed
            sums[0] += aside - tilted / s0
            sums[3] += tilted / s0
            sums[4] += aside - tilted / s0
            sums[5] += aside_speed - tilted_speed / s0
            sums[7] -= crooked * tilted / s0
            sums[6] += _sagged(rod, row, (s0, aside, tilted), state, shape, (plane, column))


@njit(cache=True, error_model="numpy")
def _sagged(
    rod: RodArrays,
    row: FloatArray,
    rigid: tuple[float, float, float],
    state: State,
    shape: FloatArray,
    lane: tuple[int, int],
) -> float:
    """Effect of the drawn arrow's sag under its weight: bent between nock and rest, the rest pressed down.

    ``rigid``: rest's coordinate, effects of the lines 1 and s.
    """
    k = rod.stiffness.shape[0]
    s0, aside, tilted = rigid
    plane, column = lane
    end = rod.table[0, 0]
    on_rest = rod.body[0] * GRAVITY * rod.body[1] / s0
    on_nock = rod.body[0] * GRAVITY - on_rest
    nock_up = (end[2 * k + 3] * on_nock + shape[2 * k + 2] * on_rest) / row[plane]
    rest_up = (shape[2 * k + 2] * on_nock + shape[2 * k + 3] * on_rest) / row[plane]
    effect = 0.0
    for i in range(k):
        sag = (end[i] * on_nock + shape[i] * on_rest) / state.bent[plane, 2 + i]
        nock_up += end[i] * sag
        rest_up += shape[i] * sag
        effect += sag * (state.v[plane, 2 + i, column] + state.drag[plane, 2 + i] * state.y[plane, 2 + i, column])
    # then the rigid line that puts the nock back in its place and the shaft down on the yielding rest
    rest_down = -on_rest / row[8 + plane] - rest_up
    return float(effect - nock_up * (aside - tilted / s0) + rest_down * tilted / s0)


@njit(cache=True, fastmath=FAST, error_model="numpy")
def _fastest(rod: RodArrays, bow: BowArrays, row: FloatArray, phase: Phase, tools: tuple[Moment, FloatArray]) -> float:
    """Highest frequency [rad/s] that the contacts can give the shapes at either end of ``phase``."""
    m, worst = tools[0], 0.0
    for end in range(2):
        fill_moment(rod, bow, row, place_in(phase, 1.0 - end), m, tools[1])
        for plane in range(2):
            worst = max(worst, contact_square(m, plane))
    return sqrt(worst)


@njit(error_model="numpy", inline="always")
def place_in(phase: Phase, done: float) -> tuple[float, float, float]:
    """Share of the time on the string, rest's coordinate and touching when ``done`` of ``phase`` is behind."""
    share = phase.late * (1.0 - done) + phase.early * done
    return share, phase.rest_late * (1.0 - done) + phase.rest_early * done, phase.touching


@njit(cache=True, fastmath=FAST, error_model="numpy")
def _step_through(rod: RodArrays, bow: BowArrays, row: FloatArray, phase: Phase, tools: _Tools, count: int) -> None:
    """Back through ``phase`` in ``count`` steps; on entry ``tools.moment`` is that of its late end."""
    # every array named before the loop: naming one counts references to it
    m, state, shape, h, mass = tools.moment, tools.state, tools.shape, phase.span / count, rod.body[0]
    f1, f2, f3, half, whole = state.f1, state.f2, state.f3, state.half, state.whole
    start(state)
    for step in range(count):
        press(m, state, f1, h / 6.0, mass)
        stage_on(state, half, f1)
        fill_moment(rod, bow, row, place_in(phase, (step + 0.5) / count), m, shape)
        press(m, state, f2, 4.0 * h / 6.0, mass)
        stage_on(state, whole, f2)
        fill_moment(rod, bow, row, place_in(phase, (step + 1.0) / count), m, shape)
        press(m, state, f3, h / 6.0, mass)
        advance(state)


@njit(cache=True, error_model="numpy")
def _one_phase(
    rod: RodArrays, bow: BowArrays, row: FloatArray, phase: Phase, tools: _Tools, pace: tuple[Plan, float]
) -> None:
    """Back through ``phase`` in equal steps, no longer than the plan's share of the time on the string and short enough
    for the stiffest contact."""
    if phase.span <= 0.0:
        return
    plan, time = pace
    top = sqrt(max(tools.state.bent[0, -1], tools.state.bent[1, -1]))
    fastest = max(_fastest(rod, bow, row, phase, (tools.moment, tools.shape)), top / SWINGS)
    # rounding must not add a step where the phase is the whole time
    count = max(ceil(phase.span * max(plan.steps / time, fastest / plan.reach) - _ROUNDING), 2)
    tools.steps[0] += count
    set_swing(tools.state, phase.span / count, plan.nodes, plan.weights)
    _step_through(rod, bow, row, phase, tools, count)


@njit(cache=True, error_model="numpy")
def after_string(bow: BowArrays, row: FloatArray, speed: float) -> Phase:
    """From the string's departure until the rest has passed the nock; no time at all where it has let go before."""
    left = bow.scalars[1] - bow.scalars[0]
    stays = row[10] >= bow.scalars[0] and left > 0.0
    return Phase(left / speed if stays else 0.0, -1.0, -1.0, 0.0, left, 1.0)


@njit(cache=True, nogil=True, error_model="numpy")
def run_strokes(rod: RodArrays, bow: BowArrays, rows: FloatArray, plan: Plan, out: Outputs) -> None:
    """Strokes of rows ``plan.first`` to ``plan.last``; ``stroke.parameter_rows`` lists their columns."""
    n = rod.thrust.shape[0] + 1
    tools = _Tools(new_moment(n), new_state(n), np.zeros(rod.table.shape[2]), np.zeros(1))
    light = rod.body[4] - rod.body[0]
    for index in range(plan.first, plan.last):
        row = rows[index]
        tools.steps[0] = 0.0
        unit = sqrt((rod.body[4] + row[3]) / row[2])
        time, speed = bow.scalars[2] * unit, sqrt(2.0 * bow.scalars[3]) / unit
        share = share_at_travel(bow.table, min(row[10], bow.scalars[1]))
        after = after_string(bow, row, speed)
        loose = Phase((1.0 - share) * time, 1.0, share, 0.0, 0.0, 0.0)
        held = Phase(share * time, share, 0.0, 0.0, 0.0, 1.0)
        if after.span > 0.0:
            arrow, turn = reweighed(rod, light)
            set_shapes(arrow, row, tools.state)
            _start_at_release(arrow, tools.state)
            _one_phase(arrow, bow, row, after, tools, (plan, time))
            _common_shapes(turn, tools.state)
        else:  # only rigid motions arrive at the departure, the same in any shapes
            _start_at_release(rod, tools.state)
        arrow, turn = reweighed(rod, row[7] + light)
        set_shapes(arrow, row, tools.state)
        _put_on_string(rod, turn, light, tools.state)
        for phase in (loose, held):
            _one_phase(arrow, bow, row, phase, tools, (plan, time))
        _drawn_state(arrow, row, bow.scalars[1], tools.state, tools.shape)
        out.time[index], out.speed[index], out.steps[index] = time, speed, tools.steps[0]
        for plane in range(2):
            for channel in range(EFFECTS):
                for column in range(4):
                    out.effects[index, plane, channel, column] = tools.state.sums[plane, channel, column]
