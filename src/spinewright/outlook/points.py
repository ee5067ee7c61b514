"""Expected scores of rounds from an archer's scatter, and what a smaller group, a shifted middle or a build is worth.

Arrows are a circular normal about the group's middle (equipment/faces.py); a round is so many of them, independent, so
its total is the n-fold convolution of one arrow's score, exact. What is not known of the scatter is carried by draws.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from spinewright.belief import Members
from spinewright.equipment import Archer, Face, Setup, expected_score, face_named, zone_shares
from spinewright.evidence import Visit, archer_scatter
from spinewright.outlook.own_mistakes import Line, miss_draws
from spinewright.outlook.values import FloatArray, enough_solved

__all__ = [
    "ROUNDS",
    "Round",
    "build_scatters",
    "known_scatter",
    "most_likely_totals",
    "own_miss",
    "points_of",
    "round_named",
    "scatter_draws_of",
    "total_shares",
]

_DAY_TO_DAY = 0.10  # sd of ln(scatter) from one day to another; from memory, as in equipment/scatter.py
_MOST_OWN = 0.8  # share of the scatter's variance that mistakes the arrow carries can have: the rest is aim


@dataclass(frozen=True, slots=True)
class Round:
    """So many ``arrows`` at ``distance`` [m] on a ``face``."""

    name: str
    face: Face
    distance: float
    arrows: int

    @property
    def highest(self) -> int:
        """The highest score."""
        return self.arrows * self.face.highest


#: World Archery rule book, Book 2 (rounds and compound scoring: from memory). Indoors only the inner ten is a 10 for
#: compound archers.
ROUNDS: tuple[Round, ...] = (
    Round("18 m", face_named("40 cm triple, inner ten"), 18.0, 60),
    Round("25 m", face_named("60 cm triple, inner ten"), 25.0, 60),
    Round("50 m", face_named("80 cm six-ring"), 50.0, 72),
    Round("70 m", face_named("122 cm"), 70.0, 72),
)


def round_named(name: str) -> Round:
    """The round called so; KeyError otherwise."""
    return {one.name: one for one in ROUNDS}[name]


def known_scatter(archer: Archer, visits: Iterable[Visit]) -> tuple[float, float, int]:
    """One-axis scatter [rad], sd of its ln, and how many logged arrows are in it.

    What the archer said beforehand and the logged groups of fletched field points, weighed by what each is known to:
    an sd of ln s of 1/sqrt(2 nu) on nu degrees of freedom, and one day from another.
    """
    shot = archer_scatter(visits)
    if shot is None:
        return archer.scatter, archer.scatter_doubt, 0
    known = float(np.hypot(1.0 / np.sqrt(2.0 * shot.degrees), _DAY_TO_DAY))
    weights = np.array([archer.scatter_doubt, known]) ** -2.0
    middle = float(weights @ np.log([archer.scatter, shot.sd]) / weights.sum())
    return float(np.exp(middle)), float(weights.sum() ** -0.5), shot.shots


def scatter_draws_of(scatter: float, doubt: float, count: int, rng: np.random.Generator) -> FloatArray:
    """Equally likely scatters (count,) [rad]: the middles of equal shares of the lognormal, in random order."""
    from scipy.special import ndtri

    places = ndtri((np.arange(count) + 0.5) / count)
    return np.asarray(scatter * np.exp(doubt * rng.permutation(places)))


def points_of(round_: Round, scatter: FloatArray, shaft: float, off: float = 0.0) -> FloatArray:
    """Expected scores (N,) of a round for scatters (N,) [rad], the group's middle ``off`` [m] at the target."""
    return np.array(
        [
            round_.arrows * expected_score(round_.face, float(one) * round_.distance, (off, 0.0), shaft)
            for one in scatter
        ]
    )


def total_shares(round_: Round, scatter: float, shaft: float) -> FloatArray:
    """Chance (highest + 1,) of every total of one round for a ``scatter`` [rad]."""
    one = np.zeros(round_.face.highest + 1)
    for score, share in zone_shares(round_.face, scatter * round_.distance, shaft_diameter=shaft).items():
        one[score] += share
    total, square, left = np.ones(1), one, round_.arrows
    while left:
        if left % 2:
            total = np.convolve(total, square)
        left //= 2
        if left:
            square = np.convolve(square, square)
    return np.asarray(total)


def most_likely_totals(round_: Round, scatters: Sequence[float], shaft: float, share: float = 0.8) -> tuple[int, int]:
    """The totals between which the central ``share`` of single rounds lies, over equally likely ``scatters`` [rad]."""
    mixed = np.mean([total_shares(round_, one, shaft) for one in scatters], axis=0)
    reached = np.cumsum(mixed)
    low, high = (int(np.searchsorted(reached, edge)) for edge in ((1.0 - share) / 2.0, (1.0 + share) / 2.0))
    return low, min(high, round_.highest)


def own_miss(members: Members, setup: Setup, line: Line) -> FloatArray:
    """One-axis rms miss (N,) [rad] that the archer's stated mistakes make with ``setup`` on each plausible bow.

    A bow without an answer takes the median. Raises SolveError when fewer than half have one.
    """
    found = miss_draws(members, setup, line)
    enough_solved(found.solved, "the miss from the archer's own mistakes", found.reason)
    miss = found.combined / np.sqrt(2.0) / line.distance
    miss[~found.solved] = np.median(miss[found.solved])
    return np.asarray(miss)


def build_scatters(scatter: FloatArray, now: FloatArray, other: FloatArray) -> FloatArray:
    """Scatters (N,) [rad] with another build: what the arrow carries of the mistakes is exchanged, the aim stays.

    ``now``, ``other`` (N,) [rad] one-axis misses of both builds. s'^2 = s^2 - f^2 now^2 + f^2 other^2, with f <= 1
    such that the arrow's part of the present scatter is at most four fifths of its variance.
    """
    fits = np.minimum(1.0, np.sqrt(_MOST_OWN) * scatter / np.maximum(now, 1e-12))
    return np.asarray(np.sqrt(scatter**2 + fits**2 * (other**2 - now**2)))
