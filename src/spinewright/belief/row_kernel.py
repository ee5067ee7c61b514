"""The compiled rows of the linear problem and their evidence: one particle after another, nothing kept in between.

A row has few latents of its own plane, so its part of the information matrix is small; the planes share only the
physics and how much too weak the arrow is. ``design.linear_rows`` and ``update`` are the doors to this module.
"""

from __future__ import annotations

from math import exp, log, sqrt
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["PriorArrays", "RowArrays", "fill_bent", "fill_rows", "log_evidence"]

FloatArray = NDArray[np.float64]

# Columns of theta, as in response.Theta; compiled code takes no enumerations.
_LENGTH_Y, _HEIGHT_SHARE, _REST_Y, _POINT, _SCATTER, _SHAFTS = 0, 1, 2, 4, 7, 8
_TEAR, _LEAN, _TOUCH, _MISLED, _TORN = 9, 10, 11, 12, 13
_OWN = 9  # latents of a row beside physics and shafts: too weak, rest, touch, tear, lean, four of the turned nock
_UNTURNED = 5  # the same while no nock was turned
_SUMS = {"reassoc", "contract"}  # sums may be taken in any order, which lets them be vectors


class RowArrays(NamedTuple):
    """J rows, each with m numbers of the physics.

    plane    (J,)     0 sideways, 1 height
    weight   (J, m)   of the physics' coordinates
    number   (J, 12)  mean; ratio, its doubt by the tear's and by the lean's coordinate; changes of length, point,
                      weight, spine; shift of the rest; share of the whole row (1 unless rows were combined);
                      1 = a tear; 1 = a lean
    turned   (J, 4)   harmonics of the turned nock, in metres of gap
    shafts   (J, n)   how much of each shaft's own offset
    away     (J, 6)   length, point, weight, spine and shift of the rest, each against the setup of interest; how many
                      rows share the error of that line, which does not average out over them
    """

    plane: NDArray[np.int64]
    weight: FloatArray
    number: FloatArray
    turned: FloatArray
    shafts: FloatArray
    away: FloatArray


class PriorArrays(NamedTuple):
    """What the rows take from the prior.

    too_weak  mean and sd
    rest_sd   (2,)
    touch     threshold, sd below, sd above
    torn      the same, of what all tears are off by
    misled    threshold below which leans tell nothing, and sd of what they are all off by then [rad]
    bent      share of the arrow's and of the rest's answer that a straight line may miss, and least of the former [m]
    """

    too_weak: FloatArray
    rest_sd: FloatArray
    touch: FloatArray
    torn: FloatArray
    misled: FloatArray
    bent: FloatArray


class _Filled(NamedTuple):
    """J rows as one particle has them, with what was seen there."""

    row: FloatArray  # (J, latents of a plane or more), those of both planes first
    plane: NDArray[np.int64]
    residual: FloatArray  # (J,) seen minus expected
    variance: FloatArray  # (J,)


@njit(cache=True, nogil=True, error_model="numpy")
def _factors(theta: FloatArray, prior: PriorArrays, out: FloatArray) -> None:
    """What all rows of one particle share: factors of point, weight, spine; what contact does; the shafts' sd; what all
    tears and all leans are off by."""
    for i in range(3):
        out[i] = exp(theta[_POINT + i])
    out[3] = prior.touch[1] if theta[_TOUCH] < prior.touch[0] else prior.touch[2]
    out[4] = exp(theta[_SHAFTS])
    out[5] = prior.torn[1] if theta[_TORN] < prior.torn[0] else prior.torn[2]
    out[6] = prior.misled[1] if theta[_MISLED] < prior.misled[0] else 0.0


@njit(cache=True, nogil=True, error_model="numpy")
def _fill_row(
    rows: RowArrays, j: int, theta: FloatArray, prior: PriorArrays, factors: FloatArray, out: FloatArray
) -> float:
    """Row ``j`` over the physics and its plane's own latents, into ``out`` (m + 9 + n,); returns its offset."""
    n, plane, m = rows.number[j], rows.plane[j], rows.weight.shape[1]
    ratio, whole = n[1] + n[2] * theta[_TEAR] + n[3] * theta[_LEAN], n[9]
    slope = theta[_LENGTH_Y] * (theta[_HEIGHT_SHARE] if plane == 1 else 1.0)
    rest = theta[_REST_Y + plane]
    too_weak = n[4] + factors[0] * n[5] + factors[1] * n[6] + factors[2] * n[7] + prior.too_weak[0]
    for i in range(m):
        out[i] = whole * rows.weight[j, i]
    out[m] = -whole * ratio * slope * prior.too_weak[1]
    out[m + 1] = whole * ratio * rest * prior.rest_sd[plane]
    out[m + 2] = whole * ratio * factors[3]
    out[m + 3] = whole * n[10] * factors[5]
    out[m + 4] = whole * n[11] * factors[6]
    for i in range(rows.shafts.shape[1]):
        out[m + 5 + i] = whole * factors[4] * rows.shafts[j, i]
    first = m + 5 + rows.shafts.shape[1]
    for i in range(4):
        out[first + i] = ratio * rows.turned[j, i]
    return float(whole * (n[0] + ratio * (rest * n[8] - slope * too_weak)))


@njit(cache=True, nogil=True, error_model="numpy")
def _bent(rows: RowArrays, j: int, theta: FloatArray, prior: PriorArrays, factors: FloatArray) -> float:
    """Variance of row ``j`` for answers being straight lines only nearby: grows with what lies between its setup and
    the one of interest."""
    n, away, plane = rows.number[j], rows.away[j], rows.plane[j]
    ratio = n[1] + n[2] * theta[_TEAR] + n[3] * theta[_LEAN]
    slope = theta[_LENGTH_Y] * (theta[_HEIGHT_SHARE] if plane == 1 else 1.0)
    weaker = away[0] + factors[0] * away[1] + factors[1] * away[2] + factors[2] * away[3]
    arrow, rest = abs(slope * weaker), abs(theta[_REST_Y + plane] * away[4])
    least = prior.bent[2] if away[0] != 0.0 or away[1] != 0.0 or away[2] != 0.0 or away[3] != 0.0 else 0.0
    return float(away[5] * ratio**2 * ((prior.bent[0] * arrow + prior.bent[1] * rest) ** 2 + least**2))


@njit(cache=True, nogil=True, error_model="numpy")
def fill_bent(rows: RowArrays, theta: FloatArray, prior: PriorArrays, out: FloatArray) -> None:
    """Variances (K, J) of ``rows`` for particles ``theta`` (K, 14) that come from answers bending."""
    factors = np.empty(7)
    for k in range(theta.shape[0]):
        _factors(theta[k], prior, factors)
        for j in range(rows.plane.shape[0]):
            out[k, j] = _bent(rows, j, theta[k], prior, factors)


@njit(cache=True, nogil=True, error_model="numpy")
def fill_rows(rows: RowArrays, theta: FloatArray, prior: PriorArrays, offset: FloatArray, matrix: FloatArray) -> None:
    """Offsets (K, J) and matrices (K, J, m + 17 + 2 n), zero before, of particles ``theta`` (K, 14)."""
    m = rows.weight.shape[1]
    shafts = rows.shafts.shape[1]
    factors, row = np.empty(7), np.empty(m + _OWN + shafts)
    for k in range(theta.shape[0]):
        _factors(theta[k], prior, factors)
        for j in range(rows.plane.shape[0]):
            offset[k, j] = _fill_row(rows, j, theta[k], prior, factors, row)
            plane, out = rows.plane[j], matrix[k, j]
            for i in range(m + 1):
                out[i] = row[i]
            out[m + 1 + plane] = row[m + 1]
            out[m + 3 + plane] = row[m + 2]
            for i in range(4):
                out[m + 5 + 4 * plane + i] = row[m + 5 + shafts + i]
            out[m + 13 + plane] = row[m + 3]
            out[m + 15 + plane] = row[m + 4]
            for i in range(shafts):
                out[m + 17 + 2 * i + plane] = row[m + 5 + i]


@njit(cache=True, nogil=True, error_model="numpy", fastmath=_SUMS)
def _explained(matrix: FloatArray, side: FloatArray) -> tuple[float, float]:
    """log det of the symmetric ``matrix`` and side^T matrix^-1 side; both are overwritten (Cholesky)."""
    log_det, square = 0.0, 0.0
    for i in range(side.shape[0]):
        left = side[i]
        for j in range(i + 1):
            found = matrix[i, j]
            for before in range(j):
                found -= matrix[i, before] * matrix[j, before]
            if j < i:
                matrix[i, j] = found / matrix[j, j]
                left -= matrix[i, j] * side[j]
            else:
                matrix[i, i] = sqrt(found)
        side[i] = left / matrix[i, i]
        log_det += 2.0 * log(matrix[i, i])
        square += side[i] * side[i]
    return log_det, square


@njit(cache=True, nogil=True, error_model="numpy", fastmath=_SUMS)
def _by_rows(filled: _Filled, shared: int, size: int, matrix: FloatArray, side: FloatArray) -> None:
    """Fill ``matrix`` with the rows' own covariance, noise and all latents in it: ``shared`` ones of both planes,
    ``size`` of each. -2 log likelihood is its log det and the square of ``side`` over it."""
    row, plane, residual, variance = filled
    for i in range(side.shape[0]):
        side[i] = residual[i]
        for j in range(i + 1):
            along = variance[i] if i == j else 0.0
            for a in range(size if plane[i] == plane[j] else shared):
                along += row[i, a] * row[j, a]
            matrix[i, j] = along


@njit(cache=True, nogil=True, error_model="numpy")
def _join(gram: FloatArray, right: FloatArray, shared: int, whole: FloatArray, side: FloatArray) -> None:
    """The information of both planes (2, a, a) as one matrix: the ``shared`` latents, then each plane's own."""
    own = gram.shape[1] - shared
    for i in range(shared):
        side[i] = right[0, i] + right[1, i]
        for j in range(i + 1):
            whole[i, j] = gram[0, i, j] + gram[1, i, j]
        whole[i, i] += 1.0
    for plane in range(2):
        first = shared + plane * own
        for i in range(own):
            side[first + i] = right[plane, shared + i]
            for j in range(shared):
                whole[first + i, j] = gram[plane, shared + i, j]
            for j in range(first - shared):
                whole[first + i, shared + j] = 0.0
            for j in range(i + 1):
                whole[first + i, first + j] = gram[plane, shared + i, shared + j]
            whole[first + i, first + i] += 1.0


@njit(cache=True, nogil=True, error_model="numpy")
def _by_latents(filled: _Filled, shared: int, size: int, matrix: FloatArray, side: FloatArray) -> float:
    """Fill ``matrix`` with the information of the latents. -2 log likelihood is what is returned and its log det, less
    the square of ``side`` over it."""
    row, plane, residual, variance = filled
    gram, right, left = np.zeros((2, size, size)), np.zeros((2, size)), 0.0
    for j in range(residual.shape[0]):
        one, p, off, weight = row[j], plane[j], residual[j], 1.0 / variance[j]
        left += log(variance[j]) + weight * off * off
        for a in range(size):
            weighted = weight * one[a]
            right[p, a] += weighted * off
            for b in range(a + 1):
                gram[p, a, b] += weighted * one[b]
    _join(gram, right, shared, matrix, side)
    return float(left)


@njit(cache=True, nogil=True, error_model="numpy")
def log_evidence(
    rows: RowArrays, theta: FloatArray, prior: PriorArrays, seen: tuple[FloatArray, FloatArray], out: FloatArray
) -> None:
    """Log likelihood (K,), up to a constant, of particles ``theta`` (K, 14), every latent integrated out.

    ``seen``: values (J,) and noise (J, 4): fixed variance, factor of the archer's, what is added where leans mislead,
    factor of the shafts'. Rows and latents give the same number by matrices of their own size (the matrix determinant
    lemma and Woodbury's identity); the smaller one is taken.
    """
    value, noise = seen
    count, m, shafts = value.shape[0], rows.weight.shape[1], rows.shafts.shape[1]
    shared, size = m + 1, m + shafts + (_OWN if np.any(rows.turned != 0.0) else _UNTURNED)
    latents = 2 * size - shared
    few, least = count < latents, min(count, latents)
    matrix, side = np.empty((least, least)), np.empty(least)
    factors, room = np.empty(7), np.empty((count, m + shafts + _OWN))
    filled = _Filled(room, rows.plane, np.empty(count), np.empty(count))
    for k in range(theta.shape[0]):
        _factors(theta[k], prior, factors)
        archer = exp(2.0 * theta[k, _SCATTER])
        apart = factors[4] ** 2
        misled = 1.0 if theta[k, _MISLED] < prior.misled[0] else 0.0
        for j in range(count):
            filled.residual[j] = value[j] - _fill_row(rows, j, theta[k], prior, factors, room[j])
            spread = noise[j, 0] + archer * noise[j, 1] + misled * noise[j, 2] + apart * noise[j, 3]
            filled.variance[j] = spread + _bent(rows, j, theta[k], prior, factors)
        left = 0.0
        if few:
            _by_rows(filled, shared, size, matrix, side)
        else:
            left = _by_latents(filled, shared, size, matrix, side)
        log_det, square = _explained(matrix, side)
        out[k] = -0.5 * (left + log_det + (square if few else -square))
