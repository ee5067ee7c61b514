"""What tuned looks like further back on this bench, what the walks logged there show, and what would settle it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from spinewright.units import YARD

if TYPE_CHECKING:
    from spinewright.advice import Situation
    from spinewright.belief import Belief, Forecast
    from spinewright.outlook.further import Tuned

__all__ = ["NEAREST", "Found", "Walked", "Wish", "find", "settle"]

NEAREST = 22 * YARD  # m; what is nearer, 20 yd have told already
_BOWS = 200


@dataclass(frozen=True, slots=True)
class Wish:
    """Where [m], how near at 20 yd [m], and how many of each."""

    distances: tuple[float, ...]
    near: float
    each: int


@dataclass(frozen=True, slots=True)
class Walked:
    """A gap seen further back: where, what (y, z), one sd of each axis [m]; chance that a tuned bow shows as much."""

    distance: float
    seen: tuple[float, float]
    sd: float
    chance: float


@dataclass(frozen=True, slots=True)
class Found:
    """All that is shown, in SI and the right-handed frame.

    forecast  for the bow as it stands, None where nothing was seen yet;  scatter (low, middle, high) [rad]
    """

    tuned: tuple[Tuned, ...]
    forecast: tuple[Forecast, ...] | None
    walked: tuple[Walked, ...]
    scatter: tuple[float, float, float]


@lru_cache(maxsize=8)
def find(situation: Situation, wish: Wish) -> Found:
    """Everything that is shown. Raises SolveError where fewer than half of the plausible bows have an answer."""
    import numpy as np

    from spinewright.belief import BeliefSettings, believe, break_ground
    from spinewright.outlook.further import tuned_gaps

    history = situation.history
    ground = break_ground(history, (), (), BeliefSettings(bows=_BOWS), further=wish.distances)
    belief = believe(ground, history, situation.archer)
    low, middle, high = (float(q) for q in np.quantile(belief.scatter, (0.1, 0.5, 0.9)))
    walked = _walks(belief, situation, wish)
    forecast = None
    if any(one.output.setup == ground.index(history.now) for one in belief.sightings):
        from spinewright.belief import Forecast

        forecast = tuple(Forecast.of(belief.gap(history.now, d)) for d in wish.distances)
    tuned = tuned_gaps(ground.members, history.now, wish.distances, wish.near, situation.aim)
    return Found(tuple(tuned), forecast, walked, (low, middle, high))


def _walks(belief: Belief, situation: Situation, wish: Wish) -> tuple[Walked, ...]:
    """The gaps logged further back with the bow as it stands."""
    import numpy as np

    from spinewright.belief import What, noise_variance
    from spinewright.outlook.further import far_sd, held_against, tuned_gaps

    now = belief.ground.index(situation.now)
    seen = [
        one
        for one in belief.sightings
        if one.output.setup == now and one.output.what is What.GAP and one.output.distance >= NEAREST
    ]
    if not seen:
        return ()
    there = sorted({one.output.distance for one in seen})
    limits = tuned_gaps(belief.ground.members, situation.now, there, wish.near, situation.aim)
    found = []
    for one in seen:
        far = one.output.distance
        variance = float(np.median(noise_variance(one.noise, belief.particles.theta))) - far_sd(far) ** 2
        variance += float(np.median(belief.shaft_sd)) ** 2 * sum(share**2 for _, share in one.shafts)
        chance = held_against(limits[there.index(far)], one.value, variance)
        found.append(Walked(far, one.value, variance**0.5, chance))
    return tuple(found)


def settle(one: Tuned, scatter: float) -> int | None:
    """Bare and fletched arrows that show a gap as large as the smaller limit at one walk."""
    from spinewright.belief import BARE_SPREAD
    from spinewright.outlook.further import settling_shots

    sd = scatter * one.distance
    return settling_shots((BARE_SPREAD * sd, sd), one.distance, min(one.still))
