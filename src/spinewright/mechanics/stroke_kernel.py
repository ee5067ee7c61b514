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

Functions that others are made of are inlined into them: a compiled function that calls no other counts no references
to its arrays, which took more time than the arithmetic, and compiles in half the time.
"""

from __future__ import annotations

from math import cos, exp, sin, sqrt
from typing import NamedTuple

import numpy as np
from numba import njit

from spinewright.mechanics.stroke_moment import FAST, GRAVITY, BowArrays, Moment, RodArrays
from spinewright.mechanics.values import FloatArray

# The arrays' types stand here too: code compiled before the moment had a module of its own asks for them here.
__all__ = [
    "EFFECTS",
    "BowArrays",
    "Moment",
    "RodArrays",
    "State",
    "advance",
    "clear",
    "new_state",
    "press",
    "set_swing",
    "stage_on",
    "start",
]

EFFECTS = 9  # the eight channels, then the line of the thrust turned by 1 rad


class State(NamedTuple):
    """Adjoint columns, their velocities, stages and sums."""

    y: FloatArray  # (2, n, 4) as are the next two
    v: FloatArray
    stage: FloatArray  # where the next push is asked for
    f1: FloatArray  # (2, n, 4) pushes at start, middle and end of a step
    f2: FloatArray
    f3: FloatArray
    drag: FloatArray  # (2, n) damping rates
    bent: FloatArray  # (2, n) squares of frequencies
    half: FloatArray  # (2, n, 3) what half a step of the shapes' own swing takes, see ``set_swing``
    whole: FloatArray  # (2, n, 11) the same of a step
    work: FloatArray  # (2, 4, 4) of this stage: forces at nock, at rest; columns at the nock; along a crook
    sums: FloatArray  # (2, EFFECTS, 4)


@njit(cache=True, error_model="numpy")
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
        np.zeros((2, n, 3)),
        np.zeros((2, n, 11)),
        np.zeros((2, 4, 4)),
        np.zeros((2, EFFECTS, 4)),
    )


@njit(fastmath=FAST, error_model="numpy", inline="always")
def _contact_work(m: Moment, state: State, p: int) -> None:
    """What the stage's columns mean at the contacts and along a crooked shaft; fills ``state.work[p]``, p the plane."""
    a0, a1, a2, a3 = 0.0, 0.0, 0.0, 0.0
    b0, b1, b2, b3 = 0.0, 0.0, 0.0, 0.0
    d0, d1, d2, d3 = 0.0, 0.0, 0.0, 0.0
    y, n = state.stage, state.stage.shape[1]
    for i in range(n):
        y0, y1, y2, y3 = y[p, i, 0], y[p, i, 1], y[p, i, 2], y[p, i, 3]
        at_nock, at_rest = m.nock[p, i], m.rest[p, i]
        a0, a1, a2, a3 = a0 + at_nock * y0, a1 + at_nock * y1, a2 + at_nock * y2, a3 + at_nock * y3
        b0, b1, b2, b3 = b0 + at_rest * y0, b1 + at_rest * y1, b2 + at_rest * y2, b3 + at_rest * y3
    for i in range(1, n):
        bend = m.thrust[i - 1, n - 1]
        d0, d1, d2, d3 = d0 + bend * y[p, i, 0], d1 + bend * y[p, i, 1], d2 + bend * y[p, i, 2], d3 + bend * y[p, i, 3]
    nn, nr, rr = m.hold[p, 0], m.hold[p, 1], m.hold[p, 2]
    w = state.work
    w[p, 0, 0], w[p, 0, 1], w[p, 0, 2], w[p, 0, 3] = (
        nn * a0 + nr * b0,
        nn * a1 + nr * b1,
        nn * a2 + nr * b2,
        nn * a3 + nr * b3,
    )
    w[p, 1, 0], w[p, 1, 1], w[p, 1, 2], w[p, 1, 3] = (
        nr * a0 + rr * b0,
        nr * a1 + rr * b1,
        nr * a2 + rr * b2,
        nr * a3 + rr * b3,
    )
    w[p, 2, 0], w[p, 2, 1], w[p, 2, 2], w[p, 2, 3] = a0, a1, a2, a3
    w[p, 3, 0], w[p, 3, 1], w[p, 3, 2], w[p, 3, 3] = d0, d1, d2, d3


@njit(fastmath=FAST, error_model="numpy", inline="always")
def _push(m: Moment, state: State, out: FloatArray) -> None:
    """out: what thrust and contacts do to the stage, the shapes' own stiffness and damping left out."""
    y, work, n = state.stage, state.work, state.stage.shape[1]
    for p in range(2):
        _contact_work(m, state, p)
        f0, f1, f2, f3 = work[p, 0, 0], work[p, 0, 1], work[p, 0, 2], work[p, 0, 3]
        g0, g1, g2, g3 = work[p, 1, 0], work[p, 1, 1], work[p, 1, 2], work[p, 1, 3]
        for i in range(n):
            at_nock, at_rest = -m.nock[p, i], -m.rest[p, i]
            o0, o1, o2, o3 = (
                at_nock * f0 + at_rest * g0,
                at_nock * f1 + at_rest * g1,
                at_nock * f2 + at_rest * g2,
                at_nock * f3 + at_rest * g3,
            )
            if i > 0:  # the thrust moves nothing aside
                for j in range(1, n):
                    g = m.thrust[i - 1, j - 1]
                    o0 += g * y[p, j, 0]
                    o1 += g * y[p, j, 1]
                    o2 += g * y[p, j, 2]
                    o3 += g * y[p, j, 3]
            out[p, i, 0], out[p, i, 1], out[p, i, 2], out[p, i, 3] = o0, o1, o2, o3


@njit(fastmath=FAST, error_model="numpy", inline="always")
def _gather(m: Moment, state: State, weight: float, mass: float) -> None:
    """Add what each disturbance does in this stage; ``mass`` is the one in the shapes."""
    share = m.scalars[0]
    bump = 4.0 * share * (1.0 - share)
    thrust, fall = weight * m.scalars[1] * mass, weight * GRAVITY * sqrt(mass)
    hold, work, sums = m.hold, state.work, state.sums
    for p in range(2):
        for column in range(4):
            at_nock, at_rest = weight * work[p, 0, column], weight * work[p, 1, column]
            sums[p, 0, column] += at_nock
            sums[p, 1, column] += at_nock * share
            sums[p, 2, column] += at_nock * bump
            sums[p, 3, column] += at_rest
            sums[p, 6, column] -= fall * state.stage[p, 0, column]
            sums[p, 7, column] += weight * work[p, 3, column] - hold[p, 3] * at_nock - hold[p, 4] * at_rest
            turned = work[p, 2, column] - hold[p, 5] * work[p, 0, column] - hold[p, 6] * work[p, 1, column]
            sums[p, 8, column] += thrust * turned


@njit(error_model="numpy", inline="always")
def _swing_over(square: float, drag: float, t: float) -> tuple[float, float, float, float]:
    """Damped swing after ``t`` from place 1, and from speed 1; the speeds of both."""
    rate = sqrt(max(square - 0.25 * drag * drag, 0.0))
    decay = exp(-0.5 * drag * t)
    from_speed = decay * (sin(rate * t) / rate if rate > 0.0 else t)
    from_place = decay * cos(rate * t) + 0.5 * drag * from_speed
    return from_place, from_speed, -square * from_speed, from_place - drag * from_speed


@njit(error_model="numpy", inline="always")
def _held_push(square: float, drag: float, t: float, from_speed: float, speed: float) -> float:
    """Place after ``t`` from rest under a push of 1; ``from_speed``, ``speed``: what a start with speed 1 becomes."""
    if square * t * t < 1e-6:
        return 0.5 * t * t
    return (1.0 - speed - drag * from_speed) / square


@njit(cache=True, error_model="numpy")
def set_swing(state: State, h: float, nodes: FloatArray, weights: FloatArray) -> None:
    """What a step ``h`` of every shape's own swing takes, by its order in ``state.half`` and ``state.whole``:

    half a step's place from place, speed, a held push; a step's the same (0-2), then place from pushes at start,
    middle, end (3-5), which a parabola joins; speed from place, speed (6, 7) and from those pushes (8-10).
    The integrals of swing times parabola by the Gauss rule ``nodes``, ``weights`` on [-1, 1].
    """
    for plane in range(2):
        for i in range(state.bent.shape[1]):
            square, drag = state.bent[plane, i], state.drag[plane, i]
            half, swing = state.half[plane, i], state.whole[plane, i]
            half[0], half[1], _, speed = _swing_over(square, drag, 0.5 * h)
            half[2] = _held_push(square, drag, 0.5 * h, half[1], speed)
            swing[0], swing[1], swing[6], swing[7] = _swing_over(square, drag, h)
            swing[2] = _held_push(square, drag, h, swing[1], swing[7])
            swing[3], swing[4], swing[5], swing[8], swing[9], swing[10] = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
            for node in range(nodes.shape[0]):
                u, w = 0.5 * (1.0 + nodes[node]), 0.5 * h * weights[node]
                _, place, _, speed = _swing_over(square, drag, (1.0 - u) * h)
                first, middle, last = (1.0 - u) * (1.0 - 2.0 * u), 4.0 * u * (1.0 - u), u * (2.0 * u - 1.0)
                swing[3] += w * place * first
                swing[4] += w * place * middle
                swing[5] += w * place * last
                swing[8] += w * speed * first
                swing[9] += w * speed * middle
                swing[10] += w * speed * last


@njit(error_model="numpy", inline="always")
def clear(state: State) -> None:
    """Columns, their velocities and sums to nothing."""
    for p in range(2):
        for column in range(4):
            for i in range(state.y.shape[1]):
                state.y[p, i, column], state.v[p, i, column] = 0.0, 0.0
            for channel in range(EFFECTS):
                state.sums[p, channel, column] = 0.0


@njit(cache=True, fastmath=FAST, error_model="numpy")
def press(m: Moment, state: State, push: FloatArray, weight: float, mass: float) -> None:
    """``push`` at ``state.stage``, and what every disturbance does there; ``m`` is the moment, ``weight`` [s] the
    stage's time, ``mass`` the one in the shapes."""
    _push(m, state, push)
    _gather(m, state, weight, mass)


@njit(cache=True, fastmath=FAST, error_model="numpy")
def stage_on(state: State, factors: FloatArray, push: FloatArray) -> None:
    """The next stage: swing from y and v, and from ``push`` held; ``factors`` are ``state.half`` or ``state.whole``."""
    y, v, out = state.y, state.v, state.stage
    for p in range(2):
        for i in range(y.shape[1]):
            a, b, c = factors[p, i, 0], factors[p, i, 1], factors[p, i, 2]
            s0 = a * y[p, i, 0] + b * v[p, i, 0] + c * push[p, i, 0]
            s1 = a * y[p, i, 1] + b * v[p, i, 1] + c * push[p, i, 1]
            s2 = a * y[p, i, 2] + b * v[p, i, 2] + c * push[p, i, 2]
            s3 = a * y[p, i, 3] + b * v[p, i, 3] + c * push[p, i, 3]
            out[p, i, 0], out[p, i, 1], out[p, i, 2], out[p, i, 3] = s0, s1, s2, s3


@njit(cache=True, fastmath=FAST, error_model="numpy")
def advance(state: State) -> None:
    """y and v at the end of the step, from their swing and the three pushes; y is the next stage, too."""
    y, v, w, out = state.y, state.v, state.whole, state.stage
    for p in range(2):
        for i in range(y.shape[1]):
            y0, y1, y2, y3 = y[p, i, 0], y[p, i, 1], y[p, i, 2], y[p, i, 3]
            v0, v1, v2, v3 = v[p, i, 0], v[p, i, 1], v[p, i, 2], v[p, i, 3]
            f0, f1, f2, f3 = state.f1[p, i, 0], state.f1[p, i, 1], state.f1[p, i, 2], state.f1[p, i, 3]
            g0, g1, g2, g3 = state.f2[p, i, 0], state.f2[p, i, 1], state.f2[p, i, 2], state.f2[p, i, 3]
            h0, h1, h2, h3 = state.f3[p, i, 0], state.f3[p, i, 1], state.f3[p, i, 2], state.f3[p, i, 3]
            a, b, c, d, e = w[p, i, 0], w[p, i, 1], w[p, i, 3], w[p, i, 4], w[p, i, 5]
            s0 = a * y0 + b * v0 + c * f0 + d * g0 + e * h0
            s1 = a * y1 + b * v1 + c * f1 + d * g1 + e * h1
            s2 = a * y2 + b * v2 + c * f2 + d * g2 + e * h2
            s3 = a * y3 + b * v3 + c * f3 + d * g3 + e * h3
            y[p, i, 0], y[p, i, 1], y[p, i, 2], y[p, i, 3] = s0, s1, s2, s3
            out[p, i, 0], out[p, i, 1], out[p, i, 2], out[p, i, 3] = s0, s1, s2, s3
            a, b, c, d, e = w[p, i, 6], w[p, i, 7], w[p, i, 8], w[p, i, 9], w[p, i, 10]
            s0 = a * y0 + b * v0 + c * f0 + d * g0 + e * h0
            s1 = a * y1 + b * v1 + c * f1 + d * g1 + e * h1
            s2 = a * y2 + b * v2 + c * f2 + d * g2 + e * h2
            s3 = a * y3 + b * v3 + c * f3 + d * g3 + e * h3
            v[p, i, 0], v[p, i, 1], v[p, i, 2], v[p, i, 3] = s0, s1, s2, s3


@njit(error_model="numpy", inline="always")
def start(state: State) -> None:
    """Ask for the first push at y."""
    y, stage = state.y, state.stage
    for p in range(2):
        for i in range(y.shape[1]):
            for column in range(4):  # element by element: assigning slices compiles its error messages for seconds
                stage[p, i, column] = y[p, i, column]
