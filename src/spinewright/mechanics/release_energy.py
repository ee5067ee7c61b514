"""What moves and bends across the shot when the arrow is free: the stroke forward in time, compiled.

The strokes that answer people run backward and know place, speed, angle and rate only. This one keeps every shape: for
what bending is left in the arrow, and for the energy in it, which says of shafts that carry little more than the thrust
whether linear bending may be believed. Equation and shapes are the stroke's own; the rest holds both ways.
"""

from __future__ import annotations

from math import ceil, sqrt

import numpy as np
from numba import njit

from spinewright.mechanics.bow_motion import BowMotion, bow_arrays
from spinewright.mechanics.forward import Forward, drawn
from spinewright.mechanics.held_rod import HeldRod, rod_arrays
from spinewright.mechanics.legendre import gauss_rule
from spinewright.mechanics.reweigh import retold, reweighed
from spinewright.mechanics.stroke_kernel import State, new_state, set_swing
from spinewright.mechanics.stroke_moment import (
    GRAVITY,
    BowArrays,
    Moment,
    RodArrays,
    contact_square,
    fill_moment,
    new_moment,
)
from spinewright.mechanics.stroke_run import SWINGS, Phase, after_string, place_in, set_shapes, share_at_travel
from spinewright.mechanics.values import FloatArray

__all__ = ["energy_across", "free_release"]

_Tools = tuple[Moment, Moment, Moment, State, FloatArray, FloatArray]


@njit(cache=True, error_model="numpy")
def _push(m: Moment, load: FloatArray, mass: float, y: FloatArray, out: FloatArray) -> None:
    """What thrust, contacts, weight and crook do to the shapes at ``y`` (2, n); ``load`` (2, 8)."""
    share, n = m.scalars[0], y.shape[1]
    for plane in range(2):
        a, hold = load[plane], m.hold[plane]
        off_nock = a[0] + a[1] * share + 4.0 * a[2] * share * (1.0 - share) - a[7] * hold[3]
        off_rest = a[3] - a[7] * hold[4]
        for i in range(n):
            off_nock -= m.nock[plane, i] * y[plane, i]
            off_rest -= m.rest[plane, i] * y[plane, i]
        on_nock, on_rest = hold[0] * off_nock + hold[1] * off_rest, hold[1] * off_nock + hold[2] * off_rest
        for i in range(n):
            force = m.nock[plane, i] * on_nock + m.rest[plane, i] * on_rest
            if i > 0:  # the thrust moves nothing aside; its last column is the crook
                force += a[7] * m.thrust[i - 1, n - 1]
                for j in range(1, n):
                    force += m.thrust[i - 1, j - 1] * y[plane, j]
            out[plane, i] = force
        out[plane, 0] -= GRAVITY * a[6] * sqrt(mass)


@njit(error_model="numpy", inline="always")
def _step(
    moments: tuple[Moment, Moment, Moment], load: FloatArray, mass: float, state: State, room: FloatArray
) -> None:
    """One step of place room[0] and speed room[1]; room (6, 2, n), the swing of ``state`` set for the step."""
    y, v, stage, first, middle, last = room[0], room[1], room[2], room[3], room[4], room[5]
    _push(moments[0], load, mass, y, first)
    for lane in range(y.size):
        p, i = lane // y.shape[1], lane % y.shape[1]
        w = state.half[p, i]
        stage[p, i] = w[0] * y[p, i] + w[1] * v[p, i] + w[2] * first[p, i]
    _push(moments[1], load, mass, stage, middle)
    for lane in range(y.size):
        p, i = lane // y.shape[1], lane % y.shape[1]
        w = state.whole[p, i]
        stage[p, i] = w[0] * y[p, i] + w[1] * v[p, i] + w[2] * middle[p, i]
    _push(moments[2], load, mass, stage, last)
    for lane in range(y.size):
        p, i = lane // y.shape[1], lane % y.shape[1]
        w, place, speed = state.whole[p, i], y[p, i], v[p, i]
        f, g, e = first[p, i], middle[p, i], last[p, i]
        y[p, i] = w[0] * place + w[1] * speed + w[3] * f + w[4] * g + w[5] * e
        v[p, i] = w[6] * place + w[7] * speed + w[8] * f + w[9] * g + w[10] * e


@njit(error_model="numpy", inline="always")
def _through(
    rod: RodArrays,
    bow: BowArrays,
    row: FloatArray,
    phase: Phase,
    load: FloatArray,
    pace: tuple[FloatArray, FloatArray, FloatArray],
    tools: _Tools,
) -> None:
    """Forward through ``phase``; ``pace``: (time on the string, steps over it, reach), rule of the swing."""
    if phase.span <= 0.0:
        return
    now, middle, then, state, shape, room = tools
    worst = 0.0
    for end in (0.0, 1.0):
        fill_moment(rod, bow, row, place_in(phase, end), now, shape)
        worst = max(worst, contact_square(now, 0), contact_square(now, 1))
    fastest = max(sqrt(worst), sqrt(max(state.bent[0, -1], state.bent[1, -1])) / SWINGS)
    count = max(ceil(phase.span * max(pace[0][1] / pace[0][0], fastest / pace[0][2])), 1)
    set_swing(state, phase.span / count, pace[1], pace[2])
    moments = (now, middle, then)
    for step in range(count):
        for half in range(3):  # a loop, because every call that is written out is compiled again
            fill_moment(rod, bow, row, place_in(phase, 1.0 - (step + 0.5 * half) / count), moments[half], shape)
        _step(moments, load, rod.body[0], state, room)


@njit(cache=True, error_model="numpy")
def _run(
    rod: RodArrays,
    bow: BowArrays,
    row: FloatArray,
    load: FloatArray,
    pace: tuple[FloatArray, FloatArray, FloatArray],
    room: FloatArray,
) -> FloatArray:
    """Squares (2, n) of the free arrow's frequencies; ``room`` begins with the drawn state, ends with the release."""
    n = room.shape[2]
    state = new_state(n)
    tools = (new_moment(n), new_moment(n), new_moment(n), state, np.zeros(rod.table.shape[2]), room)
    light = rod.body[4] - rod.body[0]
    unit = sqrt((rod.body[4] + row[3]) / row[2])
    time, speed = bow.scalars[2] * unit, sqrt(2.0 * bow.scalars[3]) / unit
    pace[0][0] = time
    share = share_at_travel(bow.table, min(row[10], bow.scalars[1]))
    phases = (
        Phase(share * time, share, 0.0, 0.0, 0.0, 1.0),
        Phase((1.0 - share) * time, 1.0, share, 0.0, 0.0, 0.0),
        after_string(bow, row, speed),
    )
    own = row[7] + light  # this bow's mass on the nock, beyond that in the shapes of ``rod``
    arrow, over = reweighed(rod, own)
    free, turn = reweighed(rod, light)
    for k in range(3):
        body = free if k == 2 else arrow
        for lane in range(4):
            columns = room[lane // 2, lane % 2]
            if k == 0:
                retold(rod, over, own, columns, columns)
            elif k == 2:  # the string has left it
                retold(rod, turn, light, over @ columns, columns)
        set_shapes(body, row, state)
        _through(body, bow, row, phases[k], load, pace, tools)
    return state.bent


def energy_across(
    held: HeldRod, motion: BowMotion, row: FloatArray, amplitudes: FloatArray, reach: float = 0.5
) -> tuple[float, float]:
    """Kinetic and bending energy [J] across the shot of the free arrow at its release.

    ``row`` (12,) of ``stroke.parameter_rows``, ``amplitudes`` (2, 8). What the dropped shapes hold statically is left
    out, and so is the string's own swing. Checked against the stroke's release columns by the tests.
    """
    place, speed = drawn(_one_run(held, motion, row[None], amplitudes[None]))
    moving, bent, _ = _released(held, motion, row, amplitudes, np.stack([place[0], speed[0]]), reach)
    return moving, bent


def free_release(
    held: HeldRod, motion: BowMotion, rows: FloatArray, amplitudes: FloatArray, reach: float = 0.5
) -> tuple[FloatArray, FloatArray]:
    """Place and speed (N, 2, n) of the free arrow's own shapes at its release, rigid motions first.

    ``rows`` (N, 12) and ``amplitudes`` (N, 2, 8) as in :func:`energy_across`; by the root of the moving mass, as every
    shape here is. Equal to :func:`forward.run_forward` told in the free arrow's shapes, within what their steps leave.
    """
    start = np.stack(drawn(_one_run(held, motion, rows, amplitudes)), axis=1)
    runs = (_released(held, motion, *one, reach)[2] for one in zip(rows, amplitudes, start, strict=True))
    found = np.stack([room[:2] for room in runs])
    return found[:, 0], found[:, 1]


def _one_run(held: HeldRod, motion: BowMotion, rows: FloatArray, amplitudes: FloatArray) -> Forward:
    even = np.zeros(len(rows))  # the planes' stiffness is in the rows
    return Forward(held, motion, rows, amplitudes, even, even)


def _released(
    held: HeldRod, motion: BowMotion, row: FloatArray, amplitudes: FloatArray, start: FloatArray, reach: float
) -> tuple[float, float, FloatArray]:
    """Both energies [J] at the release from ``start`` (2, 2, n), and the room (6, 2, n) as it was left."""
    room = np.zeros((6, *start.shape[1:]))
    room[:2] = start
    pace = np.array([0.0, 100.0, reach]), *gauss_rule(7)
    squares = _run(rod_arrays(held), bow_arrays(motion), row, amplitudes, pace, room)
    return 0.5 * float(np.sum(room[1] ** 2)), 0.5 * float(np.sum(squares * room[0] ** 2)), room
