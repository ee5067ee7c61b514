"""The compiled equation of a power stroke and its step: adjoint columns integrated backward from the release.

The release state has four numbers a plane, so four backward solutions a plane hold the effect of every disturbance:
with ``M q'' + C q' + K(t) q = f(t)`` and ``M v'' - C v' + K(t) v = 0`` the product ``v M q' - v' M q + v C q`` grows by
``v f`` only. Rows are translation, rotation and bending shapes of the held arrow, each of unit mass. Arrays of
columns are (plane, row, column), the four release columns last and side by side, written out one by one below so that
the compiler makes vector instructions of them.
Kutta-Nystroem steps of order 4; the effects are summed with the same stage values and weights, so that rigid
displacements come out to rounding.
"""

from __future__ import annotations

from math import sqrt
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

    y: FloatArray  # (2, n, 4) as are the next four
    v: FloatArray
    stage: FloatArray
    k1: FloatArray
    k2: FloatArray
    drag: FloatArray  # (2, n) damping rates
    bent: FloatArray  # (2, n) squares of frequencies
    nock: FloatArray  # (n,) shapes at the nock without the dropped ones, for the mass on it
    mass: FloatArray  # (2,) extra mass on the nock d, and d / (1 + d p p): M = 1 + d p p^T, M^-1 = 1 - mass[1] p p^T
    work: FloatArray  # (2, 5, 4) of this stage: forces at nock, at rest; columns at nock; at bare nock; along a crook
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
        np.zeros((2, n)),
        np.zeros((2, n)),
        np.zeros(n),
        np.zeros(2),
        np.zeros((2, 5, 4)),
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
        t0, t1 = bow.table[cell], bow.table[cell + 1]
        travel = t0[0] + b * (t1[0] - t0[0])
        residual = row[6] * (t0[4] + b * (t1[4] - t0[4]))
        pull_y = row[4] * (row[2] * (t0[2] + b * (t1[2] - t0[2])) + residual)
        pull_z = row[5] * (row[2] * (t0[3] + b * (t1[3] - t0[3])) + residual + bow.scalars[4])
        acceleration = row[2] * (t0[1] + b * (t1[1] - t0[1])) / (rod.body[4] + row[3])
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
    c0, c1, c2, c3 = 0.0, 0.0, 0.0, 0.0
    d0, d1, d2, d3 = 0.0, 0.0, 0.0, 0.0
    for i in range(y.shape[1]):
        y0, y1, y2, y3 = y[plane, i, 0], y[plane, i, 1], y[plane, i, 2], y[plane, i, 3]
        at_nock, at_rest, bare, bend = m.nock[plane, i], m.rest[plane, i], state.nock[i], m.bend[i]
        a0, a1, a2, a3 = a0 + at_nock * y0, a1 + at_nock * y1, a2 + at_nock * y2, a3 + at_nock * y3
        b0, b1, b2, b3 = b0 + at_rest * y0, b1 + at_rest * y1, b2 + at_rest * y2, b3 + at_rest * y3
        c0, c1, c2, c3 = c0 + bare * y0, c1 + bare * y1, c2 + bare * y2, c3 + bare * y3
        d0, d1, d2, d3 = d0 + bend * y0, d1 + bend * y1, d2 + bend * y2, d3 + bend * y3
    nn, nr, rr = m.hold[plane, 0], m.hold[plane, 1], m.hold[plane, 2]
    work = state.work[plane]
    work[0, 0], work[0, 1], work[0, 2], work[0, 3] = (
        nn * a0 + nr * b0,
        nn * a1 + nr * b1,
        nn * a2 + nr * b2,
        nn * a3 + nr * b3,
    )
    work[1, 0], work[1, 1], work[1, 2], work[1, 3] = (
        nr * a0 + rr * b0,
        nr * a1 + rr * b1,
        nr * a2 + rr * b2,
        nr * a3 + rr * b3,
    )
    work[2, 0], work[2, 1], work[2, 2], work[2, 3] = a0, a1, a2, a3
    work[3, 0], work[3, 1], work[3, 2], work[3, 3] = c0, c1, c2, c3
    work[4, 0], work[4, 1], work[4, 2], work[4, 3] = d0, d1, d2, d3


@njit(cache=True, fastmath=FAST)
def _acceleration(m: Moment, state: State, y: FloatArray, v: FloatArray, out: FloatArray) -> None:
    """out = M^-1 (-K y - C v); ``out`` may be ``v``."""
    n = y.shape[1]
    for plane in range(2):
        _contact_work(m, state, y, plane)
        work = state.work[plane]
        f0, f1, f2, f3 = work[0, 0], work[0, 1], work[0, 2], work[0, 3]
        g0, g1, g2, g3 = work[1, 0], work[1, 1], work[1, 2], work[1, 3]
        t0, t1, t2, t3 = 0.0, 0.0, 0.0, 0.0
        for i in range(n):
            p, r, c, d = m.nock[plane, i], m.rest[plane, i], state.bent[plane, i], state.drag[plane, i]
            o0 = -p * f0 - r * g0 - c * y[plane, i, 0] - d * v[plane, i, 0]
            o1 = -p * f1 - r * g1 - c * y[plane, i, 1] - d * v[plane, i, 1]
            o2 = -p * f2 - r * g2 - c * y[plane, i, 2] - d * v[plane, i, 2]
            o3 = -p * f3 - r * g3 - c * y[plane, i, 3] - d * v[plane, i, 3]
            for j in range(1, n):
                g = m.thrust[i, j]
                o0 += g * y[plane, j, 0]
                o1 += g * y[plane, j, 1]
                o2 += g * y[plane, j, 2]
                o3 += g * y[plane, j, 3]
            q = state.nock[i]
            t0, t1, t2, t3 = t0 + q * o0, t1 + q * o1, t2 + q * o2, t3 + q * o3
            out[plane, i, 0], out[plane, i, 1], out[plane, i, 2], out[plane, i, 3] = o0, o1, o2, o3
        _lighten(state, out, plane, (t0, t1, t2, t3))


@njit(cache=True, fastmath=FAST)
def _lighten(state: State, out: FloatArray, plane: int, along: tuple[float, float, float, float]) -> None:
    """Take from ``out`` what the extra mass on the nock takes; ``along`` is ``out`` at the nock."""
    t0, t1, t2, t3 = along
    for i in range(out.shape[1]):
        q = state.mass[1] * state.nock[i]
        out[plane, i, 0] -= q * t0
        out[plane, i, 1] -= q * t1
        out[plane, i, 2] -= q * t2
        out[plane, i, 3] -= q * t3


@njit(cache=True, fastmath=FAST)
def _gather(m: Moment, state: State, y: FloatArray, weight: float, mass: float) -> None:
    """Add what each disturbance does in this stage; ``mass`` is the one in the shapes."""
    share = m.scalars[0]
    bump = 4.0 * share * (1.0 - share)
    extra = weight * state.mass[0]
    thrust, turned = weight * m.scalars[1] * mass, m.scalars[1] * extra
    fall = weight * GRAVITY * sqrt(mass)
    for plane in range(2):
        hold, work, sums = m.hold[plane], state.work[plane], state.sums[plane]
        for column in range(4):
            at_nock, at_rest = weight * work[0, column], weight * work[1, column]
            sums[0, column] += at_nock
            sums[1, column] += at_nock * share
            sums[2, column] += at_nock * bump
            sums[3, column] += at_rest
            sums[6, column] -= fall * y[plane, 0, column] + GRAVITY * extra * work[3, column]
            sums[7, column] += weight * work[4, column] - hold[3] * at_nock - hold[4] * at_rest
            yielded = hold[5] * work[0, column] + hold[6] * work[1, column]
            sums[8, column] += thrust * (work[2, column] - yielded) + turned * work[3, column]


@njit(cache=True, fastmath=FAST)
def _middle_velocity(state: State, half: float) -> None:
    """Second middle stage: its place is the first one's, so only damping differs; stage becomes k3 - k2."""
    n = state.y.shape[1]
    for plane in range(2):
        t0, t1, t2, t3 = 0.0, 0.0, 0.0, 0.0
        for i in range(n):
            d, q = -half * state.drag[plane, i], state.nock[i]
            o0 = d * (state.k2[plane, i, 0] - state.k1[plane, i, 0])
            o1 = d * (state.k2[plane, i, 1] - state.k1[plane, i, 1])
            o2 = d * (state.k2[plane, i, 2] - state.k1[plane, i, 2])
            o3 = d * (state.k2[plane, i, 3] - state.k1[plane, i, 3])
            t0, t1, t2, t3 = t0 + q * o0, t1 + q * o1, t2 + q * o2, t3 + q * o3
            stage = state.stage[plane, i]
            stage[0], stage[1], stage[2], stage[3] = o0, o1, o2, o3
        _lighten(state, state.stage, plane, (t0, t1, t2, t3))


@njit(cache=True, fastmath=FAST)
def step_back(now: Moment, middle: Moment, then: Moment, state: State, h: float, mass: float) -> None:
    """One Kutta-Nystroem step of order 4 backward in time (both middle stages share a place, so one evaluation)."""
    half = 0.5 * h
    y, v, stage, k1, k2 = state.y.ravel(), state.v.ravel(), state.stage.ravel(), state.k1.ravel(), state.k2.ravel()
    _acceleration(now, state, state.y, state.v, state.k1)
    _gather(now, state, state.y, h / 6.0, mass)
    for e in range(y.shape[0]):
        stage[e] = y[e] + half * (v[e] + 0.25 * h * k1[e])
        k2[e] = v[e] + half * k1[e]
    _acceleration(middle, state, state.stage, state.k2, state.k2)
    _gather(middle, state, state.stage, 4.0 * h / 6.0, mass)
    _middle_velocity(state, half)
    for e in range(y.shape[0]):
        first, second = k1[e], k2[e]
        third = second + stage[e]
        place, speed = y[e], v[e]
        y[e] = place + h * (speed + h / 6.0 * (first + second + third))
        k2[e] = speed + h / 6.0 * (first + 2.0 * second + 2.0 * third)
        stage[e] = place + h * (speed + half * third)
        v[e] = speed + h * third
    _acceleration(then, state, state.stage, state.v, state.k1)
    _gather(then, state, state.stage, h / 6.0, mass)
    for e in range(y.shape[0]):
        v[e] = k2[e] + h / 6.0 * k1[e]
