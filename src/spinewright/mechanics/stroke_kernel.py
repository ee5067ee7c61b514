"""The compiled power stroke: adjoint columns integrated backward from the release, eight lanes wide.

The release state has four numbers a plane, so four backward solutions a plane hold the effect of every disturbance:
with ``M q'' + C q' + K(t) q = f(t)`` and ``M v'' - C v' + K(t) v = 0`` the product ``v M q' - v' M q + v C q`` grows by
``v f`` only. Lane = 4 * plane + release column. Rows 0 translation, 1 rotation, 2.. bending of the free arrow,
mass-normalised. Kutta-Nystroem steps of order 4; the effects are integrated with the same stage values and weights, so
that rigid displacements come out to rounding.
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
    "LANES",
    "BowArrays",
    "Moment",
    "RodArrays",
    "State",
    "divide_by_mass",
    "fill_moment",
    "new_moment",
    "new_state",
    "shape_at",
    "step_back",
]

LANES = 8
EFFECTS = 9  # the eight channels, then the line of the thrust turned by 1 rad
GRAVITY = 9.80665  # [m/s2] standard gravity (ISO 80000-3)
FAST = {"contract", "reassoc", "nsz", "arcp"}  # NaN and infinity keep their meaning: failures must be seen


class RodArrays(NamedTuple):
    """A rod as the kernel wants it; see :class:`spinewright.mechanics.rod.Rod`. ``body``: mass, balance, inertia, L."""

    body: FloatArray
    omega_squared: FloatArray
    thrust: FloatArray
    thrust_high: FloatArray
    table: FloatArray


class BowArrays(NamedTuple):
    """A bow's motion; ``scalars``: stroke, rest at draw, duration, energy, synchronisation."""

    scalars: FloatArray
    table: FloatArray


class Moment(NamedTuple):
    """Everything the equation of motion needs at one instant, spread over the lanes."""

    nock: FloatArray  # (n, 8) shapes at the nock
    rest: FloatArray  # (n, 8) shapes at the rest
    hold: FloatArray  # (8, 8) rows: S_nn, S_nr, S_rr, dropped modes' crookedness at nock, at rest, R_nn, R_nr, unused
    thrust: FloatArray  # (n, n) acceleration times G
    bend: FloatArray  # (n,) the thrust on a crooked shaft
    scalars: FloatArray  # (3,) share of the stroke done, thrust on arrow and nock mass [N], string holds (1 or 0)


class State(NamedTuple):
    """Adjoint columns, their velocities, stages and sums."""

    y: FloatArray
    v: FloatArray
    stage: FloatArray
    k1: FloatArray
    k2: FloatArray
    drag: FloatArray  # (n, 8) damping rates
    bent: FloatArray  # (n, 8) squares of frequencies
    nock: FloatArray  # (n,) shapes at the nock without the dropped modes, for the nock mass
    mass: FloatArray  # (2,) nock mass, and that over 1 + its share (M^-1 = 1 - mass[1] p p^T); 0 without the string
    grip: FloatArray  # (2, 8) forces at nock and rest
    sums: FloatArray  # (EFFECTS, 8)


@njit(cache=True)
def new_moment(n: int) -> Moment:
    """Room for ``n`` rows."""
    return Moment(
        np.zeros((n, LANES)), np.zeros((n, LANES)), np.zeros((8, LANES)), np.zeros((n, n)), np.zeros(n), np.zeros(3)
    )


@njit(cache=True)
def new_state(n: int) -> State:
    """Room for ``n`` rows."""
    return State(
        np.zeros((n, LANES)),
        np.zeros((n, LANES)),
        np.zeros((n, LANES)),
        np.zeros((n, LANES)),
        np.zeros((n, LANES)),
        np.zeros((n, LANES)),
        np.zeros((n, LANES)),
        np.zeros(n),
        np.zeros(2),
        np.zeros((2, LANES)),
        np.zeros((EFFECTS, LANES)),
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
def fill_moment(
    rod: RodArrays, bow: BowArrays, row: FloatArray, where: tuple[float, float, float], m: Moment, shape: FloatArray
) -> None:
    """The moment at ``where``: share of the time on the string, or -1 when it has gone; the rest's coordinate without
    the string; 1 while the rest touches, else 0."""
    k = rod.thrust.shape[0] - 1
    share, s_rest, touching = where[0], where[1], where[2] > 0.0
    mass, balance, inertia, length = rod.body
    acceleration, force, pull_y, pull_z, residual, travel = 0.0, 0.0, 0.0, 0.0, 0.0, bow.scalars[0]
    if share >= 0.0:
        cells = bow.table.shape[0] - 1
        place = min(share, 1.0) * cells
        cell = min(int(place), cells - 1)
        b = place - cell
        t0, t1 = bow.table[cell], bow.table[cell + 1]
        travel = t0[0] + b * (t1[0] - t0[0])
        force = row[2] * (t0[1] + b * (t1[1] - t0[1]))
        residual = row[6] * (t0[4] + b * (t1[4] - t0[4]))
        pull_y = row[4] * (row[2] * (t0[2] + b * (t1[2] - t0[2])) + residual)
        pull_z = row[5] * (row[2] * (t0[3] + b * (t1[3] - t0[3])) + residual + bow.scalars[4])
        acceleration = force / (mass + row[3])
        s_rest = bow.scalars[1] - travel
    m.scalars[0] = travel / bow.scalars[0]
    m.scalars[1] = acceleration * (mass + row[7])
    softening = 2.0 * acceleration / (row[0] + row[1])
    for i in range(k + 1):
        for j in range(k + 1):
            m.thrust[i + 1, j + 1] = acceleration * (rod.thrust[i, j] + softening * rod.thrust_high[i, j])
        m.bend[i + 1] = acceleration * (rod.thrust[i, k + 1] + softening * rod.thrust_high[i, k + 1])
    if touching:
        shape_at(rod, s_rest, shape)
    end = rod.table[0, 0]
    spread = 2.0 * s_rest / length - 1.0
    for plane in range(2):
        soft = acceleration / row[plane]
        pull = pull_y if plane == 0 else pull_z
        push = row[8 + plane] if touching else 0.0
        r_nn, r_nr, r_rr = end[2 * k + 3] / row[plane], shape[2 * k + 2] / row[plane], shape[2 * k + 3] / row[plane]
        determinant = (1.0 + r_nn * pull) * (1.0 + r_rr * push) - r_nr * r_nr * pull * push
        for column in range(4):
            lane = 4 * plane + column
            m.hold[0, lane] = pull * (1.0 + r_rr * push) / determinant
            m.hold[1, lane] = -pull * r_nr * push / determinant
            m.hold[2, lane] = push * (1.0 + r_nn * pull) / determinant
            m.hold[3, lane] = soft * end[2 * k + 1]
            m.hold[4, lane] = 1.0 - spread * spread + soft * shape[2 * k + 1]
            m.hold[5, lane] = r_nn
            m.hold[6, lane] = r_nr
            m.nock[0, lane] = 1.0 / sqrt(mass)
            m.rest[0, lane] = 1.0 / sqrt(mass)
            m.nock[1, lane] = -balance / sqrt(inertia) + soft * end[k]
            m.rest[1, lane] = (s_rest - balance) / sqrt(inertia) + soft * shape[k]
            for i in range(k):
                m.nock[2 + i, lane] = end[i] + soft * end[k + 1 + i]
                m.rest[2 + i, lane] = shape[i] + soft * shape[k + 1 + i]


@njit(cache=True, fastmath=FAST)
def _acceleration(m: Moment, state: State, y: FloatArray, v: FloatArray, out: FloatArray) -> None:
    """out = M^-1 (-K y - C v), and the forces in the contacts that ``y`` means."""
    n = y.shape[0]
    pull, push = np.zeros(LANES), np.zeros(LANES)
    for i in range(n):
        for lane in range(LANES):
            pull[lane] += m.nock[i, lane] * y[i, lane]
            push[lane] += m.rest[i, lane] * y[i, lane]
    for lane in range(LANES):
        at_nock = m.hold[0, lane] * pull[lane] + m.hold[1, lane] * push[lane]
        at_rest = m.hold[1, lane] * pull[lane] + m.hold[2, lane] * push[lane]
        state.grip[0, lane] = at_nock
        state.grip[1, lane] = at_rest
        pull[lane] = 0.0
    for i in range(n):
        for lane in range(LANES):
            total = -state.bent[i, lane] * y[i, lane] - state.drag[i, lane] * v[i, lane]
            total -= m.nock[i, lane] * state.grip[0, lane] + m.rest[i, lane] * state.grip[1, lane]
            out[i, lane] = total
        if i > 0:
            for j in range(1, n):
                g = m.thrust[i, j]
                for lane in range(LANES):
                    out[i, lane] += g * y[j, lane]
    divide_by_mass(state, out)


@njit(cache=True, fastmath=FAST)
def divide_by_mass(state: State, out: FloatArray) -> None:
    """out = M^-1 out, M = 1 + nock mass on the string."""
    if state.mass[1] == 0.0:
        return
    moved = np.zeros(LANES)
    for i in range(out.shape[0]):
        for lane in range(LANES):
            moved[lane] += state.nock[i] * out[i, lane]
    for i in range(out.shape[0]):
        for lane in range(LANES):
            out[i, lane] -= state.mass[1] * state.nock[i] * moved[lane]


@njit(cache=True, fastmath=FAST)
def _gather(m: Moment, state: State, y: FloatArray, weight: float, root_mass: float) -> None:
    """Add what each disturbance does in this stage."""
    share, thrust = m.scalars[0], weight * m.scalars[1]
    for lane in range(LANES):
        at_nock, at_rest = weight * state.grip[0, lane], weight * state.grip[1, lane]
        state.sums[0, lane] += at_nock
        state.sums[1, lane] += at_nock * share
        state.sums[2, lane] += at_nock * 4.0 * share * (1.0 - share)
        state.sums[3, lane] += at_rest
        state.sums[6, lane] -= weight * GRAVITY * root_mass * y[0, lane]
        state.sums[7, lane] -= m.hold[3, lane] * at_nock + m.hold[4, lane] * at_rest
        state.sums[8, lane] -= thrust * (m.hold[5, lane] * state.grip[0, lane] + m.hold[6, lane] * state.grip[1, lane])
    for i in range(y.shape[0]):
        for lane in range(LANES):
            state.sums[7, lane] += weight * m.bend[i] * y[i, lane]
            state.sums[8, lane] += thrust * m.nock[i, lane] * y[i, lane]


@njit(cache=True, fastmath=FAST)
def step_back(now: Moment, middle: Moment, then: Moment, state: State, h: float, root_mass: float) -> None:
    """One Kutta-Nystroem step of order 4 backward in time (both middle stages share a position, so one evaluation)."""
    n = state.y.shape[0]
    _acceleration(now, state, state.y, state.v, state.k1)
    _gather(now, state, state.y, h / 6.0, root_mass)
    half = 0.5 * h
    for i in range(n):
        for lane in range(LANES):
            state.stage[i, lane] = state.y[i, lane] + half * (state.v[i, lane] + 0.25 * h * state.k1[i, lane])
            state.k2[i, lane] = state.v[i, lane] + half * state.k1[i, lane]
    _acceleration(middle, state, state.stage, state.k2, state.k2)
    _gather(middle, state, state.stage, 4.0 * h / 6.0, root_mass)
    # from here ``stage`` holds k3: the second middle stage differs in velocity only
    for i in range(n):
        for lane in range(LANES):
            state.stage[i, lane] = half * state.drag[i, lane] * (state.k2[i, lane] - state.k1[i, lane])
    divide_by_mass(state, state.stage)
    for i in range(n):
        for lane in range(LANES):
            k1, k2 = state.k1[i, lane], state.k2[i, lane]
            k3 = k2 - state.stage[i, lane]
            y, v = state.y[i, lane], state.v[i, lane]
            state.k1[i, lane] = y + h * (v + h / 6.0 * (k1 + k2 + k3))
            state.k2[i, lane] = v + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3)
            state.stage[i, lane] = y + h * (v + half * k3)
            state.v[i, lane] = v + h * k3
            state.y[i, lane] = state.k1[i, lane]
    _acceleration(then, state, state.stage, state.v, state.k1)
    _gather(then, state, state.stage, h / 6.0, root_mass)
    for i in range(n):
        for lane in range(LANES):
            state.v[i, lane] = state.k2[i, lane] + h / 6.0 * state.k1[i, lane]
