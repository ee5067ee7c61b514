"""Several paper tears taken together: where the tail tears on the mean, whether it repeats, its size in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import atan2, hypot, sqrt

import numpy as np

from spinewright.errors import EvidenceError, Place
from spinewright.evidence import laws
from spinewright.evidence.noise import tear_is_weak, tear_noise
from spinewright.evidence.values import Tear

__all__ = ["TearGroup", "size_word", "tear_group", "tear_groups"]

LEVEL = 0.05
SAME_PLACE = 0.25  # [m] papers closer together than this count as one distance
SEVERAL = 3  # tears, below which nobody can say that a tear repeats (common practice)
SIZES = ((0.125, "clean"), (0.5, "small"), (1.0, "moderate"))  # up to so many inches; from memory


@dataclass(frozen=True, slots=True)
class TearGroup:
    """Tears of one kind of arrow at one distance [m]; tails from the point's hole, left and up positive [m].

    count, called_bad  tears counted, and left out because they were called bad
    y, z        mean tail
    sd          one-axis scatter of the tears, ``None`` for one tear
    doubt       one sd per axis of the mean, never less than reading the tears allows
    p_value     chance of a mean tail this long when there is none
    repeats     whether the tears repeat; ``None`` with fewer than three
    weak        fletched beyond 15 ft: the vanes have straightened the arrow
    """

    bare: bool
    distance: float
    shafts: tuple[int, ...]
    count: int
    called_bad: int
    y: float
    z: float
    sd: float | None
    doubt: float
    p_value: float
    repeats: bool | None
    weak: bool

    @property
    def size(self) -> float:
        """Length of the mean tail [m]."""
        return hypot(self.y, self.z)

    @property
    def direction(self) -> float:
        """Direction of the mean tail [rad], from left toward up."""
        return atan2(self.z, self.y)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What these tears cannot carry, in sentences."""
        said = []
        if self.repeats is None:
            said.append("Fewer than three tears: shoot at least three before believing the paper.")
        if self.repeats is False:
            said.append("The tears do not repeat: look at grip, release and contact before moving anything.")
        if self.weak:
            said.append("Fletched and beyond 15 ft the vanes have straightened the arrow, so this paper says little.")
        return tuple(said)


def size_word(size: float) -> str:
    """'clean', 'small', 'moderate' or 'large' for a tail of ``size`` [m]."""
    return next((word for most, word in SIZES if size < most * 0.0254), "large")


def tear_group(tears: Sequence[Tear]) -> TearGroup | None:
    """These tears, all bare or all fletched at one distance, as one; ``None`` when none counts.

    With s2 the pooled one-axis variance of n tears and r2 that of reading one: the mean has variance s2/n held against
    F of (2, 2n - 2) where s2 > r2, else r2/n held against the chi-square of 2 degrees of freedom.

    Raises:
        EvidenceError: when bare and fletched tears, or two distances, are mixed.
    """
    if len({t.bare for t in tears}) > 1 or (tears and np.ptp([t.distance for t in tears]) > 2 * SAME_PLACE):
        raise EvidenceError(
            "tears of different arrows or distances are taken as one group",
            "group bare and fletched tears, and each distance to the paper, on their own",
            Place(field="tears"),
        )
    good = [t for t in tears if t.counts]
    if not good:
        return None
    n = len(good)
    tails = np.array([(t.tail_y, t.tail_z) for t in good])
    mean = tails.mean(axis=0)
    variance = float(((tails - mean) ** 2).sum()) / (2 * (n - 1)) if n > 1 else None
    reading = tear_noise() ** 2
    used = max(reading, variance or 0.0) / n
    square = float(mean @ mean) / used
    noisy = variance is not None and variance > reading
    p_value = laws.f_tail(square / 2, 2, 2 * (n - 1)) if noisy else laws.chi2_tail(square, 2)
    return TearGroup(
        bare=good[0].bare,
        distance=float(np.mean([t.distance for t in good])),
        shafts=tuple(sorted({t.shaft for t in good})),
        count=n,
        called_bad=sum(t.called_bad for t in tears),
        y=float(mean[0]),
        z=float(mean[1]),
        sd=None if variance is None else sqrt(variance),
        doubt=sqrt(used),
        p_value=p_value,
        repeats=None if variance is None or n < SEVERAL else (p_value < LEVEL or _agree(variance, reading, n)),
        weak=any(tear_is_weak(t) for t in good),
    )


def tear_groups(tears: Iterable[Tear]) -> tuple[TearGroup, ...]:
    """The tears sorted into groups of one kind of arrow and one distance: fletched first, nearest first."""
    sorted_in: dict[tuple[bool, int], list[Tear]] = defaultdict(list)
    for tear in tears:
        sorted_in[tear.bare, round(tear.distance / SAME_PLACE)].append(tear)
    groups = (tear_group(sorted_in[key]) for key in sorted(sorted_in))
    return tuple(g for g in groups if g is not None)


def _agree(variance: float, reading: float, n: int) -> bool:
    """Whether the tears differ by no more than reading them allows (chi-square, 2n - 2)."""
    return laws.chi2_tail(2 * (n - 1) * variance / reading, 2 * (n - 1)) >= LEVEL
