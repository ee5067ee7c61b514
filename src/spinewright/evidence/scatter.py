"""The archer's own scatter pooled over many visits, what stays with each shaft, and the odd shaft out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment.arrow import HeadKind
from spinewright.evidence import laws
from spinewright.evidence.values import Visit

__all__ = ["OddShaft", "Scatter", "ShaftSpread", "archer_scatter", "odd_shaft", "shaft_spread"]

SHARE = 0.8
NO_SCATTER = 1e-8  # [rad] below this the holes were written down on one another


@dataclass(frozen=True, slots=True)
class Scatter:
    """One-axis scatter as an angle: ``sd`` with its 80 % interval ``low`` .. ``high`` [rad].

    ``degrees`` of freedom (both axes together) from ``shots`` arrows in ``groups`` groups.
    """

    sd: float
    low: float
    high: float
    degrees: int
    shots: int
    groups: int


@dataclass(frozen=True, slots=True)
class ShaftSpread:
    """Shot-to-shot against shaft-to-shaft, one-axis sds as angles [rad].

    shot_sd      what changes from shot to shot of the same shaft
    shaft_sd     what stays with the shaft; 0 when the shots explain all of it
    shaft_low, shaft_high   its 80 % interval
    p_value      chance of differences between shafts this large when there are none
    why_not      one sentence when the two cannot be told apart (then the numbers are ``None``), else empty
    """

    shot_sd: float | None = None
    shaft_sd: float | None = None
    shaft_low: float | None = None
    shaft_high: float | None = None
    p_value: float | None = None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class OddShaft:
    """The shaft furthest from its fellows: its offset from them ``y``, ``z`` [rad] and whether that is beyond chance.

    ``p_value`` is corrected for having looked at all ``compared`` shafts. ``shaft`` is ``None`` when the question
    cannot be asked; ``sentence`` says the finding or why not.
    """

    shaft: int | None
    y: float
    z: float
    p_value: float | None
    compared: int
    is_odd: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class _Shots:
    """All counted shots as angles, visits swept out: what every estimate here starts from.

    total   residual sum of squares about the visits' centres, both axes [rad2]
    pull    (shafts, 2) sums per shaft of those residuals [rad]
    weight  (shafts, shafts) Z' M Z: how the shafts' offsets share the shots once centres are fitted
    """

    shafts: tuple[int, ...]
    shots: int
    visits: int
    total: float
    pull: NDArray[np.float64]
    weight: NDArray[np.float64]


def archer_scatter(visits: Iterable[Visit], *, bare: bool = False, head: HeadKind = HeadKind.FIELD) -> Scatter | None:
    """The pooled one-axis scatter of these arrows, or ``None`` when no visit has two of them.

    Within-group sums of squares of hole / distance, both axes, over their degrees of freedom; the interval is the
    chi-square one. What stays with each shaft is in it: see :func:`shaft_spread`.
    """
    swept = _sweep(visits, bare, head)
    degrees = 2 * (swept.shots - swept.visits)
    if degrees <= 0 or swept.total / degrees < NO_SCATTER**2:
        return None
    edge = (1 - SHARE) / 2
    return Scatter(
        sd=sqrt(swept.total / degrees),
        low=sqrt(swept.total / laws.chi2_quantile(1 - edge, degrees)),
        high=sqrt(swept.total / laws.chi2_quantile(edge, degrees)),
        degrees=degrees,
        shots=swept.shots,
        groups=swept.visits,
    )


def shaft_spread(visits: Iterable[Visit], *, bare: bool = False, head: HeadKind = HeadKind.FIELD) -> ShaftSpread:
    """How much of the scatter stays with the shaft, from shafts that were shot more than once.

    Fixed visit centres, random shaft offsets; variance components by fitting constants (Henderson 1953, Biometrics
    9:226, method 3). The interval is the one of Williams 1962 (Biometrika 49:278), made for shafts shot equally often.
    """
    swept = _sweep(visits, bare, head)
    between, rank = _between(swept)
    degrees = swept.shots - swept.visits - rank
    if rank < 1:
        return ShaftSpread(why_not="Only one shaft was shot, so nothing says how shafts differ; shoot several.")
    if degrees < 1:
        return ShaftSpread(
            why_not="Each shaft was shot once, so its own offset looks like a bad shot; shoot each again."
        )
    shot_variance = max(swept.total - between, 0.0) / (2 * degrees)
    if shot_variance < NO_SCATTER**2:
        return ShaftSpread(why_not="The holes are written down on one another; measure each to the millimetre.")
    ratio = max(between / (2 * rank) / shot_variance, 1e-12)  # shafts exactly alike are told apart by nothing
    often = float(np.trace(swept.weight)) / rank
    low, high = (
        sqrt(
            between
            * max(1 - laws.f_quantile(q, 2 * rank, 2 * degrees) / ratio, 0.0)
            / laws.chi2_quantile(q, 2 * rank)
            / often
        )
        for q in ((1 + SHARE) / 2, (1 - SHARE) / 2)
    )
    shaft_sd = sqrt(max(ratio - 1, 0.0) / often * shot_variance)
    p_value = laws.f_tail(ratio, 2 * rank, 2 * degrees)
    return ShaftSpread(sqrt(shot_variance), shaft_sd, low, high, p_value)


def odd_shaft(visits: Iterable[Visit], *, bare: bool = False, level: float = 0.05) -> OddShaft:
    """Whether one numbered shaft lies apart from its fellows by more than the shots' scatter.

    Each shaft in turn is given an offset of its own; the others' scatter, without it, is what it is held against: F of
    (2, 2 nu). The smallest p-value is multiplied by the number of shafts looked at (Bonferroni).
    """
    swept = _sweep(visits, bare, HeadKind.FIELD)
    kind = "bare" if bare else "fletched"
    weights = np.diag(swept.weight)
    asked = [j for j, weight in enumerate(weights) if weight > 1e-9]
    degrees = swept.shots - swept.visits - 1
    if len(asked) < 3:
        return _not_asked(len(asked), f"Which of fewer than three {kind} shafts is the odd one cannot be told.")
    if degrees < 1:
        return _not_asked(len(asked), f"There are too few {kind} shots to tell an odd shaft; shoot each of them again.")
    gains = (swept.pull[asked] ** 2).sum(axis=1) / weights[asked]
    best = int(gains.argmax())
    rest = max(swept.total - float(gains[best]), 0.0) / (2 * degrees)
    if rest < NO_SCATTER**2:
        return _not_asked(
            len(asked), "The other holes are written down on one another; measure each to the millimetre."
        )
    p_value = min(1.0, len(asked) * laws.f_tail(float(gains[best]) / (2 * rest), 2, 2 * degrees))
    shaft = swept.shafts[asked[best]]
    y, z = swept.pull[asked[best]] / weights[asked[best]]
    odd = p_value < level
    sentence = (
        f"{kind.capitalize()} shaft {shaft} goes elsewhere than its fellows; leave it out and look at it."
        if odd
        else f"No {kind} shaft stands out from its fellows by more than the shots scatter."
    )
    return OddShaft(shaft, float(y), float(z), p_value, len(asked), odd, sentence)


def _not_asked(compared: int, sentence: str) -> OddShaft:
    return OddShaft(None, 0.0, 0.0, None, compared, False, sentence)


def _sweep(visits: Iterable[Visit], bare: bool, head: HeadKind) -> _Shots:
    """Sweep each visit's centre out of its shots, one pass, without a matrix of all shots."""
    total, shots, groups = 0.0, 0, 0
    pull: dict[int, NDArray[np.float64]] = defaultdict(lambda: np.zeros(2))
    counts: list[dict[int, int]] = []
    for visit in visits:
        arrows = [i for i in visit.impacts if i.bare == bare and i.head is head and i.counts]
        if not arrows:
            continue
        places = np.array([(i.y, i.z) for i in arrows]) / visit.distance
        about = places - places.mean(axis=0)
        total += float((about**2).sum())
        shots += len(arrows)
        groups += 1
        count: dict[int, int] = defaultdict(int)
        for arrow, off in zip(arrows, about, strict=True):
            pull[arrow.shaft] = pull[arrow.shaft] + off
            count[arrow.shaft] += 1
        counts.append(count)
    shafts = tuple(sorted(pull))
    table = np.array([[count.get(s, 0) for s in shafts] for count in counts], dtype=np.float64).reshape(
        groups, len(shafts)
    )
    weight = np.diag(table.sum(axis=0)) - table.T @ (table / np.maximum(table.sum(axis=1, keepdims=True), 1.0))
    pulls = np.array([pull[s] for s in shafts], dtype=np.float64).reshape(-1, 2)
    return _Shots(shafts, shots, groups, total, pulls, weight)


def _between(swept: _Shots) -> tuple[float, int]:
    """Sum of squares of shafts after visits [rad2], both axes, and its rank per axis."""
    if not swept.shafts:
        return 0.0, 0
    values, vectors = np.linalg.eigh(swept.weight)
    kept = values > 1e-9 * max(1.0, float(values[-1]))
    along = vectors[:, kept].T @ swept.pull
    return float((along**2 / values[kept, None]).sum()), int(kept.sum())
