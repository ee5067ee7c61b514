"""What is most likely wrong, how sure that is, and what stands in the way of saying more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import tau

import numpy as np
from numpy.typing import NDArray

from spinewright.advice.situation import Situation
from spinewright.advice.weighing import GOOD_GAP
from spinewright.belief import (
    GAP_DISTANCE,
    Belief,
    CauseShare,
    Checked,
    Forecast,
    Sighting,
    What,
    by_chance,
    shaft_places,
    shaft_rows,
    too_weak,
    weigh_causes,
)
from spinewright.evidence import (
    BestAngle,
    NockSeries,
    OddShaft,
    TradeNoise,
    TradeReading,
    Visit,
    best_angle,
    fit_nock_series,
    odd_shaft,
    trade_reading,
)

__all__ = ["MOST_SHOTS", "Diagnosis", "Reading", "diagnose", "shots_to_know"]

#: A sitting's worth of careful arrows of each kind; beyond it tiredness blurs the answer (common practice).
MOST_SHOTS = 12
#: A gap seen so near that it has grown to less than this share of that at 20 yd says next to nothing of it.
_LEAST_GROWN = 0.02
#: Turns of a nock nearer to one another than this are the same [rad].
_SAME = 1e-6
FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reading:
    """The gap as shot with the present setup, all walks pooled: [m at 20 yd], its one-axis sd, how many walks.

    helped_by  walks with other setups whose fletched arrows help to say where this setup's go
    """

    gap: tuple[float, float]
    sd: float
    walks: int
    helped_by: int = 0

    @property
    def beyond_chance(self) -> float:
        """Probability that scatter alone gives a gap at least this large (2 df, known sd)."""
        return float(np.exp(-0.5 * (self.gap[0] ** 2 + self.gap[1] ** 2) / self.sd**2))


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What is believed of the present setup.

    reading      the gap as shot with it, None while it has not been shot
    gap          the true gap [m at 20 yd] as believed
    within       probability that it is under GOOD_GAP from the aim
    far          probability that it is over twice that
    weak         probability that the arrow is too weak for the bow (else too stiff), and
    weak_by      by how much, in metres of length (middle, low, high; negative = too stiff)
    causes       most likely main cause first
    checked      what came of the last prediction
    scatter      the archer's one-axis sd at 20 yd [m]: middle, low, high
    shots_needed of each kind to know the gap to an inch either way, at this scatter
    shows_archer the scatter is too large for the test
    trade        what the trade's sign table reads from it, None while it has not been shot
    odd          whether one numbered bare shaft lies apart from its fellows
    nock         the cleanest nock angle of the last series shot with this build, None without one
    conflict, collapsed  the evidence agrees with nothing the model holds possible / the sampling failed
    """

    reading: Reading | None
    gap: Forecast
    within: float
    far: float
    weak: float
    weak_by: tuple[float, float, float]
    causes: tuple[CauseShare, ...]
    checked: Checked | None
    scatter: tuple[float, float, float]
    shots_needed: int
    shows_archer: bool
    trade: TradeReading | None
    odd: OddShaft
    nock: BestAngle | None
    conflict: bool
    collapsed: bool


def diagnose(belief: Belief, situation: Situation, checked: Checked | None) -> Diagnosis:
    """The diagnosis of the present setup."""
    now = situation.now
    gap = belief.gap(now)
    reading = pooled_reading(belief, belief.ground.index(now))
    weak = too_weak(belief, now)
    low, middle, high = np.quantile(weak, (0.1, 0.5, 0.9))
    scatter = GAP_DISTANCE * np.quantile(belief.scatter, (0.5, 0.1, 0.9))
    needed = shots_to_know(float(scatter[0]), GOOD_GAP)
    off = np.hypot(*(gap - np.array(situation.aim)).T)
    measured = reading.gap if reading is not None else tuple(np.median(gap, axis=0).tolist())
    return Diagnosis(
        reading=reading,
        gap=Forecast.of(gap),
        within=float(np.mean(off < GOOD_GAP)),
        far=float(np.mean(off > 2 * GOOD_GAP)),
        weak=float(np.mean(weak > 0)),
        weak_by=(float(middle), float(low), float(high)),
        causes=weigh_causes(belief, now, measured),
        checked=checked,
        scatter=(float(scatter[0]), float(scatter[1]), float(scatter[2])),
        shots_needed=needed,
        shows_archer=needed > MOST_SHOTS,
        trade=_trade(belief, belief.ground.index(now), reading),
        odd=odd_shaft(_visits(situation), bare=True, level=0.01),
        nock=_cleanest(situation, np.random.default_rng([belief.ground.settings.seed, 5])),
        conflict=belief.health.conflicting,
        collapsed=belief.health.collapsed,
    )


def _visits(situation: Situation) -> list[Visit]:
    return [item.what for item in situation.history.seen if isinstance(item.what, Visit)]


def _cleanest(situation: Situation, rng: np.random.Generator) -> BestAngle | None:
    """The cleanest angle of the last series with this build, counted as the setup counts its nock angle.

    A series of a shaft whose nock was turned alone since is used up: it says nothing more of how to turn its fellows.
    """
    now, own = situation.now, dict(situation.history.own_turns)
    series = [
        (item.what, item.setup.nock_angle)
        for item in situation.history.seen
        if isinstance(item.what, NockSeries)
        and item.setup.build == now.build
        and abs(own.get(item.what.shaft, 0.0) - item.what.turned) < _SAME
    ]
    if not series:
        return None
    last, stood = series[-1]
    best = best_angle(fit_nock_series(last), rng, now.nock_angle - stood)
    if best is None:
        return None
    rival = None if best.rival is None else (best.rival + stood) % tau
    return replace(best, angle=(best.angle + stood) % tau, rival=rival)


def _trade(belief: Belief, setup: int, reading: Reading | None) -> TradeReading | None:
    """The sign table's reading of gap, bare tear and lean with the present setup."""
    if reading is None:
        return None
    here = [s for s in belief.sightings if s.output.setup == setup and s.angle is None]
    tails = [s.value[0] for s in here if s.output.what is What.BARE_TEAR]
    leans = [s.value[0] for s in here if s.output.what is What.LEAN]
    noise = 1.28 * reading.sd
    return trade_reading(
        *reading.gap,
        TradeNoise(noise, noise),
        tail_y=float(np.mean(tails)) if tails else None,
        lean_y=float(np.mean(leans)) if leans else None,
    )


def shots_to_know(sd: float, half_width: float) -> int:
    """Shots of each kind so that the gap's central 80 % is ``half_width`` [m] either way: one-axis ``sd`` [m]."""
    return max(2, int(np.ceil(1.2816**2 * sd**2 * (1.69 + 1.0) / half_width**2)))


def pooled_reading(belief: Belief, setup: int) -> Reading | None:
    """All walks with one setup, each carried to 20 yd, weighted by what it is worth; the shafts come back each time."""
    found = [s for s in belief.sightings if s.output.what is What.GAP and s.output.setup == setup]
    if not found:
        return None
    at_20 = [_at_20_yd(s, belief) for s in found]
    value, variance = np.array([v for v, _ in at_20]), np.array([v for _, v in at_20])
    weight = (1 / variance) / np.sum(1 / variance)
    gap = weight @ value
    far = np.array([s.output.distance for s in found]) / GAP_DISTANCE
    place = shaft_places(found)
    shared = (weight / far) @ shaft_rows(found, place)[::2]
    lone = (weight / far) ** 2 @ np.array([by_chance(s, place) for s in found])
    common = float(np.median(belief.shaft_sd)) ** 2 * float(shared @ shared + lone)
    common += _aim_variance(found, weight / far)
    runs = {s.run for s in found if s.run}
    helped_by = sum(s.run in runs and s.output.setup != setup for s in belief.sightings)
    sd = float(np.sqrt(1 / np.sum(1 / variance) + common))
    return Reading((float(gap[0]), float(gap[1])), sd, len(found), helped_by)


def _aim_variance(found: Sequence[Sighting], weight: FloatArray) -> float:
    """What is not known of where fletched arrows go, which all walks of a run share [m2]."""
    runs: dict[str, float] = {}
    for sighting, share in zip(found, weight, strict=True):
        runs[sighting.run] = runs.get(sighting.run, 0.0) + share * sighting.aim
    return sum(part**2 for part in runs.values())


def _at_20_yd(sighting: Sighting, belief: Belief) -> tuple[FloatArray, float]:
    """A gap (2,) as it would be at 20 yd, and the variance [m2] of each axis.

    It grows faster than the distance, and in height it does not start from nothing (a bare shaft has less drag), so it
    is carried along the line that the plausible bows draw, as the belief itself does.
    """
    kernel, noise = belief.ground.kernel, sighting.noise
    here = kernel.outputs.index(sighting.output)
    there = kernel.outputs.index(replace(sighting.output, distance=GAP_DISTANCE))
    grown = np.maximum(kernel.ratio[here], _LEAST_GROWN)
    value = kernel.mean[there] + (np.array(sighting.value) - kernel.mean[here]) / grown
    total = noise.fixed + noise.archer * float(np.median(belief.scatter)) ** 2
    return np.asarray(value), float(total * np.mean(1 / grown**2))
