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

from spinewright.mechanics.stroke_moment import FAST, GRAVITY, BowArrays, Moment, RodArrays
from spinewright.mechanics.values import FloatArray

# The arrays' types stand here too: code compiled before the moment had a module of its own asks for them here.
__all__ = ["EFFECTS", "BowArrays", "Moment", "RodArrays", "State", "new_state", "set_swing", "step_back"]

EFFECTS = 9  # the eight channels, then the line of the thrust turned by 1 rad


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
    y, v, stage, swing = state.y, state.v, state.stage, state.swing
    for plane in range(2):
        for i in range(push.shape[1]):
            a, b, c = swing[plane, i, first], swing[plane, i, first + 1], swing[plane, i, first + 2]
            for column in range(4):
                stage[plane, i, column] = a * y[plane, i, column] + b * v[plane, i, column] + c * push[plane, i, column]


@njit(cache=True, fastmath=FAST)
def _advance(state: State) -> None:
    """y and v at the end of the step, from their swing and the pushes at start, middle and end."""
    y, v, f, g, e = state.y, state.v, state.f1, state.f2, state.f3
    for plane in range(2):
        for i in range(y.shape[1]):
            w = state.swing[plane, i]
            for column in range(4):
                place, speed = y[plane, i, column], v[plane, i, column]
                first, middle, last = f[plane, i, column], g[plane, i, column], e[plane, i, column]
                y[plane, i, column] = w[3] * place + w[4] * speed + w[6] * first + w[7] * middle + w[8] * last
                v[plane, i, column] = w[9] * place + w[10] * speed + w[11] * first + w[12] * middle + w[13] * last


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
