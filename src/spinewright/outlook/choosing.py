"""Chooses from many shafts the few that lie closest together, searched to the end and not step by step."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from spinewright.outlook.values import FloatArray

__all__ = ["Chosen", "closest"]

TOLERANCE = 1e-3  # share of the sum of squares within which a choice counts as the best
_MOST_WORK = 2_000_000  # boxes times places looked at in one round, about a tenth of a second
_STARTS = 40
_SAME = 1e-12  # share of the widest direction below which a direction is none


@dataclass(frozen=True, slots=True)
class Chosen:
    """``which`` were chosen, in order; ``cost`` their sum of squares, and no other choice has one below ``least``."""

    which: tuple[int, ...]
    cost: float
    least: float

    @property
    def gap(self) -> float:
        """[1] by which share of its root mean square another choice may be better at most."""
        return 1.0 - (max(self.least, 0.0) / self.cost) ** 0.5 if self.cost > 0.0 else 0.0

    @property
    def proven(self) -> bool:
        """Whether no other choice is better by more than :data:`TOLERANCE` of the sum."""
        return self.least >= self.cost * (1.0 - 2.0 * TOLERANCE)


def closest(places: FloatArray, own: FloatArray, count: int) -> Chosen:
    """The ``count`` of N whose squared distances to their own middle, plus ``own`` costs (N,), sum to least.

    ``places`` (N, d). The sum of a set S is the least, over points c, of sum_S |x - c|^2 + own; so the best S is found
    by searching c. Over a box of half-widths h about m that sum is |S| |c - m|^2, at least 0, plus the ``count``
    smallest of |x - m|^2 + own - 2 (x - m).(c - m), whose sum is concave in c and so least at a corner of the box:
    a bound with an error of order h^2. Boxes that cannot hold anything better are dropped, the others halved.
    """
    total = len(places)
    if not 1 <= count <= total:
        raise ValueError(f"{count} of {total} cannot be chosen")
    flat = _flattened(places)
    best, cost = _by_steps(flat, own, count)
    if count == total or flat.shape[1] == 0:
        return Chosen(best, cost, cost)
    low, high = flat.min(axis=0), flat.max(axis=0)
    middles, half = 0.5 * (low + high)[None, :], 0.5 * (high - low)
    rounding = 1e-12 * float((flat**2).sum())  # shafts read to the same digits lie on one another
    corners = np.array(list(product((-1.0, 1.0), repeat=flat.shape[1])))
    while True:
        bounds = _bounds(flat, own, count, middles, corners * half)
        for start in middles[np.argsort(bounds)[:20]]:
            found, sum_ = _step(flat, own, count, start)
            if sum_ < cost:
                best, cost = found, sum_
        open_ = bounds < cost * (1.0 - TOLERANCE) - rounding
        if not open_.any():
            return Chosen(best, cost, cost * (1.0 - TOLERANCE))
        if np.count_nonzero(open_) * len(corners) * total > _MOST_WORK:
            return Chosen(best, cost, float(max(bounds[open_].min(), 0.0)))
        half = half / 2.0
        middles = (middles[open_][:, None, :] + corners[None] * half).reshape(-1, flat.shape[1])


def _flattened(places: FloatArray) -> FloatArray:
    """``places`` about their middle, in as few directions as they fill."""
    about = places - places.mean(axis=0)
    _, sizes, axes = np.linalg.svd(about, full_matrices=False)
    kept = sizes > _SAME * max(float(sizes.max(initial=0.0)), 1e-300)
    return np.asarray(about @ axes[kept].T)


def _bounds(places: FloatArray, own: FloatArray, count: int, middles: FloatArray, corners: FloatArray) -> FloatArray:
    """(B,) below which no choice with its middle in that box can come."""
    lowest = np.full(len(middles), np.inf)
    for part in np.array_split(np.arange(len(middles)), max(1, len(middles) * len(places) // 200_000)):
        away = places[None] - middles[part][:, None]
        base = (away**2).sum(axis=2) + own
        for corner in corners:
            tilted = base - 2.0 * away @ corner
            least = np.partition(tilted, count - 1, axis=1)[:, :count].sum(axis=1)
            lowest[part] = np.minimum(lowest[part], least)
    return lowest


def _by_steps(places: FloatArray, own: FloatArray, count: int) -> tuple[tuple[int, ...], float]:
    """A good choice: from a place on to the nearest, their middle, the nearest to that, until nothing changes; the
    best of some starts, since the search goes on from it."""
    starts = places[:: max(1, len(places) // _STARTS)]
    return min((_step(places, own, count, start) for start in starts), key=lambda found: found[1])


def _step(places: FloatArray, own: FloatArray, count: int, start: FloatArray) -> tuple[tuple[int, ...], float]:
    middle, before = start, np.inf
    while True:
        costs = ((places - middle) ** 2).sum(axis=1) + own
        which: NDArray[np.intp] = np.sort(np.argsort(costs, kind="stable")[:count])
        middle = places[which].mean(axis=0)
        cost = float(((places[which] - middle) ** 2).sum() + own[which].sum())
        if cost >= before - 1e-12 * abs(before):
            return tuple(int(k) for k in which), cost
        before = cost
