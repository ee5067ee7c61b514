"""What each move is worth: expected minutes of work left, looking one move and one walk to the target ahead.

Worth is counted in minutes. Whoever stops with a gap g still has about ``MINUTES_PER_HALVING`` minutes of work for
every halving of it down to where arrows touch. The same is counted, at a lower rate, for the gap that is left when the
rest stands back at its recorded centre shot ('spine gap'), because a gap hidden by the rest comes back with heads and
between arrows. A move costs its minutes; after it one more walk is foreseen, and the best follow-up (a move or none)
under every result of that walk.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spinewright.advice.moves import Move, MoveKind, rest_back
from spinewright.advice.situation import Situation
from spinewright.belief import GAP_DISTANCE, Belief, Forecast, length_slopes, too_weak
from spinewright.equipment import Setup
from spinewright.units import INCH

__all__ = ["GOOD_GAP", "Weighed", "too_short", "weigh"]

FloatArray = NDArray[np.float64]

GOOD_GAP = 1.0 * INCH  # at 20 yd; under it the spine is probably right (common practice: 0.5 to 1 in)
TOUCHING = 0.8 * INCH
MINUTES_PER_HALVING = 40.0
SPINE_SHARE = 0.6
RESULTS = 24  # results of the foreseen walk that are thought through
CHECKING_SHOTS = 3  # bare and as many fletched after a change


@dataclass(frozen=True, slots=True)
class Weighed:
    """A move with what it is expected to do.

    gap          forecast of the true gap at 20 yd [m] after it
    within       probability that the gap then is under GOOD_GAP from the aim
    spine_within the same with the rest back at its recorded centre shot
    better       probability that the gap is smaller than now
    too_short    probability that the arrow then is too short (too stiff to mend without a new shaft)
    worth        expected minutes saved against stopping now; above zero = worth doing
    """

    move: Move
    gap: Forecast
    within: float
    spine_within: float
    better: float
    too_short: float
    worth: float


def too_short(belief: Belief, setup: Setup) -> NDArray[np.bool_]:
    """(S,) bool: draws in which ``setup`` reads stiff by more than GOOD_GAP for the arrow's sake alone."""
    excess = np.minimum(too_weak(belief, setup), 0.0)
    theta = belief.particles.theta
    part = np.hypot(*length_slopes(theta).T) * -excess
    return np.asarray(part > GOOD_GAP)


def work_left(gap: FloatArray, aim: tuple[float, float]) -> FloatArray:
    """Minutes of work (...,) that a gap (..., 2) [m at 20 yd] still asks for."""
    far = np.hypot(gap[..., 0] - aim[0], gap[..., 1] - aim[1])
    return np.asarray(0.5 * MINUTES_PER_HALVING * np.log2(1 + (far / TOUCHING) ** 2))


@dataclass(frozen=True, slots=True)
class _Draws:
    """Gap and spine gap (S, 2) of one setup."""

    gap: FloatArray
    spine: FloatArray

    def moved(self, after: _Draws, now: _Draws) -> _Draws:
        """These gaps with the change from ``now`` to ``after`` added: near enough for a follow-up."""
        return _Draws(self.gap + after.gap - now.gap, self.spine + after.spine - now.spine)

    def work(self, aim: tuple[float, float]) -> FloatArray:
        return work_left(self.gap, aim) + SPINE_SHARE * work_left(self.spine, aim)


def weigh(
    belief: Belief, situation: Situation, moves: Sequence[Move], later: Sequence[Move], rng: np.random.Generator
) -> tuple[Weighed, ...]:
    """Every move weighed, best first; follow-ups are those that may be made ``later``."""
    start, now = situation.history.start, situation.now
    here = _draws(belief, now, start)
    after = {move: here if move.after is None else _draws(belief, move.after, start) for move in moves}
    follow = [m for m in later if m.after is not None]
    stop = float(np.mean(here.work(situation.aim)))
    weighed = []
    for move in moves:
        cost = move.minutes + _after_walk(belief, situation, move, after, here, follow, rng)
        weighed.append(_judged(belief, situation, move, after[move], here, stop - cost))
    return tuple(sorted(weighed, key=lambda w: -w.worth))


def _draws(belief: Belief, setup: Setup, start: Setup) -> _Draws:
    return _Draws(belief.gap(setup), belief.gap(rest_back(setup, start)))


def _judged(belief: Belief, situation: Situation, move: Move, after: _Draws, here: _Draws, worth: float) -> Weighed:
    aim = np.array(situation.aim)

    def far(gap: FloatArray) -> FloatArray:
        return np.asarray(np.hypot(*(gap - aim).T))

    short = too_short(belief, move.after or situation.now)
    return Weighed(
        move,
        Forecast.of(after.gap),
        float(np.mean(far(after.gap) < GOOD_GAP)),
        float(np.mean(far(after.spine) < GOOD_GAP)),
        float(np.mean(far(after.gap) < far(here.gap))),
        float(np.mean(short)),
        worth,
    )


def _after_walk(
    belief: Belief,
    situation: Situation,
    move: Move,
    after: Mapping[Move, _Draws],
    here: _Draws,
    follow: Sequence[Move],
    rng: np.random.Generator,
) -> float:
    """Expected minutes after ``move``: over results of the next walk, the best follow-up's minutes and work left."""
    landed = after[move]
    aim = situation.aim
    if move.kind is MoveKind.STOP:
        return float(np.mean(landed.work(aim)))
    shots = int(move.amount) if move.kind is MoveKind.SHOOT else CHECKING_SHOTS
    sd = _walk_sd(belief, shots)
    results = rng.integers(0, len(sd), size=RESULTS)
    seen = landed.gap[results] + sd[results, None] * rng.standard_normal((RESULTS, 2))
    log_weight = -0.5 * np.sum((seen[:, None, :] - landed.gap) ** 2, axis=2) / sd**2 - 2 * np.log(sd)
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    options = [weight @ landed.work(aim)]
    options += [m.minutes + weight @ landed.moved(after[m], here).work(aim) for m in follow]
    return float(np.mean(np.min(np.stack(options), axis=0)))


def _walk_sd(belief: Belief, shots: int) -> FloatArray:
    """(S,) sd [m] per axis of a gap seen at 20 yd with ``shots`` bare and as many fletched, two shafts of each."""
    archer = (GAP_DISTANCE * belief.scatter) ** 2 * (1.69 + 1.0) / shots
    shafts = belief.shaft_sd**2 * 2 / min(shots, 2)
    return np.sqrt(archer + shafts + (0.15 * INCH) ** 2)
