"""A number that is not known exactly: its median over the plausible bows and the bounds of the central 80 %."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spinewright.errors import SolveError

__all__ = ["FloatArray", "Range", "enough_solved"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Range:
    """Median and bounds of the central 80 %, in the SI unit of what it describes."""

    middle: float
    low: float
    high: float

    @classmethod
    def of(cls, draws: FloatArray) -> Range:
        """Of equally likely, finite draws (N,), at least one."""
        low, middle, high = (float(q) for q in np.quantile(draws, (0.1, 0.5, 0.9)))
        return cls(middle, low, high)

    @property
    def doubt(self) -> float:
        """Half the width of the central 80 %."""
        return 0.5 * (self.high - self.low)


def enough_solved(solved: NDArray[np.bool_], quantity: str, reason: str) -> None:
    """Raise SolveError unless at least half of the plausible bows (N,) gave a finite answer."""
    if np.count_nonzero(solved) < 0.5 * len(solved):
        step = reason or f"{np.count_nonzero(~solved)} of {len(solved)} plausible bows gave no finite answer"
        raise SolveError(quantity, step, "check spine, arrow length and draw curve, or try a stiffer build")
