"""Smooth surfaces over a map's builds: what lies between them, for lines and bands that are not made of corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spinewright.outlook.values import FloatArray

__all__ = ["Fine", "fill_from_nearest", "fine_places", "finer", "through"]

_BETWEEN = 12  # a fine map cuts each step of the coarse one in so many


@dataclass(frozen=True, slots=True, eq=False)
class Fine:
    """``values`` (Y, X) over places ``x`` (X,) and ``y`` (Y,)."""

    x: FloatArray
    y: FloatArray
    values: FloatArray


def fine_places(places: FloatArray, between: int = _BETWEEN) -> FloatArray:
    """The rising ``places`` (n,) themselves and evenly spread ones that cut each step in ``between``."""
    every = np.linspace(0.0, len(places) - 1.0, between * (len(places) - 1) + 1)
    return np.interp(every, np.arange(len(places)), places)


def finer(
    x: FloatArray,
    y: FloatArray,
    values: FloatArray,
    known: NDArray[np.bool_] | None = None,
    between: int = _BETWEEN,
) -> Fine:
    """``values`` (len(y), len(x)) on a finer grid: a cubic spline through them (fewer places: a lower degree).

    Where ``known`` is False the nearest known value stands in, so that one build without an answer bends nothing far
    away. At the builds themselves the values are kept to rounding.
    """
    from scipy.interpolate import RectBivariateSpline

    filled = np.array(values, dtype=np.float64)
    if known is not None:
        fill_from_nearest(filled, known)
    across, up = fine_places(x, between), fine_places(y, between)
    spline = RectBivariateSpline(y, x, filled, kx=min(3, len(y) - 1), ky=min(3, len(x) - 1))
    return Fine(across, up, np.asarray(spline(up, across)))


def fill_from_nearest(values: NDArray[np.float64], known: NDArray[np.bool_]) -> None:
    """Write into ``values`` (P, L, ...), where ``known`` (P, L) is False, what the nearest known place has.

    Nearest by steps of the grid; nothing is written when nothing is known.
    """
    have = np.argwhere(known)
    if len(have) == 0:
        return
    for p, k in np.argwhere(~known):
        values[p, k] = values[tuple(have[np.abs(have - (p, k)).sum(axis=1).argmin()])]


def through(at: FloatArray, places: FloatArray) -> FloatArray:
    """(len(places), len(at)) weights of the polynomial through values at ``at`` (Lagrange), in ``places``."""
    weights = np.ones((len(places), len(at)))
    for i, here in enumerate(at):
        for other in np.delete(at, i):
            weights[:, i] *= (places - other) / (here - other)
    return weights
