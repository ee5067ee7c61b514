"""The compiled moment of a power stroke: thrust, contacts and shapes at one instant, for one bow.

What ``stroke_kernel`` steps over and ``stroke_run`` fills in as it goes.
"""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

import numpy as np
from numba import njit

from spinewright.mechanics.values import FloatArray

__all__ = [
    "FAST",
    "GRAVITY",
    "BowArrays",
    "Moment",
    "RodArrays",
    "contact_square",
    "fill_moment",
    "new_moment",
    "shape_at",
]

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
    thrust: FloatArray  # (n-1, n) acceleration times G over rotation and shapes; last column: on a crooked shaft
    scalars: FloatArray  # (2,) share of the stroke done, acceleration


@njit(cache=True, error_model="numpy")
def new_moment(n: int) -> Moment:
    """Room for ``n`` rows."""
    return Moment(np.zeros((2, n)), np.zeros((2, n)), np.zeros((2, 7)), np.zeros((n - 1, n)), np.zeros(2))


@njit(fastmath=FAST, error_model="numpy", inline="always")
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


@njit(fastmath=FAST, error_model="numpy", inline="always")
def _fill_thrust(rod: RodArrays, acceleration: float, softness: float, m: Moment) -> None:
    softening = acceleration * softness
    rows = rod.thrust.shape[0]
    for i in range(rows):
        for j in range(rows + 1):
            m.thrust[i, j] = acceleration * (rod.thrust[i, j] + softening * rod.thrust_high[i, j])


@njit(fastmath=FAST, error_model="numpy", inline="always")
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


@njit(fastmath=FAST, error_model="numpy", inline="always")
def _pulled(bow: BowArrays, row: FloatArray, share: float, moving: float) -> tuple[float, float, float, float]:
    """Travel, acceleration and the string's stiffness sideways and up and down at ``share`` of the time on it."""
    table = bow.table
    cells = table.shape[0] - 1
    place = min(max(share, 0.0), 1.0) * cells
    cell = min(int(place), cells - 1)
    b = place - cell
    a = 1.0 - b
    travel = a * table[cell, 0] + b * table[cell + 1, 0]
    force = row[2] * (a * table[cell, 1] + b * table[cell + 1, 1])
    residual = row[6] * (a * table[cell, 4] + b * table[cell + 1, 4])
    aside = row[4] * (row[2] * (a * table[cell, 2] + b * table[cell + 1, 2]) + residual)
    up = row[5] * (row[2] * (a * table[cell, 3] + b * table[cell + 1, 3]) + residual + bow.scalars[4])
    return travel, force / moving, aside, up


@njit(cache=True, fastmath=FAST, error_model="numpy")
def fill_moment(
    rod: RodArrays, bow: BowArrays, row: FloatArray, where: tuple[float, float, float], m: Moment, shape: FloatArray
) -> None:
    """The moment at ``where``: share of the time on the string, or -1 when it has gone; the rest's coordinate without
    the string; 1 while the rest touches, else 0."""
    share, s_rest, touching = where
    travel, acceleration, pull_y, pull_z = _pulled(bow, row, share, rod.body[4] + row[3])
    if share < 0.0:
        travel, acceleration, pull_y, pull_z = bow.scalars[0], 0.0, 0.0, 0.0
    else:
        s_rest = bow.scalars[1] - travel
    m.scalars[0] = travel / bow.scalars[0]
    m.scalars[1] = acceleration
    _fill_thrust(rod, acceleration, 2.0 / (row[0] + row[1]), m)
    shape_at(rod, s_rest, shape)
    _fill_contacts(rod, row, (pull_y, pull_z, touching), (s_rest, acceleration, 0.0), m, shape)


@njit(fastmath=FAST, error_model="numpy", inline="always")
def contact_square(m: Moment, plane: int) -> float:
    """Square of the highest frequency [rad/s] that string and rest can give the shapes in ``plane``."""
    square = 0.0
    for i in range(m.nock.shape[1]):
        square += m.hold[plane, 0] * m.nock[plane, i] ** 2 + m.hold[plane, 2] * m.rest[plane, i] ** 2
    return square
