"""Says what a cut takes and what cannot be undone, keeps who agreed to it, and prints a sheet to sign."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from spinewright.equipment import LimitState, Setup, safety_limits
from spinewright.errors import EquipmentError, InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import INCH, Kind, counted, parse, show
from spinewright.workflow.around import consent_sheet as sheet
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.answers import Answers, day_in
from spinewright.workflow.showing import Voice
from spinewright.workflow.situations import situation_of

if TYPE_CHECKING:
    from spinewright.outlook.after_cut import AfterCut

__all__ = ["account"]

_SAME = INCH / 128.0  # m: lengths that a saw cannot tell apart
_MOST = 288
_EXAMPLE = "write for example 'the owner of the bow, 2026-05-03, 28 3/4 in, 6 shafts'"
_SHAFTS = re.compile(r"(\d{1,3})(?:\s+shafts?)?")


@dataclass(frozen=True, slots=True)
class _Agreed:
    """Who agreed, when, to which shaft length [m], for how many shafts; None = not said."""

    who: str
    day: date
    length: float
    shafts: int | None


def account(state: BenchState, answers: Answers, progress: Callable[[float], None]) -> Account:
    """What is planned, what stands in its way, and whether consent stands. Raises InputError."""
    voice = Voice(state.scope.hand, state.scope.system)
    agreed = [_read(line) for line in answers.lines("agreed")]
    length, shafts = _plan(answers, agreed)
    title = answers.task.title
    if length is None:
        answer = "No cut is planned here: answer the shaft length after the cut. Nothing is cut without consent."
        return Account("consent", title, answer, cautions=_CAUTIONS, rests_on=_RESTS)
    now = state.now.build.carbon_length
    if length >= now - _SAME:
        return _done(state, agreed, length, title, asked=answers.has("cut-to"))
    cut = _cut(state.now, length)
    barred = _barred(state, cut, voice)
    expected = _expected(state, cut, answers, progress) if not barred else None
    plan = sheet.Plan(state, cut, shafts, expected)
    if expected is not None and expected.seen and expected.stiff > 0.5:
        barred.append(
            f"What was shot reads stiff in {round(100 * expected.stiff)} of 100 plausible bows, and a cut makes an "
            "arrow stiffer still: a stiff arrow is never cut."
        )
    cautions = (*_warned(cut, voice), *_CAUTIONS)
    plots = (sheet.signs(voice), *(() if expected is None else (sheet.effect(plan, voice),)))
    said = _sentences(plan, agreed, voice) if not barred else barred[1:]
    return Account(
        "consent",
        title,
        barred[0] if barred else _answer(plan, agreed, voice),
        tuple(said),
        (sheet.table(plan, voice), *_agreements(agreed, plan, voice)),
        plots,
        cautions,
        _RESTS if expected is None else (*_RESTS, sheet.EXPECTED_RESTS),
        () if barred else (sheet.paper(plan, voice, plots, cautions),),
    )


_CAUTIONS = (
    "A shaft cannot be lengthened. Too short, it comes off the rest at full draw and can go through the hand.",
    "The mark of the shortest safe length is made at full draw by a helper, facing a backstop; never look along your "
    "own drawn bow.",
    "At the saw wear a dust mask and eye protection; carbon dust is harmful. Afterwards flex and look at every shaft, "
    "and seat the nock fully.",
    "The bow maker's and the shaft maker's limits stand above what anybody agrees to.",
)
_RESTS = (
    "Lengths and the mark are the ones that were logged, as good as they were measured.",
    "Whether a cut is the right step is not asked here: the next move says that, and never proposes one before both "
    "checks were made, a prediction came true and the mark was made.",
    "Who agreed is what you wrote down; the signed sheet is the proof. Consent is to one length and one number of "
    "shafts, and holds for no other.",
)


def _plan(answers: Answers, agreed: list[_Agreed]) -> tuple[float | None, int | None]:
    """The planned length [m] and number of shafts; what was agreed last stands in for what is not answered."""
    last = agreed[-1] if agreed else None
    length, shafts = answers.maybe("cut-to"), answers.maybe("shafts")
    if shafts is not None and not 1 <= shafts <= _MOST:
        raise InputError("that is no number of shafts", f"between 1 and {_MOST}", Place(field="shafts"))
    if length is None:
        length = None if last is None else last.length
    if shafts is None:
        return length, None if last is None else last.shafts
    return length, int(shafts)


def _read(line: str) -> _Agreed:
    place = Place(field="agreed")
    pieces = [piece.strip() for piece in line.split(",")]
    if not 3 <= len(pieces) <= 4 or not pieces[0]:
        raise InputError(f"'{line}' does not say who agreed, when and to which length", _EXAMPLE, place)
    day = day_in(pieces[1], "agreed")
    try:
        length = parse(pieces[2], Kind.LENGTH)
    except InputError as error:
        raise error.at(field="agreed") from None
    count = _SHAFTS.fullmatch(pieces[3]) if len(pieces) == 4 else None
    if len(pieces) == 4 and (count is None or not 1 <= int(count[1]) <= _MOST):
        raise InputError(f"'{pieces[3]}' is no number of shafts", _EXAMPLE, place)
    return _Agreed(pieces[0], day, length, None if count is None else int(count[1]))


def _cut(now: Setup, length: float) -> Setup:
    from spinewright.outlook import with_length

    try:
        return with_length(now, length)
    except EquipmentError as error:
        raise InputError(error.what, error.right, Place(field="cut-to")) from None


def _done(state: BenchState, agreed: list[_Agreed], length: float, title: str, *, asked: bool) -> Account:
    """Nothing is left to cut: it was done as agreed, or shorter, or the answer is no cut at all."""
    now, system = state.now.build.carbon_length, state.scope.system
    here, there = show(now, Kind.LENGTH, system), show(length, Kind.LENGTH, system)
    was_cut = any(move.kind == "cut" for move in state.moves)
    if not was_cut or (asked and length > now + _SAME):
        raise InputError(
            f"the shafts are {here} long, so nothing can be cut to {there}",
            "write a shaft length, end to end, that is shorter",
            Place(field="cut-to" if asked else "agreed"),
        )
    known = next((one for one in reversed(agreed) if abs(one.length - length) <= _SAME), None)
    if abs(now - length) > _SAME:
        answer = f"The shafts are {here} now, shorter than the {there} that was agreed to."
    elif known is None:
        answer = f"The shafts are at {there} already, and no consent to that was written down."
    else:
        answer = f"The cut to {there} that {known.who} agreed to on {known.day.isoformat()} is made."
    return Account(
        "consent", title, f"{answer} Any further cut needs a new consent.", cautions=_CAUTIONS, rests_on=_RESTS
    )


def _barred(state: BenchState, cut: Setup, voice: Voice) -> list[str]:
    """Why no consent is asked for, the gravest first; [] when it may be."""
    said, system = [], voice.system
    mark, throat = state.safe_length, cut.build.throat_length
    if mark is None:
        said.append(
            "No consent yet: no shortest safe length is marked. Let a helper mark the shaft at full draw while the "
            "archer faces a backstop, and log it as 'safe length'."
        )
    elif throat < mark - 1e-6:
        short = show(mark - throat, Kind.LENGTH, system)
        said.append(f"Do not cut that far: the arrow would be {short} shorter than its marked shortest safe length.")
    for limit in safety_limits(cut):
        if limit.state is LimitState.BROKEN and not limit.warning_only:
            said.append(f"Do not cut that far. {limit.sentence(system)}")
    return said


def _warned(cut: Setup, voice: Voice) -> list[str]:
    """What is computed of a limit only warns, whatever was marked."""
    return [
        one.sentence(voice.system) for one in safety_limits(cut) if one.warning_only and one.state is LimitState.BROKEN
    ]


def _expected(state: BenchState, cut: Setup, answers: Answers, progress: Callable[[float], None]) -> AfterCut | None:
    if not answers.yes("expect"):
        return None
    from spinewright.outlook.after_cut import after_cut

    progress(0.05)
    situation = situation_of(state)
    found = after_cut(situation.history, state.archer, cut, situation.aim)
    progress(1.0)
    return found


def _stands(one: _Agreed, plan: sheet.Plan) -> bool:
    """Whether an agreement is to this very plan."""
    enough = plan.shafts is None or (one.shafts is not None and plan.shafts <= one.shafts)
    return abs(one.length - plan.cut.build.carbon_length) <= _SAME and enough


def _answer(plan: sheet.Plan, agreed: list[_Agreed], voice: Voice) -> str:
    what = sheet.what_is_cut(plan, voice)
    if not agreed:
        return f"Nobody has agreed yet to cut {what}: read the sheet together and sign it before the saw."
    last = agreed[-1]
    if _stands(last, plan):
        return (
            f"Consent to cut {what} stands since {last.day.isoformat()} ({last.who}). Any other plan needs a new one."
        )
    theirs = show(last.length, Kind.LENGTH, voice.system)
    many = "" if last.shafts is None else f" for {counted(last.shafts, 'shaft')}"
    return (
        f"The plan has changed: to cut {what} needs a new consent. On {last.day.isoformat()} {last.who} agreed to "
        f"{theirs}{many}."
    )


def _sentences(plan: sheet.Plan, agreed: list[_Agreed], voice: Voice) -> list[str]:
    said = [sheet.TEACHING, sheet.sides(voice)]
    if plan.shafts is None:
        said.append("How many shafts are cut is not said: consent is to a number of them, so answer that too.")
    if plan.expected is not None:
        said += sheet.expectation(plan, voice)
    if agreed and any(one.day < before.day for before, one in pairwise(agreed)):
        said.append("The agreements are not in the order of their days; the last line is taken as the one that counts.")
    return said


def _agreements(agreed: list[_Agreed], plan: sheet.Plan, voice: Voice) -> tuple[sheet.Table, ...]:
    if not agreed:
        return ()
    rows = tuple(
        (
            one.who,
            one.day.isoformat(),
            show(one.length, Kind.LENGTH, voice.system),
            "not said" if one.shafts is None else str(one.shafts),
            "stands" if one is agreed[-1] and _stands(one, plan) else "no longer the plan",
        )
        for one in agreed
    )
    return (sheet.Table("What was agreed", ("who", "day", "shaft length", "shafts", "now"), rows),)
