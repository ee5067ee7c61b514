"""The compiled equation of a power stroke and its step: adjoint columns integrated backward from the release.

The release state has four numbers a plane, so four backward solutions a plane hold the effect of every disturbance:
with ``q'' + C q' + K(t) q = f(t)`` and ``v'' - C v' + K(t) v = 0`` the product ``v q' - v' q + v C q`` grows by ``v f``
only. Rows are translation, rotation and bending shapes of the arrow, each of unit mass. Arrays of columns are
(plane, row, column), the four release columns last and side by side, written out one by one below so that the compiler
makes vector instructions of them.

Each shape's own damped swing is followed exactly, so that high shapes don't shorten the steps; thrust and contacts are
added by a Kutta-Nystroem step of order 4 carried over to such an exact swing (an exponential integrator: Hochbruck &
Ostermann 2010, Acta Numerica 19:209; for the Nystroem form Wu, You & Wang 2013). The effects are summed with the same
stage values and weights, so that rigid displacements come out to rounding.
"""

from __future__ import annotations

from math import cos, exp, sin, sqrt
from typing import NamedTuple

import numpy as np
from numba import njit

from spinewright.mechanics.values import FloatArray

__all__ = [
    "EFFECTS",
    "FAST",
    "GRAVITY",
    "BowArrays",
    "Moment",
    "RodArrays",
    "State",
    "fill_moment",
    "new_moment",
    "new_state",
    "set_swing",
    "shape_at",
    "step_back",
]

EFFECTS = 9  # the eight channels, then the line of the thrust turned by 1 rad
GRAVITY = 9.80665  # [m/s2] standard gravity (ISO 80000-3)
FAST = {"contract", "nsz", "arcp"}  # NaN and infinity keep their meaning: failures must be seen


class RodArrays(NamedTuple):
    """A held rod as the kernel wants it; see :class:`spinewright.mechanics.held_rod.HeldRod`.

    ``body``: mass, balance, inertia with the nock mass; length; mass, balance, inertia of the arrow by itself.
    """

    body: FloatArray
    stiffness: FloatArray
    thrust: FloatArray
    thrust_high: FloatArray
    table: FloatArray


class BowArrays(NamedTuple):
    """A bow's motion; ``scalars``: stroke, rest at draw, duration, energy, synchronisation."""

    scalars: FloatArray
    table: FloatArray


class Moment(NamedTuple):
    """Everything the equation of motion needs at one instant."""

    nock: FloatArray  # (2, n) shapes at the nock
    rest: FloatArray  # (2, n) shapes at the rest
    hold: FloatArray  # (2, 7): S_nn, S_nr, S_rr; dropped shapes' crookedness at nock, at rest; flexibility R_nn, R_nr
    thrust: FloatArray  # (n, n) acceleration times G
    bend: FloatArray  # (n,) the thrust on a crooked shaft
    scalars: FloatArray  # (2,) share of the stroke done, acceleration


class State(NamedTuple):
    """Adjoint columns, their velocities, stages and sums."""

    y: FloatArray  # (2, n, 4) as are the next five
    v: FloatArray
    stage: FloatArray
    f1: FloatArray
    f2: FloatArray
    f3: FloatArray
    drag: FloatArray  # (2, n) damping rates
    bent: FloatArray  # (2, n) squares of frequencies
    swing: FloatArray  # (2, n, 14) what a step of the shapes' own swing takes, see ``set_swing``
    work: FloatArray  # (2, 4, 4) of this stage: forces at nock, at rest; columns at the nock; along a crook
    sums: FloatArray  # (2, EFFECTS, 4)


@njit(cache=True)
def new_moment(n: int) -> Moment:
    """Room for ``n`` rows."""
    return Moment(np.zeros((2, n)), np.zeros((2, n)), np.zeros((2, 7)), np.zeros((n, n)), np.zeros(n), np.zeros(2))


@njit(cache=True)
def new_state(n: int) -> State:
    """Room for ``n`` rows."""
    return State(
        np.zeros((2, n, 4)),
        np.zeros((2, n, 4)),
        np.zeros((2, n, 4)),
        np.zeros((2, n, 4)),
        np.zeros((2, n, 4)),
        np.zeros((2, n, 4)),
        np.zeros((2, n)),
        np.zeros((2, n)),
        np.zeros((2, n, 14)),
        np.zeros((2, 4, 4)),
        np.zeros((2, EFFECTS, 4)),
    )


@njit(cache=True, fastmath=FAST)
def shape_at(rod: RodArrays, s: float, shape: FloatArray) -> None:
    """Cubic Hermite row of the rod's table at ``s``."""
    cells = rod.table.shape[0] - 1
    place = min(max(s / rod.body[3], 0.0), 1.0) * cells
    cell = min(int(place), cells - 1)
    b = place - cell
    a = 1.0 - b
    h0, h1, g0, g1 = a * a * (1.0 + 2.0 * b), b * b * (1.0 + 2.0 * a), a * a * b, -a * b * b
    for j in range(shape.shape[0]):
        shape[j] = (
            h0 * rod.table[cell, 0, j]
            + h1 * rod.table[cell + 1, 0, j]
            + g0 * rod.table[cell, 1, j]
            + g1 * rod.table[cell + 1, 1, j]
        )


@njit(cache=True, fastmath=FAST)
def _fill_thrust(rod: RodArrays, acceleration: float, softness: float, m: Moment) -> None:
    softening = acceleration * softness
    rows = rod.thrust.shape[0]
    for i in range(rows):
        for j in range(rows):
            m.thrust[i + 1, j + 1] = acceleration * (rod.thrust[i, j] + softening * rod.thrust_high[i, j])
        m.bend[i + 1] = acceleration * (rod.thrust[i, rows] + softening * rod.thrust_high[i, rows])


@njit(cache=True, fastmath=FAST)
def _fill_contacts(
    rod: RodArrays,
    row: FloatArray,
    stiffness: tuple[float, float, float],
    where: tuple[float, float, float],
    m: Moment,
    shape: FloatArray,
) -> None:
    """Shapes at the contacts and the contacts' stiffness in series with the dropped shapes' flexibility.

    ``stiffness``: string sideways, string up and down, 1 while the rest touches. ``where``: rest's coordinate,
    acceleration, unused.
    """
    k = rod.stiffness.shape[0]
    s_rest, acceleration = where[0], where[1]
    end = rod.table[0, 0]
    spread = 2.0 * s_rest / rod.body[3] - 1.0
    aside, turn = 1.0 / sqrt(rod.body[0]), 1.0 / sqrt(rod.body[2])
    for plane in range(2):
        soft = acceleration / row[plane]
        pull, push = stiffness[plane], stiffness[2] * row[8 + plane]
        r_nn, r_nr, r_rr = end[2 * k + 3] / row[plane], shape[2 * k + 2] / row[plane], shape[2 * k + 3] / row[plane]
        scale = 1.0 / ((1.0 + r_nn * pull) * (1.0 + r_rr * push) - r_nr * r_nr * pull * push)
        m.hold[plane, 0] = pull * (1.0 + r_rr * push) * scale
        m.hold[plane, 1] = -pull * r_nr * push * scale
        m.hold[plane, 2] = push * (1.0 + r_nn * pull) * scale
        m.hold[plane, 3] = soft * end[2 * k + 1]
        m.hold[plane, 4] = 1.0 - spread * spread + soft * shape[2 * k + 1]
        m.hold[plane, 5] = r_nn
        m.hold[plane, 6] = r_nr
        m.nock[plane, 0], m.rest[plane, 0] = aside, aside
        m.nock[plane, 1] = -rod.body[1] * turn + soft * end[k]
        m.rest[plane, 1] = (s_rest - rod.body[1]) * turn + soft * shape[k]
        for i in range(k):
            m.nock[plane, 2 + i] = end[i] + soft * end[k + 1 + i]
            m.rest[plane, 2 + i] = shape[i] + soft * shape[k + 1 + i]


@njit(cache=True, fastmath=FAST)
def fill_moment(
    rod: RodArrays, bow: BowArrays, row: FloatArray, where: tuple[float, float, float], m: Moment, shape: FloatArray
) -> None:
    """The moment at ``where``: share of the time on the string, or -1 when it has gone; the rest's coordinate without
    the string; 1 while the rest touches, else 0."""
    share, s_rest, touching = where
    acceleration, pull_y, pull_z, travel = 0.0, 0.0, 0.0, bow.scalars[0]
    if share >= 0.0:
        cells = bow.table.shape[0] - 1
        place = min(share, 1.0) * cells
        cell = min(int(place), cells - 1)
        b = place - cell
        a, table = 1.0 - b, bow.table
        travel = a * table[cell, 0] + b * table[cell + 1, 0]
        residual = row[6] * (a * table[cell, 4] + b * table[cell + 1, 4])
        pull_y = row[4] * (row[2] * (a * table[cell, 2] + b * table[cell + 1, 2]) + residual)
        pull_z = a * table[cell, 3] + b * table[cell + 1, 3]
        pull_z = row[5] * (row[2] * pull_z + residual + bow.scalars[4])
        acceleration = row[2] * (a * table[cell, 1] + b * table[cell + 1, 1]) / (rod.body[4] + row[3])
        s_rest = bow.scalars[1] - travel
    m.scalars[0] = travel / bow.scalars[0]
    m.scalars[1] = acceleration
    _fill_thrust(rod, acceleration, 2.0 / (row[0] + row[1]), m)
    if touching > 0.0:
        shape_at(rod, s_rest, shape)
    _fill_contacts(rod, row, (pull_y, pull_z, touching), (s_rest, acceleration, 0.0), m, shape)


@njit(cache=True, fastmath=FAST)
def _contact_work(m: Moment, state: State, y: FloatArray, plane: int) -> None:
    """What the columns ``y`` mean at the contacts and along a crooked shaft; fills ``state.work[plane]``."""
    a0, a1, a2, a3 = 0.0, 0.0, 0.0, 0.0
    b0, b1, b2, b3 = 0.0, 0.0, 0.0, 0.0
    d0, d1, d2, d3 = 0.0, 0.0, 0.0, 0.0
    for i in range(y.shape[1]):
        y0, y1, y2, y3 = y[plane, i, 0], y[plane, i, 1], y[plane, i, 2], y[plane, i, 3]
        at_nock, at_rest, bend = m.nock[plane, i], m.rest[plane, i], m.bend[i]
        a0, a1, a2, a3 = a0 + at_nock * y0, a1 + at_nock * y1, a2 + at_nock * y2, a3 + at_nock * y3
        b0, b1, b2, b3 = b0 + at_rest * y0, b1 + at_rest * y1, b2 + at_rest * y2, b3 + at_rest * y3
        d0, d1, d2, d3 = d0 + bend * y0, d1 + bend * y1, d2 + bend * y2, d3 + bend * y3
    nn, nr, rr = m.hold[plane, 0], m.hold[plane, 1], m.hold[plane, 2]
    work = state.work[plane]
    force, press, nock, crook = work[0], work[1], work[2], work[3]
    force[0], force[1], force[2], force[3] = nn * a0 + nr * b0, nn * a1 + nr * b1, nn * a2 + nr * b2, nn * a3 + nr * b3
    press[0], press[1], press[2], press[3] = nr * a0 + rr * b0, nr * a1 + rr * b1, nr * a2 + rr * b2, nr * a3 + rr * b3
    nock[0], nock[1], nock[2], nock[3] = a0, a1, a2, a3
    crook[0], crook[1], crook[2], crook[3] = d0, d1, d2, d3


@njit(cache=True, fastmath=FAST)
def _push(m: Moment, state: State, y: FloatArray, out: FloatArray) -> None:
    """out: what thrust and contacts do to ``y``, the shapes' own stiffness and damping left out."""
    n = y.shape[1]
    for plane in range(2):
        _contact_work(m, state, y, plane)
        work = state.work[plane]
        f0, f1, f2, f3 = work[0, 0], work[0, 1], work[0, 2], work[0, 3]
        g0, g1, g2, g3 = work[1, 0], work[1, 1], work[1, 2], work[1, 3]
        for i in range(n):
            p, r = m.nock[plane, i], m.rest[plane, i]
            o0, o1, o2, o3 = -p * f0 - r * g0, -p * f1 - r * g1, -p * f2 - r * g2, -p * f3 - r * g3
            for j in range(1, n):
                g = m.thrust[i, j]
                o0 += g * y[plane, j, 0]
                o1 += g * y[plane, j, 1]
                o2 += g * y[plane, j, 2]
                o3 += g * y[plane, j, 3]
            out[plane, i, 0], out[plane, i, 1], out[plane, i, 2], out[plane, i, 3] = o0, o1, o2, o3


@njit(cache=True, fastmath=FAST)
def _gather(m: Moment, state: State, y: FloatArray, weight: float, mass: float) -> None:
    """Add what each disturbance does in this stage; ``mass`` is the one in the shapes."""
    share = m.scalars[0]
    bump = 4.0 * share * (1.0 - share)
    thrust, fall = weight * m.scalars[1] * mass, weight * GRAVITY * sqrt(mass)
    for plane in range(2):
        hold, work, sums = m.hold[plane], state.work[plane], state.sums[plane]
        for column in range(4):
            at_nock, at_rest = weight * work[0, column], weight * work[1, column]
            sums[0, column] += at_nock
            sums[1, column] += at_nock * share
            sums[2, column] += at_nock * bump
            sums[3, column] += at_rest
            sums[6, column] -= fall * y[plane, 0, column]
            sums[7, column] += weight * work[3, column] - hold[3] * at_nock - hold[4] * at_rest
            sums[8, column] += thrust * (work[2, column] - hold[5] * work[0, column] - hold[6] * work[1, column])


@njit(cache=True)
def _swing_over(square: float, drag: float, t: float) -> tuple[float, float, float, float]:
    """Damped swing after ``t`` from place 1, and from speed 1; the speeds of both."""
    rate = sqrt(max(square - 0.25 * drag * drag, 0.0))
    decay = exp(-0.5 * drag * t)
    from_speed = decay * (sin(rate * t) / rate if rate > 0.0 else t)
    from_place = decay * cos(rate * t) + 0.5 * drag * from_speed
    return from_place, from_speed, -square * from_speed, from_place - drag * from_speed


@njit(cache=True)
def _held_push(square: float, drag: float, t: float, from_speed: float, speed: float) -> float:
    """Place after ``t`` from rest under a push of 1; ``from_speed``, ``speed``: what a start with speed 1 becomes."""
    if square * t * t < 1e-6:
        return 0.5 * t * t
    return (1.0 - speed - drag * from_speed) / square


@njit(cache=True)
def set_swing(state: State, h: float, nodes: FloatArray, weights: FloatArray) -> None:
    """What a step ``h`` of every shape's own swing takes, by its order in ``state.swing``:

    half a step from place, speed, push (0-2); a step from place, speed, a push held as in the middle (3-5); place and
    speed from pushes at start, middle, end (6-8, 11-13), which a parabola joins; speed from place, speed (9, 10).
    The integrals of swing times parabola by the Gauss rule ``nodes``, ``weights`` on [-1, 1].
    """
    for plane in range(2):
        for i in range(state.bent.shape[1]):
            square, drag, swing = state.bent[plane, i], state.drag[plane, i], state.swing[plane, i]
            swing[0], swing[1], _, speed = _swing_over(square, drag, 0.5 * h)
            swing[2] = _held_push(square, drag, 0.5 * h, swing[1], speed)
            swing[3], swing[4], swing[9], swing[10] = _swing_over(square, drag, h)
            swing[5] = _held_push(square, drag, h, swing[4], swing[10])
            swing[6], swing[7], swing[8], swing[11], swing[12], swing[13] = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
            for node in range(nodes.shape[0]):
                u, w = 0.5 * (1.0 + nodes[node]), 0.5 * h * weights[node]
                _, place, _, speed = _swing_over(square, drag, (1.0 - u) * h)
                first, middle, last = (1.0 - u) * (1.0 - 2.0 * u), 4.0 * u * (1.0 - u), u * (2.0 * u - 1.0)
                swing[6] += w * place * first
                swing[7] += w * place * middle
                swing[8] += w * place * last
                swing[11] += w * speed * first
                swing[12] += w * speed * middle
                swing[13] += w * speed * last


@njit(cache=True, fastmath=FAST)
def _stage(state: State, first: int, push: FloatArray) -> None:
    """stage = swing from y and v, and from ``push`` held; ``first`` is where the three factors stand."""
    for plane in range(2):
        for i in range(push.shape[1]):
            w = state.swing[plane, i]
            a, b, c = w[first], w[first + 1], w[first + 2]
            y, v, f, out = state.y[plane, i], state.v[plane, i], push[plane, i], state.stage[plane, i]
            o0, o1 = a * y[0] + b * v[0] + c * f[0], a * y[1] + b * v[1] + c * f[1]
            o2, o3 = a * y[2] + b * v[2] + c * f[2], a * y[3] + b * v[3] + c * f[3]
            out[0], out[1], out[2], out[3] = o0, o1, o2, o3


@njit(cache=True, fastmath=FAST)
def _advance(state: State) -> None:
    """y and v at the end of the step, from their swing and the pushes at start, middle and end."""
    for plane in range(2):
        for i in range(state.y.shape[1]):
            w, y, v = state.swing[plane, i], state.y[plane, i], state.v[plane, i]
            f, g, e = state.f1[plane, i], state.f2[plane, i], state.f3[plane, i]
            p0 = w[3] * y[0] + w[4] * v[0] + w[6] * f[0] + w[7] * g[0] + w[8] * e[0]
            p1 = w[3] * y[1] + w[4] * v[1] + w[6] * f[1] + w[7] * g[1] + w[8] * e[1]
            p2 = w[3] * y[2] + w[4] * v[2] + w[6] * f[2] + w[7] * g[2] + w[8] * e[2]
            p3 = w[3] * y[3] + w[4] * v[3] + w[6] * f[3] + w[7] * g[3] + w[8] * e[3]
            s0 = w[9] * y[0] + w[10] * v[0] + w[11] * f[0] + w[12] * g[0] + w[13] * e[0]
            s1 = w[9] * y[1] + w[10] * v[1] + w[11] * f[1] + w[12] * g[1] + w[13] * e[1]
            s2 = w[9] * y[2] + w[10] * v[2] + w[11] * f[2] + w[12] * g[2] + w[13] * e[2]
            s3 = w[9] * y[3] + w[10] * v[3] + w[11] * f[3] + w[12] * g[3] + w[13] * e[3]
            y[0], y[1], y[2], y[3] = p0, p1, p2, p3
            v[0], v[1], v[2], v[3] = s0, s1, s2, s3


@njit(cache=True, fastmath=FAST)
def step_back(now: Moment, middle: Moment, then: Moment, state: State, h: float, mass: float) -> None:
    """One step ``h`` backward in time; ``state.swing`` must be set for it."""
    _push(now, state, state.y, state.f1)
    _gather(now, state, state.y, h / 6.0, mass)
    _stage(state, 0, state.f1)
    _push(middle, state, state.stage, state.f2)
    _gather(middle, state, state.stage, 4.0 * h / 6.0, mass)
    _stage(state, 3, state.f2)
    _push(then, state, state.stage, state.f3)
    _gather(then, state, state.stage, h / 6.0, mass)
    _advance(state)
