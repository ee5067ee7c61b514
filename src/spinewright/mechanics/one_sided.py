"""The power stroke in height on a rest that can only push: forward in time, one set of disturbances at a time.

Whether the shaft touches the rest depends on everything that moves it, so the release is no longer linear in the
disturbances and has to be computed for each set of them. Equation, shapes and step are those of ``stroke_kernel``, with
the rest's force left out whenever it would pull. Sideways a launcher's prongs hold from both sides; there nothing
changes.
"""

from __future__ import annotations

from math import ceil, sqrt

import numpy as np
from numba import njit

from spinewright.mechanics.bow_motion import BowMotion, bow_arrays
from spinewright.mechanics.held_rod import rod_arrays
from spinewright.mechanics.legendre import gauss_rule
from spinewright.mechanics.reweigh import retold, reweighed
from spinewright.mechanics.rod import Rod
from spinewright.mechanics.stroke import StrokeSettings, checked_rows, fine_enough, hold_for
from spinewright.mechanics.stroke_kernel import State, new_state, set_swing
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
from spinewright.mechanics.stroke_run import Phase, Plan, after_string, place_in, set_shapes, share_at_travel
from spinewright.mechanics.values import FloatArray, StrokeParameters

__all__ = ["height_on_pushing_rest"]

_HEIGHT = 1  # plane
_SWING_NODES = 7  # as for the strokes backward in time


@njit(cache=True, fastmath=FAST, error_model="numpy")
def _push(m: Moment, load: FloatArray, mass: float, y: FloatArray, out: FloatArray) -> None:
    """out (n,): what thrust, contacts, weight and crook do to the shapes at ``y`` (n,); ``load`` (8,) amplitudes."""
    nock, rest, hold, share = m.nock[_HEIGHT], m.rest[_HEIGHT], m.hold[_HEIGHT], m.scalars[0]
    n = y.shape[0]
    off_nock = load[0] + load[1] * share + 4.0 * load[2] * share * (1.0 - share) - load[7] * hold[3]
    off_rest = load[3] - load[7] * hold[4]
    for i in range(n):
        off_nock -= nock[i] * y[i]
        off_rest -= rest[i] * y[i]
    on_nock, on_rest = hold[0] * off_nock + hold[1] * off_rest, hold[1] * off_nock + hold[2] * off_rest
    if on_rest < 0.0:
        # off the rest: the nock alone is held, by the string in series with the flexibility of the dropped shapes
        on_nock, on_rest = (hold[0] - hold[1] * hold[1] / hold[2]) * off_nock, 0.0
    for i in range(n):
        out[i] = nock[i] * on_nock + rest[i] * on_rest
    for i in range(1, n):
        force = out[i] + load[7] * m.thrust[i - 1, n - 1]
        for j in range(1, n):
            force += m.thrust[i - 1, j - 1] * y[j]
        out[i] = force
    out[0] -= GRAVITY * load[6] * sqrt(mass)


@njit(cache=True, fastmath=FAST, error_model="numpy")
def _step(
    moments: tuple[Moment, Moment, Moment], load: FloatArray, mass: float, state: State, room: FloatArray
) -> None:
    """One step forward of place room[0] and speed room[1]; room (6, n), the swing in ``state`` set for the step."""
    y, v, stage, first, middle, last = room[0], room[1], room[2], room[3], room[4], room[5]
    n = y.shape[0]
    _push(moments[0], load, mass, y, first)
    for i in range(n):
        w = state.half[_HEIGHT, i]
        stage[i] = w[0] * y[i] + w[1] * v[i] + w[2] * first[i]
    _push(moments[1], load, mass, stage, middle)
    for i in range(n):
        w = state.whole[_HEIGHT, i]
        stage[i] = w[0] * y[i] + w[1] * v[i] + w[2] * middle[i]
    _push(moments[2], load, mass, stage, last)
    for i in range(n):
        w = state.whole[_HEIGHT, i]
        place, speed = y[i], v[i]
        y[i] = w[0] * place + w[1] * speed + w[3] * first[i] + w[4] * middle[i] + w[5] * last[i]
        v[i] = w[6] * place + w[7] * speed + w[8] * first[i] + w[9] * middle[i] + w[10] * last[i]


@njit(cache=True, fastmath=FAST, error_model="numpy")
def _through(
    rod: RodArrays,
    bow: BowArrays,
    row: FloatArray,
    phase: Phase,
    load: FloatArray,
    pace: tuple[Plan, float],
    tools: tuple[Moment, Moment, Moment, State, FloatArray, FloatArray],
) -> None:
    """Forward through ``phase``; place and speed in rows 0 and 1 of the last of ``tools``."""
    if phase.span <= 0.0:
        return
    plan, time = pace
    now, middle, then, state, shape, room = tools
    fill_moment(rod, bow, row, place_in(phase, 0.0), then, shape)
    fill_moment(rod, bow, row, place_in(phase, 1.0), now, shape)
    fastest = sqrt(max(contact_square(now, _HEIGHT), contact_square(then, _HEIGHT)))
    count = 2 * ceil(0.5 * phase.span * max(plan.steps / time, fastest / plan.reach))
    set_swing(state, phase.span / count, plan.nodes, plan.weights)
    for step in range(count):
        moments = (now, middle, then)
        for half in range(1, 3):  # a loop, because every call that is written out is compiled again
            fill_moment(rod, bow, row, place_in(phase, 1.0 - (step + 0.5 * half) / count), moments[half], shape)
        _step(moments, load, rod.body[0], state, room)
        now, then = then, now


@njit(cache=True, error_model="numpy")
def _add_line(rod: RodArrays, s0: float, ends: tuple[float, float], out: FloatArray) -> None:
    """Add the straight line through ``ends``, at the nock and at ``s0``."""
    slope = (ends[1] - ends[0]) / s0
    out[0] += sqrt(rod.body[0]) * (ends[0] + slope * rod.body[1])
    out[1] += sqrt(rod.body[2]) * slope


@njit(cache=True, error_model="numpy")
def _draw(
    rod: RodArrays, row: FloatArray, s0: float, load: FloatArray, bent: FloatArray, tools: tuple[FloatArray, FloatArray]
) -> None:
    """Place and speed at full draw, held at nock and rest; see ``stroke_run`` for what each disturbance has done."""
    shape, room = tools
    k, end = rod.stiffness.shape[0], rod.table[0, 0]
    shape_at(rod, s0, shape)
    crook = 1.0 - (2.0 * s0 / rod.body[3] - 1.0) ** 2
    room[:] = 0.0
    _add_line(rod, s0, (load[0] + load[4], load[3] - crook * load[7]), room[0])
    _add_line(rod, s0, (load[5], 0.0), room[1])
    on_rest = rod.body[0] * GRAVITY * rod.body[1] / s0
    on_nock = rod.body[0] * GRAVITY - on_rest
    nock_up = (end[2 * k + 3] * on_nock + shape[2 * k + 2] * on_rest) / row[_HEIGHT]
    rest_up = (shape[2 * k + 2] * on_nock + shape[2 * k + 3] * on_rest) / row[_HEIGHT]
    for i in range(k):
        sag = (end[i] * on_nock + shape[i] * on_rest) / bent[2 + i]
        nock_up += end[i] * sag
        rest_up += shape[i] * sag
        room[0, 2 + i] += load[6] * sag
    _add_line(rod, s0, (-load[6] * nock_up, -load[6] * (on_rest / row[8 + _HEIGHT] + rest_up)), room[0])


@njit(cache=True, nogil=True, error_model="numpy")
def _run(rod: RodArrays, bow: BowArrays, rows: FloatArray, loads: FloatArray, plan: Plan, out: FloatArray) -> None:
    """Release columns in height (N, 4) into ``out``; ``loads`` (N, 8), parameters as ``stroke.parameter_rows``."""
    n = rod.thrust.shape[0] + 1
    state, shape, room = new_state(n), np.zeros(rod.table.shape[2]), np.zeros((6, n))
    tools = (new_moment(n), new_moment(n), new_moment(n), state, shape, room)
    light = rod.body[4] - rod.body[0]
    for index in range(plan.first, plan.last):
        row, load = rows[index], loads[index]
        unit = sqrt((rod.body[4] + row[3]) / row[2])
        time, speed = bow.scalars[2] * unit, sqrt(2.0 * bow.scalars[3]) / unit
        share = share_at_travel(bow.table, min(row[10], bow.scalars[1]))
        held, held_turn = reweighed(rod, row[7] + light)
        free, free_turn = reweighed(rod, light)
        set_shapes(held, row, state)
        _draw(held, row, bow.scalars[1], load, state.bent[_HEIGHT], (shape, room))
        phases = (
            Phase(share * time, share, 0.0, 0.0, 0.0, 1.0),
            Phase((1.0 - share) * time, 1.0, share, 0.0, 0.0, 0.0),
            after_string(bow, row, speed),
        )
        for k in range(3):
            if k == 2:  # the string has left it
                for columns in (room[0], room[1]):
                    retold(rod, free_turn, light, held_turn @ columns, columns)
                set_shapes(free, row, state)
            _through(free if k == 2 else held, bow, row, phases[k], load, (plan, time), tools)
        aside, turn = 1.0 / sqrt(free.body[0]), 1.0 / sqrt(free.body[2])
        out[index, 0], out[index, 1] = aside * room[0, 0], aside * room[1, 0]
        out[index, 2], out[index, 3] = turn * room[0, 1], turn * room[1, 1]


def height_on_pushing_rest(
    rod: Rod,
    motion: BowMotion,
    parameters: StrokeParameters,
    amplitudes: FloatArray,
    settings: StrokeSettings | None = None,
) -> FloatArray:
    """Release columns in height (N, 4) on a rest that only pushes, with ``amplitudes`` (N, 8) of the channels there.

    They are ``stroke``'s columns of that plane summed over the amplitudes, but where the rest would pull, it does not
    touch; it may touch again. A row without a finite answer is NaN or infinite. Raises SolveError as ``stroke``.
    """
    rows = checked_rows(rod, motion, parameters)
    settings = settings or fine_enough(rod, motion, rows)
    held = hold_for(rod, motion, rows, settings)
    out = np.full((rows.shape[0], 4), np.nan)
    plan = Plan(0, rows.shape[0], settings.steps, settings.reach, *gauss_rule(_SWING_NODES))
    loads = np.ascontiguousarray(amplitudes, dtype=np.float64)
    _run(rod_arrays(held), bow_arrays(motion), rows, loads, plan, out)
    out[:, ::2] += loads[:, 7, None] * held.crooked
    return out
