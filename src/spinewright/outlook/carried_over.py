"""What was learnt of one bow, carried over to the bow after a change: kept where it still holds, widened where not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from spinewright.belief import (
    BENT,
    GAP_DISTANCE,
    Belief,
    BeliefSettings,
    Forecast,
    Members,
    Output,
    ResponsePrior,
    Theta,
    What,
    believe,
    break_ground,
)
from spinewright.belief.design import linear_rows, rows_for
from spinewright.belief.eras import standing
from spinewright.belief.kept import KEPT_OF_ANSWERS, KEPT_OF_PLACES, UNCHECKED, blended, members_after
from spinewright.belief.response import LATENTS, WEIGHT_PER_LENGTH, Latent
from spinewright.equipment import Archer, DrawCurve, Setup, mass_model
from spinewright.evidence import Changed, History
from spinewright.flight import GRAVITY, decay_rate, flight_body
from spinewright.outlook.following import gap_of_physics
from spinewright.outlook.values import FloatArray, Range, enough_solved
from spinewright.units import YARD

__all__ = ["MARKS", "CarriedOver", "Changed", "carried_over", "drop"]

MARKS = (20 * YARD, 40 * YARD, 60 * YARD)  # [m] where the sight marks' change is stated, unless told otherwise
_SETTINGS = BeliefSettings(bows=200, particles=300)


@dataclass(frozen=True, slots=True)
class CarriedOver:
    """Before and after a change, over the same draws of all that is unknown.

    before, after, moved  gap bare less fletched [m at 20 yd]: as it is, as expected, and the change of it
    speed, faster [m/s]   speed of the fletched arrow after the change, and the change of it
    higher [m]            by how much the fletched hit rises from speed alone, at each of the ``marks`` [m] asked for
    wider  [1]            how many times as wide the central 80 % of the gap is after it (sideways, height)
    missed [m at 20 yd]   what a straight line may miss on the way to it, one sd (sideways, height)
    """

    before: Forecast
    after: Forecast
    moved: Forecast
    speed: Range
    faster: Range
    higher: tuple[Range, ...]
    wider: tuple[float, float]
    missed: tuple[float, float]


@lru_cache(maxsize=8)
def carried_over(
    history: History, archer: Archer, changed: Changed, after: Setup, archer_after: Archer,
    settings: BeliefSettings = _SETTINGS, marks: tuple[float, ...] = MARKS,
) -> CarriedOver:  # fmt: skip
    """The belief of ``history`` as a prior for the bench as it stands ``after`` the change.

    Each unknown of the plausible bows keeps as much of what was learnt as such work leaves, the rest is drawn anew from
    the prior; the gap follows through the model of the release and the learnt answers, as in any other prediction, and
    is widened for answers being straight lines only nearby. Raises SolveError when most bows have no answer.
    """
    belief = _believed(history, archer, settings)
    ground = belief.ground
    rng = np.random.default_rng([settings.seed, 8])
    xi = np.clip(belief.carried(ground.members.xi), -4.0, 4.0)
    old = ground.bows(xi)
    check = history.bow_check
    if check is not None:
        check = replace(check, **dict.fromkeys(UNCHECKED[changed]))
    new = members_after(
        blended(xi, (changed,), rng), standing(history, len(history.works)), check, (changed,), after.bow
    )
    physics, solved = gap_of_physics(old, history.now)
    physics_after, solved_after = gap_of_physics(new, after)
    solved = solved & solved_after
    enough_solved(solved, "what the change does", "most plausible bows gave no finite answer")
    answers, bent = _answers(belief, changed, (history.now, after), archer_after, rng)
    before = belief.gap(history.now)
    now = before + physics_after - physics + answers + bent * rng.standard_normal(before.shape)
    speeds = [_speed(old, history.now), _speed(new, after)]
    drops = [drop(speed, setup, marks) for speed, setup in zip(speeds, (history.now, after), strict=True)]
    return CarriedOver(
        before=Forecast.of(before[solved]),
        after=Forecast.of(now[solved]),
        moved=Forecast.of((now - before)[solved]),
        speed=Range.of(speeds[1][solved]),
        faster=Range.of((speeds[1] - speeds[0])[solved]),
        higher=tuple(Range.of(rise) for rise in (drops[0] - drops[1])[:, solved]),
        wider=_wider(before[solved], now[solved]),
        missed=(float(np.median(bent[solved, 0])), float(np.median(bent[solved, 1]))),
    )


@lru_cache(maxsize=2)
def _believed(history: History, archer: Archer, settings: BeliefSettings) -> Belief:
    """What is believed before the change: the same whatever changes."""
    return believe(break_ground(history, (), (), settings), history, archer)


def _wider(before: FloatArray, after: FloatArray) -> tuple[float, float]:
    widths = [np.diff(np.quantile(draws, (0.1, 0.9), axis=0), axis=0)[0] for draws in (before, after)]
    share = widths[1] / np.maximum(widths[0], 1e-9)
    return float(share[0]), float(share[1])


def _answers(
    belief: Belief, changed: Changed, setups: tuple[Setup, Setup], archer: Archer, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """(S, 2) what the learnt answers add to the gap after the change less before, and one sd of what a line misses."""
    theta, first = belief.particles.theta, belief.ground.kernel.weight.shape[0]
    latents = belief.particles.latents[:, first : first + LATENTS]
    fresh = ResponsePrior.of(archer, None, None).draw(len(theta), rng)
    kept = np.array([KEPT_OF_ANSWERS[changed].get(one, 1.0) for one in Theta])
    theta_after = np.where(rng.random(theta.shape) < kept, theta, fresh)
    held = np.array([KEPT_OF_PLACES[changed].get(one, 1.0) for one in Latent])
    moved = held * latents + np.sqrt(1.0 - held**2) * rng.standard_normal(latents.shape)
    now, after = setups
    here = _added(belief, now, theta, latents)
    straight = _added(belief, after, theta, latents, now) - here
    share, least = (BENT[1], 0.0) if changed is Changed.REST else (BENT[0], BENT[2] if after != now else 0.0)
    return _added(belief, after, theta_after, moved, now) - here, np.hypot(share * straight, least)


def _added(
    belief: Belief, setup: Setup, theta: FloatArray, latents: FloatArray, now: Setup | None = None
) -> FloatArray:
    """(S, 2) what the learnt answers add to the gap [m at 20 yd] of ``setup``, which need not be of the ground.

    Against ``now`` a longer stroke or a harder curve reads as more weight does, as much as stores that energy: a
    judgement, the arrow feels the push and not the number on the scale.
    """
    ground = belief.ground
    kernel, first = ground.kernel, ground.kernel.weight.shape[0]
    rows = rows_for(kernel, (setup,), ground.start, [(Output(0, What.GAP, GAP_DISTANCE), None)])
    if now is not None:
        stored = [DrawCurve.of(one.bow, one.present_peak_weight).stored_energy for one in (now, setup)]
        beyond = now.present_peak_weight * stored[1] / stored[0] - setup.present_peak_weight
        rows.spine[:, 2] += WEIGHT_PER_LENGTH * beyond
    offset, matrix = linear_rows(kernel, rows, theta, belief.prior)
    own = np.einsum("kji,ki->kj", matrix[:, :, first : first + LATENTS], latents)
    return np.asarray(offset - kernel.mean[rows.column[0]] + own)


def _speed(members: Members, setup: Setup) -> FloatArray:
    """(S,) [m/s] of the fletched arrow: (m + m_v) v^2 / 2 = share given back x stored energy."""
    share = members.stroke.force_factor * setup.present_peak_weight / setup.bow.peak_weight
    moving = setup.build.total_mass(bare=False) + members.stroke.virtual_mass
    return np.asarray(np.sqrt(2.0 * share * DrawCurve.of(setup.bow).stored_energy / moving))


def drop(speed: FloatArray, setup: Setup, distances: tuple[float, ...]) -> FloatArray:
    """(D, S) [m] by how much the fletched arrow of ``setup`` falls below its line of departure at each distance.

    Flat fire with drag that grows with the square of the speed v = v0 exp(-k x), so
    fall = g (exp(2 k x) - 1 - 2 k x) / (2 k v0)^2, which is g x^2 / (2 v0^2) without drag.
    """
    body = flight_body(setup.build, mass_model(setup.build, bare=False), bare=False)
    grown = 2.0 * decay_rate(body, float(np.median(speed))) * np.asarray(distances)[:, None]
    stretch = (np.expm1(grown) - grown) / grown**2
    return np.asarray(GRAVITY * (np.asarray(distances)[:, None] / speed) ** 2 * stretch)
