"""Compiled assembly of a rod's mass, bending and thrust matrices, and its reduction to a few modes.

Order of the rows throughout: 0 = translation, 1 = rotation about the centre of mass, then bending.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numba import njit

from spinewright.mechanics.legendre import bending_functions
from spinewright.mechanics.values import FloatArray

__all__ = ["CROOKED", "assemble", "bending_modes", "critical_acceleration", "keep_modes", "load_nock", "tabulate"]

CROOKED = -2.0 * sqrt(2.0)  # first bending functions in the parabola 1 - xi^2; the rest of it is 2/3 of translation


@njit(cache=True, error_model="numpy")
def _mass_points(
    length: float, start: float, density: float, lumps: FloatArray, rule: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Every mass of the arrow as points: the Gauss points of the shaft, then the lumps. Positions, masses, inertias."""
    gauss, lumped = rule.shape[1], lumps.shape[1]
    points, masses, inertias = np.zeros(gauss + lumped), np.zeros(gauss + lumped), np.zeros(gauss + lumped)
    half = 0.5 * (length - start)
    for k in range(gauss):
        points[k] = start + half * (1.0 + rule[0, k])
        masses[k] = density * half * rule[1, k]
    for k in range(lumped):
        points[gauss + k], masses[gauss + k], inertias[gauss + k] = lumps[0, k], lumps[1, k], lumps[2, k]
    return points, masses, inertias


@njit(cache=True, error_model="numpy")
def _functions_at(s: float, length: float, values: FloatArray, slopes: FloatArray) -> None:
    """Bending functions and their slopes d/ds at ``s``; beyond the shaft's ends they go on straight."""
    inside = min(max(s, 0.0), length)
    bending_functions(2.0 * inside / length - 1.0, values, slopes)
    for j in range(values.shape[0]):
        slopes[j] *= 2.0 / length
        values[j] += (s - inside) * slopes[j]


@njit(cache=True, error_model="numpy")
def _add_mass(
    points: FloatArray, masses: FloatArray, inertias: FloatArray, length: float, counts: tuple[int, int]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mass, first and second moment about the throat; the functions' own moments (2, static); bending mass block."""
    bending, static = counts
    moments = np.zeros(3)
    coupling, block = np.zeros((2, static)), np.zeros((bending, bending))
    values, slopes = np.empty(static), np.empty(static)
    for k in range(points.shape[0]):
        _functions_at(points[k], length, values, slopes)
        arm = masses[k] * points[k]
        moments[0] += masses[k]
        moments[1] += arm
        moments[2] += arm * points[k] + inertias[k]
        for j in range(static):
            coupling[0, j] += masses[k] * values[j]
            coupling[1, j] += arm * values[j] + inertias[k] * slopes[j]
        for i in range(bending):
            weighed, turned = masses[k] * values[i], inertias[k] * slopes[i]
            for j in range(i + 1):
                block[i, j] += weighed * values[j] + turned * slopes[j]
    return moments, coupling, block


@njit(cache=True, error_model="numpy")
def load_nock(
    moments: FloatArray, coupling: FloatArray, block: FloatArray, at_nock: FloatArray, nock_mass: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Put ``nock_mass`` on the nock (position 0) and free the functions of momentum.

    ``at_nock`` (static,): the functions at the nock. Returns body (mass, balance, inertia about it); the rigid part
    (lift, lean) of every function (2, static); the mass block (bending, bending) of the functions without it.
    """
    bending = block.shape[0]
    body, rigid, own = np.empty(3), np.empty(coupling.shape), np.empty(block.shape)
    body[0] = moments[0] + nock_mass
    body[1] = moments[1] / body[0]
    body[2] = moments[2] - body[0] * body[1] ** 2
    for j in range(coupling.shape[1]):
        rigid[0, j] = (coupling[0, j] + nock_mass * at_nock[j]) / body[0]
        rigid[1, j] = (coupling[1, j] - body[1] * body[0] * rigid[0, j]) / body[2]
    for i in range(bending):
        for j in range(i + 1):
            own[i, j] = block[i, j] + nock_mass * at_nock[i] * at_nock[j]
            own[i, j] -= body[0] * rigid[0, i] * rigid[0, j] + body[2] * rigid[1, i] * rigid[1, j]
            own[j, i] = own[i, j]
    return body, rigid, own


@njit(cache=True, error_model="numpy")
def _sort(values: FloatArray) -> None:
    """Sort a handful of values in place (numpy's own sort takes seconds to compile)."""
    for i in range(1, values.shape[0]):
        value, j = values[i], i - 1
        while j >= 0 and values[j] > value:
            values[j + 1] = values[j]
            j -= 1
        values[j + 1] = value


@njit(cache=True, error_model="numpy")
def _thrust_matrix(
    length: float, start: float, density: float, lumps: FloatArray, rule: FloatArray, bending: int
) -> FloatArray:
    """G over (rotation of slope 1, bending functions): integral of the mass ahead of s times the slopes' products."""
    breaks = np.zeros(lumps.shape[1] + 3)
    breaks[1], breaks[2] = start, length
    for k in range(lumps.shape[1]):
        breaks[3 + k] = min(max(lumps[0, k], 0.0), length)
    _sort(breaks)
    matrix = np.zeros((bending + 1, bending + 1))
    values, slopes = np.empty(bending), np.ones(bending + 1)
    for piece in range(breaks.shape[0] - 1):
        half = 0.5 * (breaks[piece + 1] - breaks[piece])
        if half < 1e-9 * length:
            continue
        for k in range(rule.shape[1]):
            s = breaks[piece] + half * (1.0 + rule[0, k])
            ahead = density * (length - max(s, start))
            for lump in range(lumps.shape[1]):
                if lumps[0, lump] > s:
                    ahead += lumps[1, lump]
            _functions_at(s, length, values, slopes[1:])
            _add_outer(matrix, slopes, half * rule[1, k] * ahead)
    for lump in range(lumps.shape[1]):
        outside = lumps[0, lump] - min(max(lumps[0, lump], 0.0), length)
        if outside != 0.0:
            _functions_at(lumps[0, lump], length, values, slopes[1:])
            _add_outer(matrix, slopes, lumps[1, lump] * outside)
    _fill_upper(matrix)
    return matrix


@njit(cache=True, error_model="numpy")
def _fill_upper(matrix: FloatArray) -> None:
    for i in range(matrix.shape[0]):
        for j in range(i):
            matrix[j, i] = matrix[i, j]


@njit(cache=True, error_model="numpy")
def _add_outer(matrix: FloatArray, slopes: FloatArray, weight: float) -> None:
    """Lower triangle only."""
    for i in range(matrix.shape[0]):
        weighed = weight * slopes[i]
        for j in range(i + 1):
            matrix[i, j] += weighed * slopes[j]


@njit(cache=True, error_model="numpy")
def assemble(
    length: float,
    start: float,
    density: float,
    lumps: FloatArray,
    rules: tuple[FloatArray, FloatArray],
    counts: tuple[int, int],
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Mass moments, the functions' moments, bending mass block, thrust matrix; nothing freed of momentum yet.

    ``lumps`` (3, n): positions, masses, own inertias. ``rules`` (2, n) twice: Gauss nodes and weights for
    mass and for thrust. ``counts``: bending functions for the modes, and for static flexibility (not fewer).
    """
    points, masses, inertias = _mass_points(length, start, density, lumps, rules[0])
    moments, coupling, block = _add_mass(points, masses, inertias, length, counts)
    return moments, coupling, block, _thrust_matrix(length, start, density, lumps, rules[1], counts[0])


@njit(cache=True, error_model="numpy")
def bending_modes(
    body: FloatArray, rigid: FloatArray, block: FloatArray, thrust: FloatArray, kappa: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """All bending modes: squares of angular frequency, shapes, G over rotation and modes.

    ``kappa`` [N/m] is the bending energy of every bending function. Shapes (functions, modes) are mass-normalised
    coefficients of the bending functions, lowest mode first. G gets a last column for a shaft crooked by a unit
    parabola (its middle stands 1 off the line through its ends).
    """
    bending = block.shape[0]
    softness, vectors = np.linalg.eigh(block)
    squares, shapes = np.empty(bending), np.empty((bending, bending))
    turn = np.zeros((bending + 1, bending + 2))  # columns: rotation, modes, crooked shaft, over (slope 1, functions)
    turn[0, 0] = 1.0 / sqrt(body[2])
    turn[1, bending + 1] = CROOKED
    for mode in range(bending):
        value = max(softness[bending - 1 - mode], 1e-300)
        squares[mode] = kappa / value
        for j in range(bending):
            shapes[j, mode] = vectors[j, bending - 1 - mode] / sqrt(value)
            turn[1 + j, 1 + mode] = shapes[j, mode]
            turn[0, 1 + mode] -= rigid[1, j] * shapes[j, mode]
    return squares, shapes, turn.T @ (thrust @ turn)


@njit(cache=True, error_model="numpy")
def critical_acceleration(thrust: FloatArray, kappa: float) -> float:
    """Acceleration [m/s2] whose thrust takes the rod's stiffness away: det(K - a G) = 0, the rotation condensed out.

    ``thrust`` over (slope 1, bending functions), nothing freed of momentum: what the rigid motions add to a function
    is condensed out with the rotation. Every function holds the bending energy ``kappa`` [N/m].
    """
    bending = thrust.shape[0] - 1
    condensed = np.empty((bending, bending))
    for i in range(bending):
        for j in range(bending):
            condensed[i, j] = thrust[1 + i, 1 + j] - thrust[1 + i, 0] * thrust[0, 1 + j] / thrust[0, 0]
    softest = np.linalg.eigvalsh(condensed)[bending - 1]
    return float(kappa / max(softest, 1e-300))


@njit(cache=True, error_model="numpy")
def keep_modes(
    squares: FloatArray, shapes: FloatArray, g: FloatArray, nock: FloatArray, counts: tuple[int, int]
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Keep the first ``counts[0]`` modes and, when ``counts[1]`` is one more, the nock's own shape.

    That shape is what a load on the nock bends out of the other modes, its frequency by Rayleigh's quotient (the
    residual attachment mode of component-mode synthesis: MacNeal 1971, Rubin 1975). ``nock`` (functions,): the bending
    functions at the nock. Returns squares of the kept shapes' frequencies (k,); G over rotation, kept shapes and
    crooked shaft (k+1, k+2); what G does through the dropped shapes, the same size; coefficients over the bending
    functions of the kept shapes and of what G stirs in the dropped ones (functions, 2k+2).
    """
    free, kept, bending = counts[0], counts[1], squares.shape[0]
    left = np.zeros((bending + 2, kept + 2))  # rotation, modes, crook over rotation, kept shapes, crook
    left[0, 0], left[bending + 1, kept + 1] = 1.0, 1.0
    for mode in range(free):
        left[1 + mode, 1 + mode] = 1.0
    kept_squares = squares[:kept].copy()
    if kept > free:
        _nock_shape(squares[free:], (nock @ shapes)[free:], left[1 + free : bending + 1, kept])
        kept_squares[free] = 0.0
        for mode in range(bending):
            kept_squares[free] += left[1 + mode, kept] ** 2 * squares[mode]
    loads = g @ left  # (bending + 1, k + 2)
    thrust = np.ascontiguousarray(left[: bending + 1, : kept + 1].T) @ loads
    stirred = np.empty((bending, kept + 2))
    for mode in range(bending):
        for column in range(kept + 2):
            value = loads[1 + mode, column] / squares[mode]
            for shape in range(kept):
                value -= left[1 + mode, 1 + shape] * thrust[1 + shape, column] / kept_squares[shape]
            stirred[mode, column] = value
    high = np.ascontiguousarray(loads[1 : bending + 1, : kept + 1].T) @ stirred
    both = np.empty((bending, 2 * kept + 2))
    for mode in range(bending):
        for column in range(kept):
            both[mode, column] = left[1 + mode, 1 + column]
        for column in range(kept + 2):
            both[mode, kept + column] = stirred[mode, column]
    return kept_squares, thrust, high, shapes @ both


@njit(cache=True, error_model="numpy")
def _nock_shape(squares: FloatArray, at_nock: FloatArray, out: FloatArray) -> None:
    """Fill ``out`` with the static answer of these modes to a load on the nock, scaled to unit mass."""
    total = 0.0
    for mode in range(squares.shape[0]):
        out[mode] = at_nock[mode] / squares[mode]
        total += out[mode] ** 2
    for mode in range(squares.shape[0]):
        out[mode] /= sqrt(total)


@njit(cache=True, error_model="numpy", fastmath={"reassoc", "contract"})
def _products(psi: FloatArray, row: int) -> tuple[float, float]:
    """Row ``row`` times itself and times the next; summed in any order, which lets several terms be added at once."""
    own, other = 0.0, 0.0
    for j in range(psi.shape[1]):
        own += psi[row, j] * psi[row, j]
        other += psi[row, j] * psi[row + 1, j]
    return own, other


@njit(cache=True, error_model="numpy")
def tabulate(
    functions: tuple[FloatArray, FloatArray],
    rigid: FloatArray,
    body: tuple[float, FloatArray],
    kept: tuple[FloatArray, FloatArray, float],
) -> FloatArray:
    """The table of :class:`spinewright.mechanics.held_rod.HeldRod`, (cells + 1, 2, 2k + 4).

    ``functions``: all functions' values and xi-slopes on the grid; ``rigid``: their lift and lean (2, n); ``body``:
    length; mass, balance, inertia; ``kept``: squares, coefficients of shapes and of what G stirs, bending energy. The
    dropped shapes' flexibility is the whole static one less the kept shapes'. What G stirs when the arrow turns is the
    thrust's push on the nock with the other sign (integrate by parts), so it is written with that same flexibility: a
    turned arrow under a turned thrust stays exactly straight.
    """
    length, mass, balance, inertia = body[0], body[1][0], body[1][1], body[1][2]
    nodes, static = functions[0].shape
    cells, bending, k = nodes - 1, kept[1].shape[0], kept[0].shape[0]
    psi = np.empty((2 * nodes, static))
    for node in range(nodes):
        arm = length * node / cells - balance
        for j in range(static):
            psi[2 * node, j] = functions[0][node, j] - rigid[0][j] - arm * rigid[1][j]
            psi[2 * node + 1, j] = functions[1][node, j] * (2.0 / cells) - rigid[1][j] * length / cells
    rows = np.ascontiguousarray(psi[:, :bending]) @ kept[1]
    to_nock = psi @ (psi[0].copy() / kept[2])
    table = np.empty((nodes, 2, 2 * k + 4))
    for node in range(nodes):
        value, slope = _products(psi, 2 * node)
        value, slope = value / kept[2], slope / kept[2]
        for i in range(k):
            value -= rows[2 * node, i] ** 2 / kept[0][i]
            slope -= rows[2 * node, i] * rows[2 * node + 1, i] / kept[0][i]
            to_nock[2 * node] -= rows[0, i] * rows[2 * node, i] / kept[0][i]
            to_nock[2 * node + 1] -= rows[0, i] * rows[2 * node + 1, i] / kept[0][i]
        for part in range(2):
            for column in range(2 * k + 2):  # written out: what checks a slice's shape takes seconds to compile
                table[node, part, column] = rows[2 * node + part, column]
            table[node, part, k] = -mass / sqrt(inertia) * to_nock[2 * node + part]
            table[node, part, 2 * k + 2] = to_nock[2 * node + part]
        table[node, 0, 2 * k + 3] = value
        table[node, 1, 2 * k + 3] = 2.0 * slope
    return table
