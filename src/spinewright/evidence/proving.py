"""A proof that can be seen: its mixed order and its size, a walk back from the target, a deliberate torque."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite, sqrt

import numpy as np

from spinewright.errors import EvidenceError, Place
from spinewright.evidence import laws
from spinewright.evidence.before_after import arrows_to_tell

__all__ = [
    "Shift",
    "Walk",
    "change_told",
    "ends_to_tell",
    "label_of_after",
    "mixed_order",
    "power",
    "torque",
    "walk_back",
]

LEVEL, POWER, SHARE = 0.05, 0.8, 0.8


@dataclass(frozen=True, slots=True)
class Walk:
    """Hits with one sight setting from further and further back, sideways.

    drift [1]   how far hits move to the left for each metre further back; low .. high its 80 % interval
    near, far [m]  between which distances
    p_value     chance of a drift so large when there is none;  p_bend the same for a line that bends (None with two)
    """

    drift: float
    low: float
    high: float
    near: float
    far: float
    p_value: float
    p_bend: float | None


@dataclass(frozen=True, slots=True)
class Shift:
    """How far one deliberate turn of the hand to the left moves the hit to the left [m], with its 80 % interval.

    Half of hits with the hand turned left less hits with it turned right. ``p_value``: chance of so much from none.
    """

    left: float
    low: float
    high: float
    p_value: float
    shots: tuple[int, int]


def mixed_order(ends: int, seed: int) -> tuple[bool, ...]:
    """Whether 'after' is shot in each of the first so many ends: of each two one is before and one after, by lot.

    The first ends of a longer order are those of a shorter one, so that more may be shot.
    """
    rng = np.random.default_rng([seed, 11])
    order: list[bool] = []
    while len(order) < ends:
        first = bool(rng.integers(2))
        order += [first, not first]
    return tuple(order[:ends])


def label_of_after(seed: int) -> str:
    """Which of the labels 'A' and 'B' the arrows of after carry, drawn from the same seed."""
    return "AB"[int(np.random.default_rng([seed, 12]).integers(2))]


def ends_to_tell(ratio: float, per_end: int) -> int:
    """How many ends of ``per_end`` arrows with EACH show a true scatter ratio at 5 %, two-sided, four times in five.

    Every end has its own centre, which costs one arrow an end: ``per_end`` - 1 of each count.
    Raises EvidenceError for a ratio that cannot be told, or ends of one arrow.
    """
    _several(per_end)
    return max(1, ceil((arrows_to_tell(ratio, LEVEL, POWER) - 1) / (per_end - 1)))


def power(ratio: float, ends: int, per_end: int) -> float:
    """Chance that so many ends with each show a true ``ratio`` (below 1) of scatter: the F test of two variances."""
    degrees = 2 * ends * (per_end - 1)
    return laws.f_cdf(laws.f_quantile(LEVEL / 2, degrees, degrees) / ratio**2, degrees, degrees)


def change_told(ends: int, per_end: int) -> float:
    """The smallest tightening (0.3 = three tenths) that so many ends with each show four times in five."""
    _several(per_end)
    from scipy.optimize import brentq

    degrees = 2 * ends * (per_end - 1)
    least = sqrt(laws.f_quantile(LEVEL / 2, degrees, degrees) / laws.f_quantile(POWER, degrees, degrees))
    return 1.0 - float(brentq(lambda r: power(r, ends, per_end) - POWER, 0.5 * least, 0.999999))


def walk_back(shots: Sequence[tuple[float, float]]) -> Walk:
    """The drift of ``shots`` (distance, hole left of the line [m]) by least squares, each weighted by its distance.

    Scatter grows with the distance, so hole / distance = a / distance + drift is fitted; a bend adds a term in the
    distance and is tested by F. Raises EvidenceError with fewer than two distances or three shots.
    """
    far = np.array([distance for distance, _ in shots])
    different = np.unique(far)
    if len(different) < 2 or len(far) < 3:
        raise EvidenceError(
            "a walk back needs three shots or more from two distances or more",
            "shoot two at 20 yd and two from every 10 yd further back",
            Place(field="walk-back"),
        )
    seen = np.array([y for _, y in shots]) / far
    rows = np.stack([1.0 / far, np.ones_like(far)], axis=1)
    fit, left = _fitted(rows, seen)
    degrees = len(far) - 2
    variance = max(left / degrees, 1e-12)
    sd = sqrt(variance * float(np.linalg.inv(rows.T @ rows)[1, 1]))
    half = sd * sqrt(laws.f_quantile(SHARE, 1, degrees))
    bend = None
    if len(different) > 2 and degrees > 1:
        _, less = _fitted(np.column_stack([rows, far]), seen)
        bend = laws.f_tail((left - less) / max(less / (degrees - 1), 1e-12), 1, degrees - 1)
    return Walk(
        drift=float(fit[1]),
        low=float(fit[1] - half),
        high=float(fit[1] + half),
        near=float(far.min()),
        far=float(far.max()),
        p_value=laws.f_tail((float(fit[1]) / sd) ** 2, 1, degrees),
        p_bend=bend,
    )


def torque(left: Sequence[float], right: Sequence[float]) -> Shift:
    """The shift of hits ``left`` and ``right`` [m, left positive] shot with the hand turned so, pooled two-sample t.

    Raises EvidenceError unless there is a shot with each and three in all.
    """
    counts = len(left), len(right)
    if min(counts) < 1 or sum(counts) < 3:
        raise EvidenceError(
            "a torque test needs a shot turned left, one turned right, and three in all",
            "shoot three with each",
            Place(field="torque"),
        )
    one, other = np.array(left), np.array(right)
    degrees = sum(counts) - 2
    squares = float(((one - one.mean()) ** 2).sum() + ((other - other.mean()) ** 2).sum())
    sd = sqrt(max(squares / degrees, 1e-12) * (1 / counts[0] + 1 / counts[1])) / 2
    middle = float(one.mean() - other.mean()) / 2
    half = sd * sqrt(laws.f_quantile(SHARE, 1, degrees))
    return Shift(middle, middle - half, middle + half, laws.f_tail((middle / sd) ** 2, 1, degrees), counts)


def _fitted(rows: np.ndarray, seen: np.ndarray) -> tuple[np.ndarray, float]:
    fit = np.linalg.lstsq(rows, seen, rcond=None)[0]
    return fit, float(((seen - rows @ fit) ** 2).sum())


def _several(per_end: int) -> None:
    if not (isfinite(per_end) and per_end >= 2):
        raise EvidenceError(
            "an end of one arrow shows no scatter", "shoot two arrows or more an end", Place(field="end")
        )
