"""Holds the build against limits of rounds or laws that the person looked up; it never knows a rule of its own."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import Kind, parse, show
from spinewright.workflow.around.account import Account, Table
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.showing import Voice

__all__ = ["account"]

_LINE = re.compile(r"(?P<about>[a-z ]+?)\s+at\s+(?P<edge>most|least)\s+(?P<value>.+)", re.IGNORECASE)
_EXAMPLE = "write for example 'shaft diameter at most 9.3 mm, 2026-03-01, indoor round'"
_KINDS = {
    "shaft diameter": Kind.LENGTH,
    "arrow speed": Kind.SPEED,
    "peak weight": Kind.FORCE,
    "arrow mass": Kind.MASS,
    "head width": Kind.LENGTH,
}
_STALE = 365  # days after which a rule should be looked up again (rule books change by the season)


@dataclass(frozen=True, slots=True)
class _Rule:
    """One limit: of what, at least or at most, how much [SI], read on which day and where."""

    about: str
    least: bool
    bound: float
    dated: date
    where: str


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """How the build stands to every limit that was written down. Raises InputError for one that cannot be read."""
    voice = Voice(state.scope.hand, state.scope.system)
    rules = [_read(line) for line in answers.lines("limit")]
    own = [f"{one.about}: {one.says} (looked up {one.dated.isoformat()})." for one in state.limits]
    if not rules:
        answer = "No limit was written down, so nothing can be checked: look up your round's or your law's own rules."
        return Account("limits", answers.task.title, answer, tuple(own), rests_on=_RESTS)
    today = _day(answers.text("today") or (state.dated.isoformat()[:10] if state.dated else ""))
    present = _present(state, answers.maybe("head-width"))
    rows, broken, unknown = [], [], []
    for rule in rules:
        value, doubt = present.get(rule.about, (None, 0.0))
        verdict = _verdict(rule, value, doubt)
        if verdict == "broken":
            broken.append(rule.about)
        elif verdict != "kept":
            unknown.append(rule.about)
        edge = "at least" if rule.least else "at most"
        kind = _KINDS[rule.about]
        old = today is not None and (today - rule.dated).days > _STALE
        rows.append(
            (
                rule.about,
                voice.quantity(value, kind) if value is not None else "not known",
                f"{edge} {show(rule.bound, kind, voice.system)}",
                verdict,
                f"{rule.dated.isoformat()}{', look it up again' if old else ''}",
                rule.where,
            )
        )
    columns = ("what", "yours", "allowed", "stands", "read on", "where")
    return Account(
        "limits",
        answers.task.title,
        _answer(broken, unknown),
        tuple(own),
        (Table("Limits you looked up", columns, tuple(rows)),),
        rests_on=_RESTS,
    )


_RESTS = (
    "The limits are the ones you wrote down with the day you read them; this program knows no rule book and no law.",
    "Speed is the chronograph's where there is one; else computed from the draw curve, with its doubt.",
    "Whether a build is allowed is said by your round's officials or your law, never here.",
)


def _read(line: str) -> _Rule:
    what, *rest = (piece.strip() for piece in line.split(","))
    match = _LINE.fullmatch(" ".join(what.split()))
    place = Place(field="limit")
    if match is None or not rest:
        raise InputError(f"'{line}' is not a limit with the day it was read", _EXAMPLE, place)
    about = match["about"].lower()
    if about not in _KINDS:
        raise InputError(f"'{about}' cannot be checked here", f"known are {', '.join(_KINDS)}", place)
    try:
        bound = parse(match["value"], _KINDS[about])
    except InputError as error:
        raise error.at(field="limit") from None
    read_on = _day(rest[0])
    if read_on is None:
        raise InputError(f"'{line}' does not say on which day it was read", _EXAMPLE, place)
    return _Rule(about, match["edge"].lower() == "least", bound, read_on, ", ".join(rest[1:]))


def _day(text: str) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"'{text}' is not a day", "write for example 2026-03-01", Place(field="limit")) from error


def _present(state: BenchState, head_width: float | None) -> dict[str, tuple[float | None, float]]:
    """What is measured or computed of the build, with one sd of its doubt [SI]."""
    from spinewright.outlook import build_figures

    setup = state.now
    launch = build_figures(setup).fletched
    return {
        "shaft diameter": (setup.build.shaft.outer_diameter, 0.0),
        "arrow speed": (launch.launch.speed, launch.speed_doubt),
        "peak weight": (setup.present_peak_weight, 0.0),
        "arrow mass": (setup.build.total_mass(bare=False), 0.0),
        "head width": (head_width, 0.0),
    }


def _verdict(rule: _Rule, value: float | None, doubt: float) -> str:
    if value is None:
        return "not known"
    over = (value - rule.bound) * (1.0 if rule.least else -1.0)
    if doubt and abs(over) < 1.2816 * doubt:
        return "within doubt: measure it"
    return "kept" if over >= -1e-9 * abs(rule.bound) else "broken"


def _answer(broken: list[str], unknown: list[str]) -> str:
    if broken:
        return f"Broken: {', '.join(broken)}. What you looked up does not allow this build."
    if unknown:
        return f"Nothing is broken, but this is not settled: {', '.join(unknown)}."
    return "Every limit you wrote down is kept."
