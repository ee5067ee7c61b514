"""Where to cut first, what each further cut should do, how many are left, and when another point does it as well."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

import numpy as np

from spinewright.advice import GOOD_GAP, Diagnosis, Situation, diagnose
from spinewright.advice.choosing import SHOWS
from spinewright.advice.gates import checks_clean, checks_done
from spinewright.advice.moves import CUT_STEPS, probes
from spinewright.advice.trimming import Lines
from spinewright.advice.weighing import too_short
from spinewright.belief import (
    Belief,
    BeliefSettings,
    Forecast,
    Recall,
    break_ground,
    check_last,
    count_checkable,
    length_slopes,
    too_weak,
)
from spinewright.belief.response import spine_coordinates
from spinewright.equipment import Head, LimitState, Setup, safety_limits
from spinewright.equipment.limits import REACH_MARGIN
from spinewright.errors import EquipmentError
from spinewright.outlook.fitting import NEAR_ENOUGH, fitting_lengths
from spinewright.outlook.grid import with_length
from spinewright.outlook.values import Range
from spinewright.units import INCH

__all__ = [
    "CutPlan",
    "CutWish",
    "Foreseen",
    "Missing",
    "PointInstead",
    "Verdict",
    "cut_lengths",
    "cut_plan",
    "steps_left",
]

TOLERANCE = 1e-6  # m
_MOST_CUTS = 8  # foreseen at once; by then the bow has answered several times
_EIGHTH = INCH / 8.0
_AS_LIKELY = 0.02  # a point that comes within this chance of a cut's is tried first: it can be put back
#: So many draws know a chance of 2 in 100, which decides here, to half of one in 100.
_SETTINGS = BeliefSettings(bows=200, particles=1000)


class Verdict(StrEnum):
    """What the plan comes to now."""

    OTHER = "other"  # even the shortest length leaves it too weak
    STIFF = "stiff"  # never cut
    FIRST = "first"  # cut the long shafts to their test length
    TUNED = "tuned"  # bare and fletched agree as it is, and a cut would part them
    NEAR = "near"  # less to take off than half a step
    END = "end"  # no step left
    RISK = "risk"  # a cut would too likely end too short, and no point does it
    POINT = "point"  # a point does it with less at stake
    CUT = "cut"


class Missing(StrEnum):
    """What has to come before a cut."""

    MARK = "mark"
    CHECKS = "checks"
    FAULT = "fault"
    SHOTS = "shots"
    PREDICTION = "prediction"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class CutWish:
    """What is asked for.

    expected [m]  shaft length a chart or experience expects to end at; None = not said, so what is believed stands in
    spare    [m]  how much longer the first test length is left
    step     [m]  the usual cut
    heads         other points of the same kind, mass and all
    """

    expected: float | None
    spare: float
    step: float
    heads: tuple[Head, ...] = ()


@dataclass(frozen=True, slots=True)
class Foreseen:
    """One setup: gap [m at 20 yd], chance that it is under an inch from the aim, and that it ends too short."""

    setup: Setup
    gap: Forecast
    within: float
    too_short: float


@dataclass(frozen=True, slots=True)
class PointInstead:
    """Another point at the present length; ``like`` [m] of length it answers (minus: like a cut); ``safe`` by mass."""

    foreseen: Foreseen
    like: Range
    safe: bool

    @property
    def lighter(self) -> bool:
        """Whether it works like a cut."""
        return self.like.middle < 0.0


@dataclass(frozen=True, slots=True)
class CutPlan:
    """All lengths are of the shaft, end to end [m].

    fits      where the arrow should fit
    test      first test length
    shortest  the mark made at full draw, or (not ``marked``) what is computed, which only warns
    now       the present length; ``cuts`` what each further cut leads to, in order; ``quarter`` a last small one
    answer    what one step of length adds sideways to the gap at 20 yd [m]
    learnt    whether shots with two different arrows have taught that answer
    room      whether a last small cut stays above the shortest length; shows [m] how far it moves the bare hole
    instead   the lighter point that is worth a try first, if any; budget [1] how likely a tune may end too short
    missing   what has to come before a cut, in order
    """

    verdict: Verdict
    fits: Range
    test: float
    shortest: float
    marked: bool
    now: Foreseen
    cuts: tuple[Foreseen, ...]
    quarter: Foreseen | None
    points: tuple[PointInstead, ...]
    answer: Range
    learnt: bool
    room: bool
    shows: float
    instead: PointInstead | None
    budget: float
    missing: tuple[Missing, ...]
    diagnosis: Diagnosis

    @property
    def length(self) -> float:
        """The present length."""
        return self.now.setup.build.carbon_length

    @property
    def risk(self) -> float:
        """How much likelier the next cut makes it that the arrow ends too short [1]; 0 without a cut."""
        return max(self.cuts[0].too_short - self.now.too_short, 0.0) if self.cuts else 0.0


def steps_left(length: float, shortest: float, step: float) -> int:
    """How many whole steps [m] fit between ``length`` and ``shortest`` [m]; 0 when it is that short already."""
    return max(int((length - shortest + TOLERANCE) // step), 0)


def cut_lengths(now: float, test: float, shortest: float, step: float) -> tuple[float, ...]:
    """Lengths [m] after each cut: first to the test length where the shaft is longer, then by ``step`` to the end.

    None is shorter than ``shortest``. A shaft less than half a step longer than its test length counts as cut to it.
    """
    at, found = now, []
    if now - test > 0.5 * step:
        at = max(test, shortest)
        if now - at > TOLERANCE:
            found.append(at)
    found += [at - step * k for k in range(1, steps_left(at, shortest, step) + 1)]
    return tuple(found[:_MOST_CUTS])


def cut_plan(situation: Situation, wish: CutWish, progress: Callable[[float], None]) -> CutPlan:
    """The plan for the bench as it stands. Raises SolveError when most plausible bows have no answer."""
    progress(0.05)
    found = _cut_plan(situation, wish)
    progress(1.0)
    return found


@lru_cache(maxsize=4)
def _cut_plan(situation: Situation, wish: CutWish) -> CutPlan:
    if wish.expected is not None:
        situation = replace(situation, history=replace(situation.history, expected_length=wish.expected))
    now, mark = situation.now, situation.safe_length
    shortest = now.rest_reach + REACH_MARGIN - now.build.carbon_start if mark is None else mark
    expected = situation.history.expected_length
    test = _believed(situation) if expected is None else expected
    test = max(round((test + wish.spare) / _EIGHTH) * _EIGHTH, shortest)
    lengths = cut_lengths(now.build.carbon_length, test, shortest, wish.step)
    end = lengths[-1] if lengths else now.build.carbon_length
    small = CUT_STEPS[-1] if steps_left(end, shortest, CUT_STEPS[-1]) and wish.step > CUT_STEPS[-1] else 0.0
    cut = [with_length(now, length) for length in (*lengths, *([end - small] if small else ()))]
    pointed = list(_pointed(now, wish.heads))
    near = [setup for setup, _ in probes(now)]
    ground = break_ground(situation.history, [*near, *cut, *pointed], (situation.distance,), _SETTINGS)
    recall = Recall(ground, situation.history, situation.archer)
    belief = recall.before(len(situation.history.seen))
    checked = check_last(recall)
    diagnosis = diagnose(belief, situation, checked)
    lines = Lines(belief, situation)
    seen = [_foreseen(lines, situation, setup) for setup in (now, *cut, *pointed)]
    slopes = length_slopes(belief.particles.theta)
    shows = float(np.median(np.hypot(*slopes.T))) * CUT_STEPS[-1]
    learnt = _learnt(situation)
    last = seen[len(lengths) + 1] if small and learnt and shows >= SHOWS else None
    plan = CutPlan(
        verdict=Verdict.CUT,
        fits=Range.of(fitting_lengths(belief, now, now, situation.aim[0])),
        test=test,
        shortest=shortest,
        marked=mark is not None,
        now=seen[0],
        cuts=tuple(seen[1 : len(lengths) + 1]),
        quarter=last,
        points=tuple(_instead(belief, now, one) for one in seen[len(cut) + 1 :]),
        answer=Range.of(slopes[:, 0] * wish.step),
        learnt=learnt,
        room=small > 0.0,
        shows=shows,
        instead=None,
        budget=situation.budget,
        missing=tuple(_missing(situation, diagnosis)),
        diagnosis=diagnosis,
    )
    plan = replace(plan, instead=_best_point(plan))
    return replace(plan, verdict=_verdict(plan, wish.step, situation.aim[0]))


def _believed(situation: Situation) -> float:
    """Where the arrow most likely fits [m], before anything is planned."""
    belief = Recall(
        break_ground(situation.history, (), (situation.distance,), _SETTINGS), situation.history, situation.archer
    ).before(len(situation.history.seen))
    return Range.of(fitting_lengths(belief, situation.now, situation.now, situation.aim[0])).middle


def _pointed(now: Setup, heads: tuple[Head, ...]) -> Iterator[Setup]:
    """The present arrow with each other point, lightest first."""
    for head in sorted(dict.fromkeys(heads), key=lambda one: one.mass):
        if abs(head.mass - now.build.head.mass) < 1e-5:
            continue
        try:
            yield replace(now, build=replace(now.build, head=head))
        except EquipmentError:
            continue


def _foreseen(lines: Lines, situation: Situation, setup: Setup) -> Foreseen:
    gap = lines.gap(setup)
    off = np.hypot(*(gap - np.array(situation.aim)).T)
    return Foreseen(
        setup, Forecast.of(gap), float(np.mean(off < GOOD_GAP)), float(np.mean(too_short(lines.belief, setup)))
    )


def _instead(belief: Belief, now: Setup, one: Foreseen) -> PointInstead:
    like = Range.of(too_weak(belief, one.setup) - too_weak(belief, now))
    kept = all(
        limit.state is not LimitState.BROKEN or limit.warning_only
        for bare in (False, True)
        for limit in safety_limits(one.setup, bare=bare)
    )
    return PointInstead(one, like, kept)


def _learnt(situation: Situation) -> bool:
    """Whether arrows that differ in length, point, weight or spine were seen."""
    start = situation.history.start
    return len({tuple(spine_coordinates(item.setup, start).round(6)) for item in situation.history.seen}) > 1


def _missing(situation: Situation, diagnosis: Diagnosis) -> Iterator[Missing]:
    if situation.safe_length is None:
        yield Missing.MARK
    if not checks_done(situation):
        yield Missing.CHECKS
    elif not checks_clean(situation):
        yield Missing.FAULT
    if diagnosis.reading is None:
        yield Missing.SHOTS
    if count_checkable(situation.history) < 1:
        yield Missing.PREDICTION
    elif diagnosis.checked is not None and not diagnosis.checked.came_true:
        yield Missing.FAILED


def _best_point(plan: CutPlan) -> PointInstead | None:
    """The lighter point that is safe, keeps to the budget, and is likeliest to bring bare and fletched together."""
    most = plan.now.too_short + plan.budget
    fit = [one for one in plan.points if one.safe and one.lighter and one.foreseen.too_short <= most]
    return max(fit, key=lambda one: one.foreseen.within, default=None)


#: So likely under an inch as it is, there is nothing to cut for: what the next move takes as sure enough to stop.
_TUNED = 0.8


def _verdict(plan: CutPlan, step: float, aim: float) -> Verdict:
    reading, left = plan.diagnosis.reading, plan.length - plan.fits.middle
    if plan.diagnosis.weak < 0.5 or (reading is not None and reading.gap[0] - aim > reading.sd):
        return Verdict.STIFF
    if plan.now.within >= _TUNED and plan.cuts and plan.cuts[0].within < plan.now.within:
        return Verdict.TUNED
    if plan.fits.high < plan.shortest - NEAR_ENOUGH:
        return Verdict.OTHER
    if plan.length - plan.test > 0.5 * step and plan.cuts:
        return Verdict.FIRST
    if left < 0.5 * step:
        return Verdict.NEAR
    if not plan.cuts:
        return Verdict.END
    if plan.risk > plan.budget:
        return Verdict.RISK if plan.instead is None else Verdict.POINT
    as_likely = plan.instead is not None and plan.instead.foreseen.within >= plan.cuts[0].within - _AS_LIKELY
    return Verdict.POINT if as_likely and left < step else Verdict.CUT
