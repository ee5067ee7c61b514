"""What a person reads off the target by hand: pooled gap, its doubt from the groups themselves, and the lean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spinewright.evidence import Impact, NockSeries, Visit

__all__ = ["Gap", "clean_angle", "own_scatter", "read_gap"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gap:
    """Bare centre less fletched centre [m], one sd of it, walks pooled, and the bare nocks' sideways lean [rad]."""

    y: float
    z: float
    doubt: float
    walks: int
    lean: float | None

    @property
    def size(self) -> float:
        """How far apart the centres are [m]."""
        return float(np.hypot(self.y, self.z))


def _holes(visits: Sequence[Visit], bare: bool) -> list[FloatArray]:
    return [np.array([(i.y, i.z) for i in v.impacts if i.bare is bare and i.counts]).reshape(-1, 2) for v in visits]


def own_scatter(visits: Sequence[Visit]) -> float:
    """One-axis sd [m] within the groups of these walks, called shots left out; bare ones count as 1.3 times as wide."""
    squares, freedom = 0.0, 0
    for bare, wider in ((False, 1.0), (True, 1.3)):
        for holes in _holes(visits, bare):
            if len(holes) > 1:
                squares += float(np.sum((holes - holes.mean(axis=0)) ** 2)) / wider**2
                freedom += 2 * (len(holes) - 1)
    return float(np.sqrt(squares / freedom)) if freedom else 0.0


def read_gap(visits: Sequence[Visit], scatter: float) -> Gap | None:
    """The gap over these walks of one setup; ``None`` without a good arrow of each kind."""
    bare, fletched = np.concatenate(_holes(visits, True)), np.concatenate(_holes(visits, False))
    if not (len(bare) and len(fletched)):
        return None
    apart = bare.mean(axis=0) - fletched.mean(axis=0)
    doubt = scatter * np.sqrt(1.69 / len(bare) + 1.0 / len(fletched))
    leans = [_lean(i) for v in visits if v.target.lean_counts for i in v.impacts if i.bare and i.lean_y is not None]
    return Gap(float(apart[0]), float(apart[1]), float(doubt), len(visits), float(np.mean(leans)) if leans else None)


def _lean(impact: Impact) -> float:
    return impact.lean_y or 0.0


def clean_angle(series: NockSeries) -> tuple[float, float]:
    """The angle [rad] whose tears, with their neighbours', are smallest, and how much smaller than at the start [m]."""
    tails = np.array([(r.y, r.z) for r in series.readings])
    smooth = (np.roll(tails, 1, axis=0) + tails + np.roll(tails, -1, axis=0)) / 3.0
    sizes = np.hypot(smooth[:, 0], smooth[:, 1])
    best = int(np.argmin(sizes))
    return series.readings[best].angle, float(sizes[0] - sizes[best])
