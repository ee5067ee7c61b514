"""What each move is worth: expected minutes of work left, looking one move and one walk to the target ahead.

Worth is counted in minutes. Whoever stops with a gap g still has about ``MINUTES_PER_HALVING`` minutes of work for
every halving of it down to where arrows touch. The same is counted, at a lower rate, for the gap that is left when the
rest stands back at its recorded centre shot ('spine gap'), because a gap hidden by the rest comes back with heads and
between arrows. A move costs its minutes; after it one more walk is foreseen, and the best follow-up (a move or none)
under every result of that walk.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, isfinite

import numpy as np
from numpy.typing import NDArray

from spinewright.advice.moves import STEP_SHOTS, STRAY, STRAY_HEIGHT, Move, MoveKind, in_clicks, shoot, strays
from spinewright.advice.situation import Situation
from spinewright.advice.trimming import Lines
from spinewright.belief import (
    BARE_SPREAD,
    FURTHER_SD,
    GAP_DISTANCE,
    VISIT_SD,
    Belief,
    Forecast,
    length_slopes,
    too_weak,
)
from spinewright.equipment import Setup
from spinewright.units import INCH

__all__ = ["GOOD_GAP", "Weighed", "judge", "too_short", "walk_of", "weigh", "work_left"]

FloatArray = NDArray[np.float64]

GOOD_GAP = 1.0 * INCH  # at 20 yd; under it the spine is probably right (common practice: 0.5 to 1 in)
TOUCHING = 0.8 * INCH  # at 20 yd, from memory
# From memory of what an afternoon is worth; 40 to 150 minutes were tried (docs/decisions/0004).
MINUTES_PER_HALVING = 160.0
SPINE_SHARE = 0.45
#: What an arrow costs beyond its minutes: it tires, and a tired archer's shots say less. In minutes, from memory.
TIRING = 2.0
RESULTS = 24  # results of the foreseen walk that are thought through
CHECKING_SHOTS = 3  # bare ones after a change
#: What a change adds to the doubt of where fletched arrows go, one sd [m at 20 yd]: as for a 32nd of an inch of rest.
CHANGED_AIM = 0.3 * INCH
LOOK_AHEAD = 1  # moves looked past the one weighed
#: With two: so many of the best moves are looked through that far, over so many results of either walk.
LOOKED_THROUGH, FEWER_RESULTS = 6, 10
#: Trims of the rest thought of as a follow-up, along each axis [m], and their minutes: sizes that are moves, too.
FOLLOWING = (-1.2e-3, -0.7e-3, -0.35e-3, -0.15e-3, 0.0, 0.15e-3, 0.35e-3, 0.7e-3, 1.2e-3)
TRIM_MINUTES = 10.0
TRIMS = frozenset({MoveKind.REST_SIDEWAYS, MoveKind.REST_HEIGHT, MoveKind.REST_BOTH, MoveKind.NOCK_POINT})


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


def judge(situation: Situation, lines: Lines, moves: Sequence[Move]) -> tuple[Weighed, ...]:
    """What every move is expected to do, not yet what it is worth."""
    here = lines.gap(situation.now)
    aim = np.array(situation.aim)

    def far(gap: FloatArray) -> FloatArray:
        return np.asarray(np.hypot(*(gap - aim).T))

    def judged(move: Move) -> Weighed:
        setup = move.after or situation.now
        gap, spine = lines.gap(setup), lines.spine(setup)
        return Weighed(
            move,
            Forecast.of(gap),
            float(np.mean(far(gap) < GOOD_GAP)),
            float(np.mean(far(spine) < GOOD_GAP)),
            float(np.mean(far(gap) < far(here))),
            float(np.mean(too_short(lines.belief, setup))),
            0.0,
        )

    return tuple(judged(move) for move in moves)


def weigh(
    situation: Situation,
    lines: Lines,
    judged: Sequence[Weighed],
    later: Sequence[Move],
    rng: np.random.Generator,
) -> tuple[Weighed, ...]:
    """Every move with its worth, best first; follow-ups are those that may be made ``later``."""
    ahead = _Ahead(situation, lines, [m for m in later if m.after is not None], rng)
    stop = ahead.stop(ahead.here)

    def worth(move: Move, looks: int) -> float:
        landed = ahead.here if move.after is None else ahead.landed(move)
        return stop - (_cost(move) + ahead.left_after(move, landed, looks=looks))

    weighed = sorted((replace(one, worth=worth(one.move, 1)) for one in judged), key=lambda w: -w.worth)
    if LOOK_AHEAD > 1:
        best = weighed[:LOOKED_THROUGH]
        weighed[:LOOKED_THROUGH] = [replace(w, worth=max(w.worth, worth(w.move, LOOK_AHEAD))) for w in best]
        weighed.sort(key=lambda w: -w.worth)
    return tuple(weighed)


def _cost(move: Move) -> float:
    """What a move costs in minutes, and in what its arrows cost beyond them."""
    shots = {MoveKind.SHOOT: move.amount + move.fletched, MoveKind.STEP_BACK: 2.0 * STEP_SHOTS}.get(move.kind, 0.0)
    return move.minutes + TIRING * shots


@dataclass(frozen=True, slots=True)
class _Draws:
    """Gap and spine gap (S, 2) of one setup."""

    gap: FloatArray
    spine: FloatArray


class _Ahead:
    """What may follow a move and one walk: stopping, or any change of ``follow`` and any trim of the rest."""

    def __init__(self, situation: Situation, lines: Lines, follow: Sequence[Move], rng: np.random.Generator) -> None:
        self._belief, self._aim, self._lines, self._now = lines.belief, situation.aim, lines, situation.now
        # Every move is dealt the same results, evenly over the draws: so chance does not decide between two moves.
        self._place = rng.random()
        self._chance = rng.standard_normal((RESULTS, 2))
        self.here = self.draws(situation.now)
        self._shafts = lines.belief.same_shafts()
        built = [m for m in follow if m.kind not in TRIMS]
        after = [self.draws(m.after) for m in built if m.after is not None]
        zero = np.zeros_like(self.here.gap)
        self._gap_shift = np.stack([zero, *(d.gap - self.here.gap for d in after)])
        self._spine_shift = np.stack([zero, *(d.spine - self.here.spine for d in after)])
        self._minutes = np.array([0.0, *(m.minutes for m in built)])
        now, start = situation.now, situation.history.start
        rest = now.bow.rest
        along = _following(rest.per_click_sideways, now.rest_y - start.rest_y, STRAY[situation.purpose])
        up = _following(rest.per_click_height, now.rest_z - start.rest_z, STRAY_HEIGHT)
        steps = [(y, z) for y in along for z in up]
        self._trim = np.stack([y * self._lines.rest_y + z * self._lines.rest_z for y, z in steps])
        self._trim_minutes = np.array([0.0 if y == z == 0.0 else TRIM_MINUTES for y, z in steps])

    def draws(self, setup: Setup) -> _Draws:
        """Gap and spine gap of a setup."""
        return _Draws(self._lines.gap(setup), self._lines.spine(setup))

    def landed(self, move: Move) -> _Draws:
        """Where a change leads; a trim as surely as one that may follow, or one put off looked better than made."""
        assert move.after is not None  # noqa: S101 - the caller asks for changes only
        draws = self.draws(move.after)
        return replace(draws, gap=self._lines.straight(move.after)) if move.kind in TRIMS else draws

    def stop(self, landed: _Draws) -> float:
        """Mean minutes of work left to whoever stops there."""
        return float(np.mean(self._work(landed)))

    def _work(self, landed: _Draws) -> FloatArray:
        return work_left(landed.gap, self._aim) + SPINE_SHARE * work_left(landed.spine, self._aim)

    def left_after(self, move: Move, landed: _Draws, *, looks: int) -> float:
        """Expected minutes after ``move``: over results of its walk, the best follow-up's minutes and work left.

        With two ``looks`` another walk and another follow-up are foreseen after that.
        """
        if move.kind is MoveKind.STOP or not LOOK_AHEAD:
            return self.stop(landed)
        weight = self._weights(landed, self._walk(move), np.full(len(self._shafts), 1.0), RESULTS)
        options, minutes = self._options(landed)
        left = weight @ options.T + minutes
        best = np.min(left, axis=1)
        if looks > 1:
            walk = self._walk(None)
            for k in range(FEWER_RESULTS):
                choice = int(np.argmin(left[k]))
                then = self._followed(landed, choice)
                again = self._weights(then, walk, weight[k], FEWER_RESULTS)
                further, cost = self._options(then)
                after = minutes[choice] + float(np.mean(np.min(again @ further.T + cost, axis=1)))
                best[k] = min(best[k], after) if minutes[choice] else best[k]
            best = best[:FEWER_RESULTS]
        return float(np.mean(best))

    def _walk(self, move: Move | None) -> tuple[FloatArray, float]:
        """(S,) one-axis sd [m] of the gap at 20 yd as the walk after ``move`` shows it, and how much of the shafts'."""
        if move is not None and move.kind is MoveKind.STEP_BACK:
            # The gap grows faster with the distance than what the archer and the shafts add.
            times, growth = move.amount / GAP_DISTANCE, max(self._belief.growth(self._now, move.amount), 1.0)
            near = _walk_sd(self._belief, STEP_SHOTS, STEP_SHOTS, float("inf"))
            return np.asarray(np.hypot(times * near, FURTHER_SD * (times - 1.0)) / growth), times / growth
        if move is not None and move.kind is MoveKind.SHOOT:
            return _walk_sd(self._belief, int(move.amount), move.fletched, self._belief.aim.sd), 1.0
        aim = hypot(self._belief.aim.sd, CHANGED_AIM)
        return _walk_sd(self._belief, CHECKING_SHOTS, _beside(self._belief, CHECKING_SHOTS, aim), aim), 1.0

    def _weights(self, landed: _Draws, walk: tuple[FloatArray, float], prior: FloatArray, results: int) -> FloatArray:
        """(R, S) weights of the draws, ``prior`` (S,) before, after each of so many results of a walk."""
        sd, share = walk
        shown = landed.gap + share * self._shafts  # the same shafts come back, so they are not averaged out
        reached = np.cumsum(prior) / prior.sum()
        true = np.minimum(np.searchsorted(reached, (self._place + np.arange(results)) / results), len(sd) - 1)
        seen = shown[true] + sd[true, None] * self._chance[:results]
        log_weight = -0.5 * np.sum((seen[:, None, :] - shown) ** 2, axis=2) / sd**2 - 2 * np.log(sd)
        weight = prior * np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
        return np.asarray(weight / weight.sum(axis=1, keepdims=True))

    def _options(self, landed: _Draws) -> tuple[FloatArray, FloatArray]:
        """(options, S) work left after every follow-up, and their minutes (options,); the first changes nothing."""
        gap = landed.gap + self._gap_shift[:, None] + self._trim  # (F, T, S, 2)
        spine = work_left(landed.spine + self._spine_shift, self._aim)
        left = work_left(gap, self._aim) + SPINE_SHARE * spine[:, None]
        minutes = self._minutes[:, None] + self._trim_minutes
        return left.reshape(-1, left.shape[-1]), minutes.reshape(-1)

    def _followed(self, landed: _Draws, choice: int) -> _Draws:
        """Where follow-up ``choice`` leads."""
        built, trim = divmod(choice, len(self._trim))
        gap = landed.gap + self._gap_shift[built] + self._trim[trim]
        return _Draws(gap, landed.spine + self._spine_shift[built])


def _following(per_click: float | None, stands: float, bound: float) -> list[float]:
    """Trims that may follow of a rest that ``stands`` so far off: in whole clicks, within ``bound`` or nearer."""
    steps = dict.fromkeys(in_clicks(step, per_click) if step else 0.0 for step in FOLLOWING)
    return [step for step in steps if not strays(stands, stands + step, bound)]


def walk_of(belief: Belief, bare: int) -> Move:
    """A walk of so many bare arrows, and as many fletched ones beside them as they are worth."""
    return shoot(bare, _beside(belief, bare, belief.aim.sd))


def _beside(belief: Belief, bare: int, aim: float) -> int:
    """Fletched arrows beside ``bare`` ones that leave least doubt of the gap for the arrows shot, never none.

    The variance of both centres, k s^2/B and 1/(F/s^2 + 1/aim^2), falls alike with one arrow more of either at
    F = B/sqrt(k) - s^2/aim^2. Where nothing is known of the aim yet, as many as bare: they serve later walks too.
    """
    if not isfinite(aim):
        return bare
    archer = (GAP_DISTANCE * float(np.median(belief.scatter))) ** 2
    return min(max(round(bare / BARE_SPREAD - archer / aim**2), 1), bare)


def _walk_sd(belief: Belief, bare: int, fletched: int, aim: float) -> FloatArray:
    """(S,) sd [m] per axis of a gap seen at 20 yd with so many arrows, shafts' offsets apart; ``aim`` [m] is how well
    it is known where fletched ones go, whatever they show."""
    archer = (GAP_DISTANCE * belief.scatter) ** 2
    return np.sqrt(archer * BARE_SPREAD**2 / bare + 1.0 / (fletched / archer + 1.0 / aim**2) + VISIT_SD**2)
