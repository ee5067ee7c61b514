"""When something changes: what the bare shafts, the speed and the sight will do, what to recheck, what still holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from spinewright.equipment import Archer, CurveShape, LimitKind, LimitState, RestKind, Setup, safety_limits
from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.logbook.archer import LEVEL_SCATTER
from spinewright.logbook.keys import SkillLevel
from spinewright.units import YARD, Kind, System, show, show_distance, show_offset
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Account, Cell, Table
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.papers import Paper
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.belief import Forecast
    from spinewright.outlook.carried_over import CarriedOver, Changed
    from spinewright.outlook.values import Range

__all__ = ["account"]

_OF_BOW = {
    "draw-length": "draw_length",
    "brace-height": "brace_height",
    "let-off": "let_off",
    "string-mass": "string_mass",
}
_SHAPES = ("draw-length", "brace-height", "let-off")  # what a draw curve that was read before no longer fits
_AT = 20 * YARD  # where bare shafts are compared (common practice)
_LEVEL_DOUBT = 0.5  # one sd of ln(scatter) when only a level is known (from memory)


def account(state: BenchState, answers: Answers, progress: Callable[[float], None]) -> Account:
    """What to expect of a change, in which order to recheck, and what of the things learnt still holds."""
    from spinewright.outlook.carried_over import Changed, carried_over
    from spinewright.workflow.around.changed_words import CARE, HOLDS, LOGGED, RECHECK, TITLES
    from spinewright.workflow.situations import situation_of

    changed = Changed(answers.choice("what"))
    after, notes = _after(state.now, changed, answers)
    progress(0.1)
    voice = Voice(state.scope.hand, state.scope.system)
    archer = _archer(state.archer, answers)
    marks = tuple(far * (YARD if voice.system is System.INCH else 1.0) for far in (20, 40, 60))
    found = carried_over(situation_of(state).history, state.archer, changed, after, archer, marks=marks)
    progress(1.0)
    cautions = (*CARE[changed], *_limits(after, voice), *state.cautions)
    numbered = [(f"{k}. {what}", why) for k, (what, why) in enumerate(RECHECK[changed], 1)]
    return Account(
        "changed",
        f"{answers.task.title}: {TITLES[changed]}",
        _answer(found, voice),
        (*notes, _marks(found), _surer(found), LOGGED[changed], *_turned(found, changed, voice)),
        (
            _expected(found, marks, voice),
            Table("Recheck in this order", ("what", "why"), tuple(numbered)),
            Table("What was learnt, and whether it still holds", ("what", "holds", "why"), HOLDS[changed]),
        ),
        cautions=cautions,
        rests_on=_rests(state, changed),
        papers=(_list(TITLES[changed], RECHECK[changed], cautions),),
    )


def _list(title: str, steps: Sequence[tuple[str, str]], care: Sequence[str]) -> Paper:
    """The steps to tick off at the bench."""
    rows = [(f"{k}. {what}", why, "") for k, (what, why) in enumerate(steps, 1)]
    blocks = (*(papers.words(one, care=True) for one in care), papers.grid(("what", "why", "found"), rows))
    return Paper("recheck", f"Recheck after {title}", blocks)


def _turned(found: CarriedOver, changed: Changed, voice: Voice) -> tuple[str, ...]:
    """What turned bolts widen of what is believed once they are logged as that; nothing for any other change."""
    if changed.value != "weight" or not max(found.missed):
        return ()
    digits = 2 if voice.system is System.INCH else 0
    aside, height = (show(one, Kind.LENGTH, voice.system, digits=digits) for one in found.missed)
    at = show_distance(_AT, voice.system)
    return (
        "Logged so, nothing learnt is forgotten and every hole shot before still counts, reckoned over to the new "
        "weight. What widens is that reckoning: how the gap answers weight is learnt and may bend on the way, so what "
        f"those holes say of the gap at {at} counts with {aside} more doubt sideways and {height} in height (one sd), "
        "until bare and fletched are shot at the new weight. No check is asked for anew by itself, so make those of "
        "the list.",
    )


def _rests(state: BenchState, changed: Changed) -> tuple[str, ...]:
    once_logged = (
        "Here a little of nock travel and of where the rest stands best is taken as unknown again as well, since "
        "turned bolts can move the timing; once they are logged as turned, the next move leaves both as learnt."
        if changed.value == "weight"
        else "Once it is logged as work on the bow, the next move starts from what such work leaves of what was "
        "learnt, until new holes tell. It goes by the words that it is logged with, so name the part in them."
    )
    shot = (
        "" if state.history.seen else " Nothing was shot with this bow yet, so nothing was learnt that could be kept."
    )
    return (
        "What was shot so far is kept as far as such work usually leaves it (from memory), the rest is taken as "
        f"unknown again.{shot}",
        "The speed comes from draw curve and chronograph; the sight from speed alone. A nock point, loop, peep or rest "
        "set anew moves all marks alike, and nobody can compute that.",
        "The order of the checks is common practice; the makers' own order stands above it.",
        once_logged,
    )


def _after(now: Setup, changed: Changed, answers: Answers) -> tuple[Setup, list[str]]:
    """The bench as it will stand, and what had to be assumed. Raises InputError with the question."""
    notes: list[str] = []
    weight = _weight(now, changed, answers)
    given = {name: answers.maybe(question) for question, name in _OF_BOW.items()}
    parts: dict[str, object] = {name: value for name, value in given.items() if value is not None}
    parts["peak_weight"] = weight
    if changed.value == "bow":  # what the maker of the first bow allows says nothing of the second
        parts |= {"lightest_arrow": None, "weakest_spine": None, "turns_allowed": None}
    kind = answers.choice("rest-kind")
    if kind and kind != now.bow.rest.kind:
        parts["rest"] = replace(now.bow.rest, kind=RestKind(kind), drops_after=None)
    reshaped = [question for question in _SHAPES if given[_OF_BOW[question]] is not None]
    if not isinstance(now.bow.curve, CurveShape) and (reshaped or changed.value in ("cam", "bow")):
        parts["curve"] = CurveShape.MIDDLING
        notes.append(
            "The draw curve read before does not hold for it; a middling shape stands in until it is read again."
        )
    asked = next((q for q in (*reshaped, "string-mass", "weighed", "more", "less") if answers.has(q)), "what")
    try:
        if "curve" not in parts and not isinstance(now.bow.curve, CurveShape):  # turned bolts leave a curve its shape
            replace(now.bow, peak_weight=weight, curve=CurveShape.MIDDLING)  # a weight no bow has is said as that
            share = weight / now.bow.peak_weight
            parts["curve"] = tuple(replace(one, force=one.force * share) for one in now.bow.curve)
        after = replace(now, bow=replace(now.bow, **parts), bolts_since_weighed=0.0)  # type: ignore[arg-type]
    except InputError as error:
        raise type(error)(error.what, error.right, Place(field=asked)) from error
    if changed.value in ("rest", "bow"):
        after = replace(after, rest_y=0.0, rest_z=0.0, nock_z=after.nock_z if changed.value == "rest" else 0.0)
        notes.append("The rest is taken as set to the recorded centre shot.")
    if changed.value == "archer":
        notes += _of_archer(answers)
    if changed.value in ("cam", "bow") and weight == now.present_peak_weight:
        notes.append("No other peak weight was said, so it is taken as it was: weigh it, and say it with 'weighed'.")
    return after, notes


def _weight(now: Setup, changed: Changed, answers: Answers) -> float:
    """The peak weight afterwards [N]."""
    said = [name for name in ("more", "less", "weighed") if answers.has(name)]
    if len(said) > 1:
        raise InputError(f"'{said[0]}' and '{said[1]}' are both answered", "answer one of them", Place(field=said[1]))
    if not said and changed.value == "weight":
        raise InputError("how the weight changes is not answered", "answer more, less or weighed", Place(field="more"))
    present = now.present_peak_weight
    if not said:
        return present
    amount = answers.quantity(said[0])
    return {"more": present + amount, "less": present - amount, "weighed": amount}[said[0]]


def _archer(archer: Archer, answers: Answers) -> Archer:
    level = answers.choice("level")
    if not level:
        return archer
    return replace(archer, scatter=LEVEL_SCATTER[SkillLevel(level)], scatter_doubt=_LEVEL_DOUBT)


def _of_archer(answers: Answers) -> list[str]:
    """What was not said of the other archer."""
    said = []
    if not answers.has("draw-length"):
        said.append("No other draw length was said, so it is taken as it was: measure the other archer's.")
    if not answers.has("level"):
        said.append("How closely the other archer shoots was not said, so it is taken as before.")
    return said


def _answer(found: CarriedOver, voice: Voice) -> str:
    moved = found.moved
    sure = any(low > 0.0 or high < 0.0 for low, high in zip(moved.low, moved.high, strict=True))
    at, ends, middle = show_distance(_AT, voice.system), _ends(moved, voice, " and "), _place(moved.middle, voice)
    if sure:
        said = f"At {at}, against the fletched holes, the bare ones should move {middle} ({ends})."
    else:
        said = (
            f"Which way the bare holes will move is not sure: at {at}, against the fletched ones, anything from "
            f"{ends}, with {middle} in the middle."
        )
    return f"{said} {_speed_words(found.faster, voice)}"


def _place(place: tuple[float, float], voice: Voice) -> str:
    text = show_offset(*place, voice.hand, voice.system)
    return "where they are" if text == "centre" else text


def _speed_words(faster: Range, voice: Voice) -> str:
    if faster.low == faster.high == 0.0:
        return "The speed stays."
    low, middle, high = (_speed(abs(v), voice) for v in (faster.low, faster.middle, faster.high))
    if low == high and faster.low * faster.high > 0.0:
        return f"The arrow gets {middle} {'faster' if faster.low > 0.0 else 'slower'}."
    if faster.low > 0.0:
        return f"The arrow gets {middle} faster ({low} to {high})."
    if faster.high < 0.0:
        return f"The arrow gets {middle} slower ({high} to {low})."
    return f"The speed may go either way, from {low} slower to {high} faster."


def _speed(value: float, voice: Voice) -> str:
    return show(value, Kind.SPEED, voice.system, digits=1)


def _marks(found: CarriedOver) -> str:
    """Which way the sight goes: it follows the arrow (common practice)."""
    near = found.higher[0]
    if near.low > 0.0:
        return "From speed alone the arrow hits higher: move the sight up, the far marks more than the near ones."
    if near.high < 0.0:
        return "From speed alone the arrow hits lower: move the sight down, the far marks more than the near ones."
    if near.low == near.high:
        return "The distances between the sight marks stay; the first one may move, and all with it."
    return "Which way the sight marks go is not known: shoot one near and one far before you trust any."


def _surer(found: CarriedOver) -> str:
    times = max(found.wider)
    if times < 1.1:
        return "The doubt about the gap is about as large after it as before."
    much = f"{times:.1f} times as large" if times < 9.5 else "ten times as large, or more,"
    return f"The doubt about the gap is {much} after it: shoot bare and fletched before anything is changed for it."


def _expected(found: CarriedOver, marks: tuple[float, ...], voice: Voice) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (name, voice.offset(one.middle), _ends(one, voice, "; "))
        for name, one in (("gap now", found.before), ("gap after it", found.after), ("change of the gap", found.moved))
    ]
    rows.append(_speed_row("speed after it", found.speed, voice))
    if found.faster.high > found.faster.low:
        rows.append(_speed_row("change of speed", found.faster, voice))
        for distance, rise in zip(marks, found.higher, strict=True):
            at = show_distance(distance, voice.system)
            ends = _height(rise.low, rise.high, voice)
            middle = voice.offset((0.0, rise.middle))
            rows.append((f"hit at {at}, from speed", "as before" if middle["text"] == "centre" else middle, ends))
    at = show_distance(_AT, voice.system)
    note = f"The gap is bare less fletched at {at}. Four times in five it lies between the two ends."
    return Table("What to expect", ("what", "middle", "between"), tuple(rows), note)


def _speed_row(name: str, found: Range, voice: Voice) -> tuple[Cell, ...]:
    low, high = _speed(found.low, voice), _speed(found.high, voice)
    return name, voice.quantity(found.middle, Kind.SPEED, 1), "the same" if low == high else f"{low} to {high}"


def _ends(forecast: Forecast, voice: Voice, between: str) -> str:
    low, high = forecast.low, forecast.high
    return f"{_sideways(low[0], high[0], voice)}{between}{_height(low[1], high[1], voice)}"


def _sideways(low: float, high: float, voice: Voice) -> str:
    return " to ".join(show_offset(one, 0.0, voice.hand, voice.system) for one in (low, high))


def _height(low: float, high: float, voice: Voice) -> str:
    ends = [show_offset(0.0, one, voice.hand, voice.system) for one in (low, high)]
    return " to ".join("level" if one == "centre" else one for one in ends)


def _limits(after: Setup, voice: Voice) -> list[str]:
    """Limits that the bench would break, or that nobody has said."""
    said: Mapping[str, None] = {
        limit.sentence(voice.system): None
        for bare in (False, True)
        for limit in safety_limits(after, bare=bare)
        if limit.state is not LimitState.KEPT and (not bare or limit.what is LimitKind.ARROW_MASS)
    }
    return [f"After it: {one[:1].lower()}{one[1:]}" for one in said]
