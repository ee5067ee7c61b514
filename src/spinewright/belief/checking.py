"""Whether predictions came true: every change is held against the shots that followed it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from spinewright.belief.believe import Forecast, Recall, forecast, seen_together
from spinewright.belief.evidence_rows import Sighting, sightings_of
from spinewright.belief.physics import What
from spinewright.equipment import Setup
from spinewright.evidence import History

__all__ = ["Checked", "check_last", "count_checkable"]

_NOTHING = 1e-6  # m, rad or turns: what sums of the same moves may be apart


@dataclass(frozen=True, slots=True)
class Checked:
    """One prediction and what came: the gap [m] at ``distance``, before the change, as foretold, as seen.

    came_true    the seen gap lies in the central 80 % foretold, taken over both planes together
    probability  share of foretold gaps at least as far from the middle as the one seen
    """

    before: Setup
    after: Setup
    distance: float
    was: tuple[float, float]
    foretold: Forecast
    seen: tuple[float, float]
    probability: float
    events: tuple[str, ...]

    @property
    def came_true(self) -> bool:
        """Whether the shots came within what was foretold."""
        return self.probability >= 0.2


def _changes(sightings: Sequence[Sighting], setups: Sequence[Setup]) -> list[tuple[Sighting, Sighting]]:
    """Pairs of gap sightings next to each other with something moved in between."""
    gaps = [s for s in sightings if s.output.what is What.GAP]
    return [(a, b) for a, b in pairwise(gaps) if _moved(setups[a.output.setup], setups[b.output.setup])]


def _moved(before: Setup, after: Setup) -> bool:
    """Whether someone moved something of which a prediction was made.

    A bow weighed anew is better known, not changed; work on the bow itself, other shafts, tape, or nocks turned were
    not foretold: none of it tells whether the answers to arrow and rest are understood.
    """
    if before.build.shaft != after.build.shaft or before.bow.worked != after.bow.worked:
        return False
    if before.build.head.mass != after.build.head.mass:
        return True
    if abs(before.build.carbon_length - after.build.carbon_length) > _NOTHING:
        return True
    places = ("rest_y", "rest_z", "nock_z", "bolt_turns")
    return any(abs(getattr(after, place) - getattr(before, place)) > _NOTHING for place in places)


def count_checkable(history: History) -> int:
    """How many changes have been followed by shots, so that a prediction could be held against them."""
    setups = tuple(dict.fromkeys([history.start, *history.setups, history.now]))
    return len(_changes(sightings_of(history.seen, setups), setups))


def check_last(recall: Recall) -> Checked | None:
    """The last change's prediction against what was shot, or None while no change has been followed by shots.

    The prediction is made anew from everything seen before those shots, with the same seed and with the checks as they
    stand now; other moves that were thought of then can shift it a little.
    """
    ground, history = recall.ground, recall.history
    told, _ = seen_together(ground, history.seen, (history.now, history.sight), recall.archer)
    changes = _changes(told, ground.setups)
    if not changes:
        return None
    earlier, later = changes[-1]
    first = next(i for i, item in enumerate(history.seen) if item.event in later.events)
    before = recall.before(first)
    foretold, draws = forecast(before, later, np.random.default_rng([ground.settings.seed, 3]))
    return Checked(
        before=ground.setups[earlier.output.setup],
        after=ground.setups[later.output.setup],
        distance=later.output.distance,
        was=earlier.value,
        foretold=foretold,
        seen=later.value,
        probability=_as_far(draws, np.array(later.value)),
        events=later.events,
    )


def _as_far(draws: np.ndarray, seen: np.ndarray) -> float:
    """Share of draws (S, 2) at least as far (Mahalanobis) from their middle as ``seen`` (2,)."""
    middle = np.median(draws, axis=0)
    inverse = np.linalg.inv(np.cov(draws.T) + 1e-12 * np.eye(2))
    far = np.einsum("ki,ij,kj->k", draws - middle, inverse, draws - middle)
    return float(np.mean(far >= (seen - middle) @ inverse @ (seen - middle)))
