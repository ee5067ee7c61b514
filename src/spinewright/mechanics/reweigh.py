"""The kept shapes of an arrow with another mass on its nock: the same few shapes, combined anew. Compiled.

With the shapes made for one nock mass, d more of it makes the mass matrix 1 + d p p^T, p the shapes at the nock. The
combinations below make it 1 again and keep the stiffness diagonal, so that neither string nor release needs more.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numba import njit

from spinewright.mechanics.stroke_moment import RodArrays
from spinewright.mechanics.values import FloatArray

__all__ = ["retold", "reweighed"]

_NOTHING = 1e-9  # [kg] too little to combine anew for


@njit(cache=True, error_model="numpy")
def _combinations(rod: RodArrays, extra: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Body with ``extra`` on the nock; squares of frequencies; new rows over the old ones (n, n), columns new."""
    k = rod.stiffness.shape[0]
    mass, balance, inertia = rod.body[0], rod.body[1], rod.body[2]
    body = rod.body.copy()
    body[0] = mass + extra
    body[1] = mass * balance / body[0]
    body[2] = inertia + mass * balance * balance - body[0] * body[1] ** 2
    turn = np.zeros((k + 2, k + 2))
    turn[0, 0] = sqrt(mass / body[0])
    turn[0, 1] = sqrt(mass / body[2]) * (balance - body[1])
    turn[1, 1] = sqrt(inertia / body[2])
    nock = rod.table[0, 0, :k].copy()
    aside, tilt = 1.0 / sqrt(mass), -balance / sqrt(inertia)
    rigid = extra / (1.0 + extra * (aside * aside + tilt * tilt))
    matrix = np.empty((k, k))
    for i in range(k):
        for j in range(k):
            matrix[i, j] = rigid * nock[i] * nock[j] / sqrt(rod.stiffness[i] * rod.stiffness[j])
        matrix[i, i] += 1.0 / rod.stiffness[i]
    softness, vectors = np.linalg.eigh(matrix)
    squares = np.empty(k)
    for shape in range(k):
        value, along = softness[k - 1 - shape], 0.0
        squares[shape] = 1.0 / value
        for i in range(k):
            turn[2 + i, 2 + shape] = vectors[i, k - 1 - shape] / sqrt(value * rod.stiffness[i])
            along -= rigid * nock[i] * turn[2 + i, 2 + shape]
        turn[0, 2 + shape], turn[1, 2 + shape] = along * aside, along * tilt
    return body, squares, turn


@njit(cache=True, error_model="numpy")
def reweighed(rod: RodArrays, extra: float) -> tuple[RodArrays, FloatArray]:
    """``rod`` with ``extra`` [kg] more on its nock, and the new shapes over the old (n, n), rigid motions included."""
    k = rod.stiffness.shape[0]
    if abs(extra) < _NOTHING:
        return rod, np.eye(k + 2)
    body, squares, turn = _combinations(rod, extra)
    with_crook = np.zeros((k + 2, k + 2))  # over rotation, shapes, crooked shaft
    for i in range(k + 1):
        for j in range(k + 1):
            with_crook[i, j] = turn[1 + i, 1 + j]
    with_crook[k + 1, k + 1] = 1.0
    left = np.ascontiguousarray(turn[1:, 1:].T)
    thrust = left @ (rod.thrust @ with_crook)
    high = left @ (rod.thrust_high @ with_crook)
    rows = np.zeros((2 * k + 4, 2 * k + 4))  # over the table's columns: shapes, what G adds, flexibility
    for i in range(k):
        for j in range(k):
            rows[i, j] = turn[2 + i, 2 + j]
    for i in range(k + 2):
        for j in range(k + 2):
            rows[k + i, k + j] = with_crook[i, j]
    rows[2 * k + 2, 2 * k + 2], rows[2 * k + 3, 2 * k + 3] = 1.0, 1.0
    nodes = rod.table.shape[0]
    table = (rod.table.reshape((2 * nodes, 2 * k + 4)) @ rows).reshape((nodes, 2, 2 * k + 4))
    cell = rod.body[3] / (nodes - 1)
    for shape in range(k):
        slope = turn[1, 2 + shape] / sqrt(rod.body[2])
        start = turn[0, 2 + shape] / sqrt(rod.body[0]) - slope * rod.body[1]
        for node in range(nodes):
            table[node, 0, shape] += start + slope * cell * node
            table[node, 1, shape] += slope * cell
    return RodArrays(body, squares, thrust, high, table), turn


@njit(cache=True, error_model="numpy")
def retold(rod: RodArrays, turn: FloatArray, extra: float, columns: FloatArray, out: FloatArray) -> None:
    """Fill ``out`` (n,) with ``columns`` (n,) over the shapes of ``rod``, told in those with another mass on the nock.

    ``extra`` [kg] is how much more that is, below zero where no string holds the nock any more; ``turn`` (n, n) is
    :func:`reweighed`'s for it. ``out`` may be ``columns``.
    """
    n = columns.shape[0]
    nock = np.empty(n)
    nock[0], nock[1] = 1.0 / sqrt(rod.body[0]), -rod.body[1] / sqrt(rod.body[2])
    for i in range(2, n):
        nock[i] = rod.table[0, 0, i - 2]
    told = np.ascontiguousarray(turn.T) @ (columns + extra * np.dot(nock, columns) * nock)
    for i in range(n):  # what checks a slice's shape takes seconds to compile
        out[i] = told[i]
