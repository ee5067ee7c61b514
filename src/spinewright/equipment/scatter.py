"""The archer's one-axis scatter as an angle, from a group's size or from a score."""

from __future__ import annotations

import math
from itertools import pairwise

from spinewright.equipment.faces import Face, expected_score, zone_shares
from spinewright.equipment.plausible import both, check_count, check_range, refuse
from spinewright.units import Kind

__all__ = ["doubt_of_group", "doubt_of_score", "expected_extent", "scatter_from_group", "scatter_from_score"]

# Extreme spread (the largest distance between any two) of n shots of a circular normal: mean in one-axis sds, and sd
# over mean. n = 2 is exact (sqrt(pi), sqrt(4/pi - 1)); the rest computed from seeded samples of 8,000 to 7 million
# groups, standard error of the mean 0.0003 (n = 3) to 0.006 (n = 200). Same quantity as Taylor & Grubbs 1975.
_EXTENT: tuple[tuple[int, float, float], ...] = (
    (2, math.sqrt(math.pi), math.sqrt(4.0 / math.pi - 1.0)),
    (3, 2.409, 0.3704),
    (4, 2.793, 0.3066),
    (5, 3.066, 0.2696),
    (6, 3.276, 0.2453),
    (7, 3.444, 0.2277),
    (8, 3.586, 0.2140),
    (9, 3.706, 0.2034),
    (10, 3.811, 0.1945),
    (12, 3.989, 0.1807),
    (15, 4.197, 0.1662),
    (20, 4.452, 0.1504),
    (30, 4.791, 0.1324),
    (50, 5.187, 0.1146),
    (100, 5.689, 0.0971),
    (200, 6.150, 0.0848),
)
_DAY_TO_DAY = 0.10  # sd of ln(scatter) between one day and another; from memory, no published source
_SMALLEST, _LARGEST = 1e-4, 10.0  # m at the target, between which the scatter behind a score is sought


def expected_extent(shots: int) -> tuple[float, float]:
    """Mean extreme spread of ``shots`` arrows in one-axis sds, and its sd over its mean; 2 to 200 shots."""
    check_count("number of shots in the group", shots, 2, 200)
    for (few, low, low_sd), (many, high, high_sd) in pairwise(_EXTENT):
        if few <= shots <= many:
            share = math.log(shots / few) / math.log(many / few)
            return low + share * (high - low), low_sd + share * (high_sd - low_sd)
    raise AssertionError  # the table covers what check_count lets through


def scatter_from_group(extent: float, shots: int, distance: float) -> float:
    """One-axis sd [rad] of an archer whose usual group of ``shots`` is ``extent`` [m] across at ``distance`` [m].

    ``extent`` is the distance between the two holes farthest apart, centre to centre.
    """
    check_range("size of the group", extent, 0.001, 2.0, Kind.LENGTH)
    check_range("distance of the group", distance, 2.0, 150.0, Kind.DISTANCE)
    return extent / expected_extent(shots)[0] / distance


def doubt_of_group(shots: int, groups: int = 1) -> float:
    """sd of ln(scatter) when it comes from ``groups`` groups of ``shots``: their chance, and one day from another."""
    check_count("number of groups", groups, 1, 10000)
    return math.hypot(expected_extent(shots)[1] / math.sqrt(groups), _DAY_TO_DAY)


def scatter_from_score(
    score: float, maximum: float, arrows: int, face: Face, distance: float, shaft_diameter: float = 0.0
) -> float:
    """One-axis sd [rad] of an archer who usually scores ``score`` of ``maximum`` with ``arrows`` at ``distance`` [m].

    The inverse of :func:`~spinewright.equipment.expected_score` for a circular normal about the middle; every miss of
    the middle by the sight counts as scatter. ``shaft_diameter`` [m] as there.
    """
    _check_round(score, maximum, arrows, face, distance)
    from scipy.optimize import brentq

    wanted = score / arrows

    def excess(log_scatter: float) -> float:
        return expected_score(face, math.exp(log_scatter), shaft_diameter=shaft_diameter) - wanted

    if excess(math.log(_SMALLEST)) < 0.0 or excess(math.log(_LARGEST)) > 0.0:
        refuse("score", f"a score of {score:g} does not tell a group size", "give the size of a usual group instead")
    return math.exp(float(brentq(excess, math.log(_SMALLEST), math.log(_LARGEST), xtol=1e-10))) / distance


def doubt_of_score(scatter: float, arrows: int, face: Face, distance: float, shaft_diameter: float = 0.0) -> float:
    """sd of ln(scatter) when ``scatter`` [rad] comes from one round of ``arrows``, and one day from another.

    The chance of the total is carried back through the slope of the expected score (first order).
    """
    here = scatter * distance
    shares = zone_shares(face, here, shaft_diameter=shaft_diameter)
    mean = sum(score * share for score, share in shares.items())
    variance = sum((score - mean) ** 2 * share for score, share in shares.items()) / arrows
    step = 0.01
    larger, smaller = (
        expected_score(face, here * math.exp(sign * step), (0.0, 0.0), shaft_diameter) for sign in (1, -1)
    )
    slope = (larger - smaller) / (2.0 * step)
    if abs(slope) < 1e-6:
        return 1.0
    return min(math.hypot(math.sqrt(variance) / abs(slope), _DAY_TO_DAY), 1.0)


def _check_round(score: float, maximum: float, arrows: int, face: Face, distance: float) -> None:
    check_count("number of arrows in the round", arrows, 1, 10000)
    check_range("distance of the round", distance, 2.0, 150.0, Kind.DISTANCE)
    if maximum != arrows * face.highest:
        refuse(
            "highest score of the round",
            f"{arrows} arrows on a {face.name} face make {arrows * face.highest}, not {maximum:g}",
            "correct the number of arrows, the face or the highest score",
        )
    if not 0.0 < score < maximum:
        hint = "a full score does not say how small the group is" if score == maximum else f"{score:g} cannot be scored"
        refuse("score", f"{hint} at {both(distance, Kind.DISTANCE)}", "give the size of a usual group instead")
