"""Compiled assembly of a rod's mass, bending and thrust matrices, and its reduction to a few modes.

Order of the rows throughout: 0 = translation, 1 = rotation about the centre of mass, then bending.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numba import njit

from spinewright.mechanics.legendre import bending_functions
from spinewright.mechanics.values import FloatArray

__all__ = ["CROOKED", "assemble", "reduce_to_modes"]

CROOKED = -2.0 * sqrt(2.0)  # first bending functions in the parabola 1 - xi^2; the rest of it is 2/3 of translation


@njit(cache=True)
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


@njit(cache=True)
def _functions_at(s: float, length: float, values: FloatArray, slopes: FloatArray) -> None:
    """Bending functions and their slopes d/ds at ``s``; beyond the shaft's ends they go on straight."""
    inside = min(max(s, 0.0), length)
    bending_functions(2.0 * inside / length - 1.0, values, slopes)
    for j in range(values.shape[0]):
        slopes[j] *= 2.0 / length
        values[j] += (s - inside) * slopes[j]


@njit(cache=True)
def _add_mass(
    points: FloatArray, masses: FloatArray, inertias: FloatArray, length: float, counts: tuple[int, int]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Total mass, centre, inertia; coupling of the bending functions to the rigid motions (2, static); bending mass."""
    bending, static = counts
    body = np.zeros(3)
    body[0] = masses.sum()
    body[1] = (masses * points).sum() / body[0]
    body[2] = (masses * (points - body[1]) ** 2 + inertias).sum()
    rigid, block = np.zeros((2, static)), np.zeros((bending, bending))
    values, slopes = np.empty(static), np.empty(static)
    for k in range(points.shape[0]):
        _functions_at(points[k], length, values, slopes)
        arm = masses[k] * (points[k] - body[1])
        for j in range(static):
            rigid[0, j] += masses[k] * values[j]
            rigid[1, j] += arm * values[j] + inertias[k] * slopes[j]
        for i in range(bending):
            for j in range(i + 1):
                block[i, j] += masses[k] * values[i] * values[j] + inertias[k] * slopes[i] * slopes[j]
    for i in range(bending):
        for j in range(i + 1):
            block[i, j] -= rigid[0, i] * rigid[0, j] / body[0] + rigid[1, i] * rigid[1, j] / body[2]
            block[j, i] = block[i, j]
    return body, rigid, block


@njit(cache=True)
def _thrust_matrix(
    length: float, start: float, density: float, lumps: FloatArray, rule: FloatArray, bending: int
) -> FloatArray:
    """G over (rotation of slope 1, bending functions): integral of the mass ahead of s times the slopes' products."""
    breaks = np.zeros(lumps.shape[1] + 3)
    breaks[1], breaks[2] = start, length
    for k in range(lumps.shape[1]):
        breaks[3 + k] = min(max(lumps[0, k], 0.0), length)
    breaks.sort()
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
    return matrix


@njit(cache=True)
def _add_outer(matrix: FloatArray, slopes: FloatArray, weight: float) -> None:
    for i in range(matrix.shape[0]):
        for j in range(matrix.shape[0]):
            matrix[i, j] += weight * slopes[i] * slopes[j]


@njit(cache=True)
def assemble(
    length: float, start: float, density: float, lumps: FloatArray, rule: FloatArray, counts: tuple[int, int]
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Body (mass, centre, inertia), coupling to the rigid motions, bending mass block, thrust matrix.

    ``lumps`` (3, n): positions, masses, own inertias. ``rule`` (2, n): Gauss nodes and weights. ``counts``: bending
    functions for the modes, and for static flexibility (not fewer).
    """
    points, masses, inertias = _mass_points(length, start, density, lumps, rule)
    body, rigid, block = _add_mass(points, masses, inertias, length, counts)
    return body, rigid, block, _thrust_matrix(length, start, density, lumps, rule, counts[0])


@njit(cache=True)
def reduce_to_modes(
    body: FloatArray, rigid: FloatArray, block: FloatArray, thrust: FloatArray, kappa: float
) -> tuple[FloatArray, FloatArray, FloatArray, float]:
    """All bending modes of the free arrow: squares of angular frequency, shapes, G over rotation, modes; critical a.

    ``kappa`` [N/m] is the bending energy of every bending function. Shapes (functions, modes) are mass-normalised
    coefficients of the bending functions, lowest mode first. G gets a last column for a shaft crooked by a unit
    parabola (its middle stands 1 off the line through its ends). At the critical acceleration the thrust takes
    the rod's stiffness away: det(K - a G) = 0 with the rotation condensed out.
    """
    bending = block.shape[0]
    inverse_squares, vectors = np.linalg.eigh(block / kappa)
    squares, shapes = np.empty(bending), np.empty((bending, bending))
    for mode in range(bending):
        value = max(inverse_squares[bending - 1 - mode], 1e-300)
        squares[mode] = 1.0 / value
        shapes[:, mode] = vectors[:, bending - 1 - mode] / sqrt(value * kappa)
    turn = np.zeros((bending + 1, bending + 2))  # columns: rotation, modes, first function, over (slope 1, functions)
    turn[0, 0] = 1.0 / sqrt(body[2])
    lean = rigid[1, :bending] / body[2]
    turn[0, 1 : bending + 1] = -lean @ shapes
    turn[1:, 1 : bending + 1] = shapes
    turn[1, bending + 1] = CROOKED
    g = turn.T @ (thrust @ turn)
    condensed = g[1 : bending + 1, 1 : bending + 1] - np.outer(g[1 : bending + 1, 0], g[0, 1 : bending + 1]) / g[0, 0]
    scale = 1.0 / np.sqrt(squares)
    softest = np.linalg.eigvalsh(condensed * np.outer(scale, scale))[bending - 1]
    return squares, shapes, g, 1.0 / max(softest, 1e-300)
