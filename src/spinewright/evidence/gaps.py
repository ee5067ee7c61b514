"""The gap of bare from fletched arrows: how large, how sure, by three ways of knowing the scatter, and shots needed."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import StrEnum
from math import atan2, ceil, isfinite, sqrt

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment.arrow import HeadKind
from spinewright.errors import EvidenceError, Place
from spinewright.evidence import laws
from spinewright.evidence.groups import Group, group, select
from spinewright.evidence.values import Impact, Visit

__all__ = [
    "Ellipse",
    "Gap",
    "GapTest",
    "Way",
    "gap",
    "head_gap",
    "more_shots",
    "offset",
    "shots_for_half_width",
    "shots_needed",
]

SHARE = 0.8  # the share that every ellipse and interval on the face holds
_Arrows = tuple[Impact, ...]
NO_SCATTER = 1e-6  # [m] below this the holes were written down on one another and scatter says nothing
WIDER = 0.05  # level at which the bare group is said to scatter more than the fletched one


class Way(StrEnum):
    """Where the scatter that the gap is held against comes from."""

    KNOWN = "the archer's known scatter"
    POOLED = "one round scatter from both groups"
    SHAPED = "the two groups' own width, height and slant"


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Semi-axes ``major`` >= ``minor`` [m]; ``direction`` [rad] of the major one from left toward up, (-pi/2, pi/2]."""

    major: float
    minor: float
    direction: float
    share: float = SHARE


@dataclass(frozen=True, slots=True)
class GapTest:
    """The gap held against one kind of scatter.

    covariance  [m2]  of the gap, ((yy, yz), (yz, zz)); ``None`` when this way is not possible
    p_value           chance of a gap this large when there is none
    ellipse           around the measured gap
    why_not           one sentence when this way is not possible, else empty
    """

    way: Way
    covariance: tuple[tuple[float, float], tuple[float, float]] | None = None
    p_value: float | None = None
    ellipse: Ellipse | None = None
    why_not: str = ""

    @property
    def possible(self) -> bool:
        """Whether this way gave an answer."""
        return self.p_value is not None


@dataclass(frozen=True, slots=True)
class Gap:
    """Bare centre minus fletched centre ``y``, ``z`` [m], at ``distance`` [m], and what it can be held against."""

    distance: float
    y: float
    z: float
    bare: Group
    fletched: Group
    known: GapTest
    pooled: GapTest
    shaped: GapTest
    cautions: tuple[str, ...] = ()

    @property
    def size(self) -> float:
        """Length of the gap [m]."""
        return float(np.hypot(self.y, self.z))

    @property
    def best(self) -> GapTest:
        """The way to rely on: the known scatter, else the pooled one, else the shaped one.

        The result may be impossible too; then its sentence says what is missing.
        """
        return next((test for test in (self.known, self.pooled, self.shaped) if test.possible), self.pooled)


def gap(visit: Visit, archer_sd: float | None = None, shaft_sd: float = 0.0) -> Gap | None:
    """Offset of the bare from the fletched arrows with field points, or ``None`` when one of the groups is missing.

    ``archer_sd`` [m] is the archer's one-axis scatter at this distance when it is known from other visits,
    ``shaft_sd`` [m] the part that stays with each shaft; several shots of one shaft do not average the latter away.
    """
    bare, fletched = select(visit.impacts, bare=True), select(visit.impacts, bare=False)
    return _gap(visit.distance, (bare, fletched), (archer_sd, shaft_sd), "bare shaft")


def head_gap(visit: Visit, head: HeadKind, archer_sd: float | None = None, shaft_sd: float = 0.0) -> Gap | None:
    """Offset of the fletched arrows with ``head`` from the fletched ones with field points; fields as in :func:`gap`.

    ``bare`` then holds the arrows with the head, ``fletched`` those with field points.
    """
    headed = select(visit.impacts, bare=False, head=head)
    return _gap(visit.distance, (headed, select(visit.impacts, bare=False)), (archer_sd, shaft_sd), f"{head.value}")


def offset(first: Group, second: Group, archer_sd: float | None = None) -> tuple[GapTest, GapTest, GapTest]:
    """Tests of ``first`` centre minus ``second`` centre: known, pooled and shaped scatter.

    Known: chi-square of 2 degrees of freedom. Pooled circular: F of (2, 2 nu), nu = n1 + n2 - 2. Shaped: Hotelling's
    two-sample T2 = d' S^-1 d / (1/n1 + 1/n2), F = T2 (nu - 1)/(2 nu) of (2, nu - 1) (Morrison 1990, Multivariate
    Statistical Methods, ch. 4).
    """
    apart = np.array([first.y - second.y, first.z - second.z])
    share = 1 / first.count + 1 / second.count
    known_variance = None if archer_sd is None else archer_sd**2 * share
    return _known(apart, known_variance), _pooled(apart, first, second), _shaped(apart, first, second)


def shots_needed(sd: float, offset: float, level: float = 0.05, power: float = 0.8) -> int:
    """How many bare AND how many fletched arrows show a true gap of ``offset`` [m] at ``level`` with chance ``power``.

    ``sd`` [m] is the known one-axis scatter. Non-centrality of the chi-square (2): ``offset^2 / (2 sd^2 / n)``.

    Raises:
        EvidenceError: when a number is not positive or a share is not between 0 and 1.
    """
    _positive(sd=sd, offset=offset)
    _shares(level=level, power=power)
    if power <= level:
        return 1
    wanted = laws.chi2_noncentrality(laws.chi2_quantile(1 - level, 2), 2, power)
    return max(1, ceil(2 * sd**2 * wanted / offset**2))


def shots_for_half_width(sd: float, half_width: float, share: float = SHARE) -> int:
    """How many bare AND fletched arrows give each axis of the gap to ``half_width`` [m] at interval ``share``.

    Raises:
        EvidenceError: when a number is not positive or a share is not between 0 and 1.
    """
    _positive(sd=sd, half_width=half_width)
    _shares(share=share)
    z = laws.normal_quantile(0.5 + share / 2)
    return max(1, ceil(2 * (sd * z / half_width) ** 2))


def more_shots(needed: int, bare: int, fletched: int) -> int:
    """How many more of EACH kind make ``bare`` + ``fletched`` arrows worth as much as ``needed`` + ``needed``.

    Smallest k >= 0 with ``1/(bare + k) + 1/(fletched + k) <= 2/needed``.
    """
    # Solved from the quadratic in k, then stepped: the formula can land a rounding error beside the whole number.
    mean, half = (bare + fletched) / 2, (bare - fletched) / 2
    k = max(0, ceil(needed / 2 + sqrt(needed**2 / 4 + half**2) - mean) - 1)
    while bare + k < 1 or fletched + k < 1 or 1 / (bare + k) + 1 / (fletched + k) > 2 / needed * (1 + 1e-12):
        k += 1
    return k


def _gap(
    distance: float, arrows: tuple[_Arrows, _Arrows], scatter: tuple[float | None, float], kind: str
) -> Gap | None:
    first = group(arrows[0])
    second = None if first is None else group(arrows[1])
    if first is None or second is None:
        return None
    archer_sd, shaft_sd = scatter
    apart = np.array([first.y - second.y, first.z - second.z])
    variance = None
    if archer_sd is not None:
        _positive(archer_sd=archer_sd)
        if not (isfinite(shaft_sd) and shaft_sd >= 0):
            raise EvidenceError(f"shaft_sd cannot be {shaft_sd:.6g}", "zero or more would do", Place(field="shaft_sd"))
        variance = archer_sd**2 * (1 / first.count + 1 / second.count)
        variance += shaft_sd**2 * (_repeats(arrows[0]) + _repeats(arrows[1]))
    return Gap(
        distance=distance,
        y=float(apart[0]),
        z=float(apart[1]),
        bare=first,
        fletched=second,
        known=_known(apart, variance),
        pooled=_pooled(apart, first, second),
        shaped=_shaped(apart, first, second),
        cautions=_cautions(first, second, kind),
    )


def _repeats(impacts: _Arrows) -> float:
    """Sum of squared shares of each shaft: what is left of a per-shaft variance in the centre."""
    shots = Counter(i.shaft for i in impacts if i.counts)
    return sum(n**2 for n in shots.values()) / sum(shots.values()) ** 2


def _known(apart: NDArray[np.float64], variance: float | None) -> GapTest:
    if variance is None:
        return GapTest(Way.KNOWN, why_not="The archer's own scatter is not known yet; log a few fletched groups.")
    p = laws.chi2_tail(float(apart @ apart) / variance, 2)
    return _answer(Way.KNOWN, variance * np.eye(2), p, laws.chi2_quantile(SHARE, 2))


def _pooled(apart: NDArray[np.float64], first: Group, second: Group) -> GapTest:
    degrees = 2 * (first.degrees + second.degrees)
    if degrees == 0:
        return GapTest(Way.POOLED, why_not="One shot of each says nothing about scatter; shoot at least one more.")
    squares = first.sum_yy + first.sum_zz + second.sum_yy + second.sum_zz
    if squares / degrees < NO_SCATTER**2:
        return GapTest(Way.POOLED, why_not="The holes are written down on one another; measure each to the millimetre.")
    variance = squares / degrees * (1 / first.count + 1 / second.count)
    p = laws.f_tail(float(apart @ apart) / (2 * variance), 2, degrees)
    return _answer(Way.POOLED, variance * np.eye(2), p, 2 * laws.f_quantile(SHARE, 2, degrees))


def _shaped(apart: NDArray[np.float64], first: Group, second: Group) -> GapTest:
    degrees = first.degrees + second.degrees
    if degrees < 2:
        return GapTest(
            Way.SHAPED,
            why_not="Width, height and slant of the groups need at least four arrows, of which you have fewer.",
        )
    yz = first.sum_yz + second.sum_yz
    squares = np.array([[first.sum_yy + second.sum_yy, yz], [yz, first.sum_zz + second.sum_zz]]) / degrees
    if np.linalg.eigvalsh(squares)[0] < max(NO_SCATTER**2, 1e-9 * float(np.trace(squares))):
        return GapTest(Way.SHAPED, why_not="The holes lie on one line, so the scatter across it cannot be told.")
    covariance = squares * (1 / first.count + 1 / second.count)
    t2 = float(apart @ np.linalg.solve(covariance, apart))
    to_t2 = 2 * degrees / (degrees - 1)
    p = laws.f_tail(t2 / to_t2, 2, degrees - 1)
    return _answer(Way.SHAPED, covariance, p, to_t2 * laws.f_quantile(SHARE, 2, degrees - 1))


def _answer(way: Way, covariance: NDArray[np.float64], p_value: float, reach: float) -> GapTest:
    """A possible test; ``reach`` is the squared distance in covariance units that the ellipse holds."""
    values, vectors = np.linalg.eigh(covariance)
    major = vectors[:, 1] if vectors[0, 1] > 0 or (vectors[0, 1] == 0 and vectors[1, 1] > 0) else -vectors[:, 1]
    round_one = values[1] - values[0] <= 1e-12 * values[1]
    direction = 0.0 if round_one else atan2(major[1], major[0])
    return GapTest(
        way,
        ((float(covariance[0, 0]), float(covariance[0, 1])), (float(covariance[1, 0]), float(covariance[1, 1]))),
        p_value,
        Ellipse(sqrt(reach * float(values[1])), sqrt(reach * float(values[0])), direction),
    )


def _cautions(first: Group, second: Group, kind: str) -> tuple[str, ...]:
    said = []
    if len(first.shafts) == 1:
        said.append(f"Only one {kind} was shot: a fault of that arrow looks the same as one of the bow; shoot two.")
    if first.count == 1:
        said.append(f"One shot with one {kind} may be a bad shot nobody felt; repeat it before changing anything.")
    if first.degrees and second.degrees:
        wide, narrow = first.sum_yy + first.sum_zz, second.sum_yy + second.sum_zz
        if narrow > 0:
            ratio = (wide / first.degrees) / (narrow / second.degrees)
            if laws.f_tail(ratio, 2 * first.degrees, 2 * second.degrees) < WIDER:
                said.append(
                    f"The {kind} holes scatter {sqrt(ratio):.1f} times as wide as the other ones: "
                    "the gap is less sure than it looks."
                )
    return tuple(said)


def _positive(**numbers: float) -> None:
    for name, value in numbers.items():
        if not (isfinite(value) and value > 0):
            raise EvidenceError(f"{name} cannot be {value:.6g}", "a number above zero would do", Place(field=name))


def _shares(**numbers: float) -> None:
    for name, value in numbers.items():
        if not 0 < value < 1:
            raise EvidenceError(f"{name} cannot be {value:.6g}", "a share between 0 and 1 would do", Place(field=name))
