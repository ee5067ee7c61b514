"""The bending functions of a rod: Legendre polynomials integrated twice, so that their bending energies are uncoupled.

On xi in [-1, 1] the function number n has the curvature ``sqrt((2n+1)/2) P_n(xi)``; together with the two rigid motions
the first ``count`` of them span exactly the polynomials of degree ``count + 1``.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numba import njit

from spinewright.mechanics.values import FloatArray

__all__ = ["MOST_FUNCTIONS", "bending_functions", "bending_table", "gauss_rule"]


MOST_FUNCTIONS = 512
# Factors of the recurrence: divisions and roots took half the time of a rod.
_NUMBERS = np.arange(MOST_FUNCTIONS)
_NORMS = np.sqrt((2 * _NUMBERS + 1) / 2.0)
_SLOPES = _NORMS / (2 * _NUMBERS + 1)
_UPPER = _SLOPES / (2 * _NUMBERS + 3)
_LOWER = np.concatenate([[0.0], _SLOPES[1:] / (2 * _NUMBERS[1:] - 1)])
_BONNET = np.stack([(2 * _NUMBERS + 3) / (_NUMBERS + 2), (_NUMBERS + 1) / (_NUMBERS + 2)])


@njit(cache=True, error_model="numpy")
def bending_functions(xi: float, values: FloatArray, slopes: FloatArray) -> None:
    """Fill ``values`` and ``slopes`` (d/dxi), both (count <= MOST_FUNCTIONS,), with the bending functions at ``xi``.

    Bonnet's recurrence and the integral of P_n, (P_{n+1} - P_{n-1}) / (2n+1): Abramowitz & Stegun, chapter 22. The
    rigid part of each function is arbitrary and dropped where that is shorter.
    """
    # a sliding window of P_{n-2} .. P_{n+2}
    back2, back1, now, next1 = 0.0, 0.0, 1.0, xi
    for n in range(values.shape[0]):
        next2 = _BONNET[0, n] * xi * next1 - _BONNET[1, n] * now
        if n == 0:
            slopes[n] = _NORMS[0] * next1
            values[n] = _NORMS[0] * next2 / 3.0
        else:
            slopes[n] = _SLOPES[n] * (next1 - back1)
            values[n] = _UPPER[n] * (next2 - now) - _LOWER[n] * (now - back2 if n > 1 else now)
        back2, back1, now, next1 = back1, now, next1, next2


@lru_cache(maxsize=32)
def gauss_rule(points: int) -> tuple[FloatArray, FloatArray]:
    """Nodes and weights of the Gauss-Legendre rule on [-1, 1], exact to degree 2 ``points`` - 1."""
    nodes, weights = np.polynomial.legendre.leggauss(points)
    return np.ascontiguousarray(nodes), np.ascontiguousarray(weights)


@lru_cache(maxsize=32)
def bending_table(count: int, cells: int) -> tuple[FloatArray, FloatArray]:
    """Values and xi-slopes of the first ``count`` functions on an even grid, each (cells + 1, count)."""
    values = np.empty((cells + 1, count))
    slopes = np.empty((cells + 1, count))
    for row, xi in enumerate(np.linspace(-1.0, 1.0, cells + 1)):
        bending_functions(float(xi), values[row], slopes[row])
    return values, slopes
