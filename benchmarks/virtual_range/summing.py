"""What a campaign's records come to: shares and means with their intervals, players held against each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Number", "cover", "mean_of", "ratio_of", "share_of"]

FloatArray = NDArray[np.float64]
Record = dict[str, Any]
Score = dict[str, Any]

Z = 1.959964  # 95 %
_RESAMPLED = 2000


@dataclass(frozen=True, slots=True)
class Number:
    """A figure with its 95 % interval and how many worlds are behind it; NaN-free: ``count`` 0 says there is none."""

    value: float
    low: float
    high: float
    count: int

    def shown(self, digits: int = 2) -> str:
        """'0.72 (0.65 to 0.78)'."""
        if not self.count:
            return "none"
        high = f"{self.high:.{digits}f}" if np.isfinite(self.high) else "no limit"
        return f"{self.value:.{digits}f} ({self.low:.{digits}f} to {high})"

    def per_cent(self) -> str:
        """'72 % (65 to 78)'."""
        if not self.count:
            return "none"
        return f"{100 * self.value:.0f} % ({100 * self.low:.0f} to {100 * self.high:.0f})"


def share_of(flags: Sequence[bool]) -> Number:
    """A share with Wilson's interval (Wilson 1927, JASA 22:209)."""
    n = len(flags)
    if not n:
        return Number(0.0, 0.0, 0.0, 0)
    p = sum(flags) / n
    middle = (p + Z**2 / (2 * n)) / (1 + Z**2 / n)
    half = Z / (1 + Z**2 / n) * sqrt(p * (1 - p) / n + Z**2 / (4 * n**2))
    return Number(p, max(middle - half, 0.0), min(middle + half, 1.0), n)


def mean_of(values: Sequence[float]) -> Number:
    """A mean with its bootstrap interval over worlds."""
    return _resampled(np.array(values, dtype=float).reshape(-1, 1), lambda x: float(x[:, 0].mean()))


def ratio_of(first: Sequence[float], second: Sequence[float]) -> Number:
    """Mean of ``first`` over mean of ``second``, worlds resampled in pairs; no limit where the second is nothing."""
    pairs = np.array([first, second], dtype=float).T.reshape(-1, 2)

    def ratio(rows: FloatArray) -> float:
        above, below = rows.mean(axis=0)
        return float(above / below) if below > 0.0 else (np.inf if above > 0.0 else 1.0)

    return _resampled(pairs, ratio)


def _resampled(rows: FloatArray, figure: Callable[[FloatArray], float]) -> Number:
    n = len(rows)
    if not n:
        return Number(0.0, 0.0, 0.0, 0)
    rng = np.random.default_rng(5)
    drawn = [figure(rows[rng.integers(0, n, n)]) for _ in range(_RESAMPLED)]
    low, high = np.quantile(drawn, (0.025, 0.975), method="inverted_cdf")
    return Number(figure(rows), float(low), float(high), n)


def cover(scores: Sequence[Score], stage: int, which: str) -> Number:
    """Share of stated 80 % intervals (both planes) that held the truth, ``stage`` changes (2 = two or more) checked.

    The interval's doubt resamples worlds, because the intervals of one hunt are not independent.
    """
    per_world = []
    for score in scores:
        held = [row[1:] for row in score[which] if min(row[0], 2) == stage]
        flat = [bit for row in held for bit in row]
        if flat:
            per_world.append((float(sum(flat)), float(len(flat))))
    return ratio_of([a for a, _ in per_world], [b for _, b in per_world])
