"""Holds the build against limits of rounds or laws that the person looked up; it never knows a rule of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from spinewright.equipment import LimitState, safety_limits
from spinewright.logbook import BenchState
from spinewright.units import GRAIN, INCH, MILLIMETRE, System, show
from spinewright.workflow.around.account import Account, Cell, Table
from spinewright.workflow.around.answers import Answers, day_in
from spinewright.workflow.around.looked_up import RULED, Rule, read_rule
from spinewright.workflow.showing import Voice

__all__ = ["account"]

_STALE = 365  # days after which a rule should be looked up again (rule books change by the season)
_WIDE = 1.2816  # sds: the central 80 % of a normal doubt
# One sd of what was typed. A calliper on a shaft, and a mass per length told to 0.1 gr/in: from memory of the tools;
# bolts turned since the bow was weighed: a quarter of what the turns are said to make (from memory).
_CALLIPER = 0.02 * MILLIMETRE
_DENSITY = 0.03 * GRAIN / INCH
_TURNED = 0.25


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of one thing of the build: value and one sd [SI], 0 where it is as it was typed."""

    value: float
    doubt: float = 0.0


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """How the build stands to every limit that was written down. Raises InputError for one that cannot be read."""
    voice = Voice(state.scope.hand, state.scope.system)
    rules = [read_rule(line) for line in answers.lines("limit")]
    own = [f"{one.about}: {one.says} (looked up {one.dated.isoformat()}; not checked here)." for one in state.limits]
    cautions = _cautions(state, voice.system)
    if not rules:
        answer = "No limit was written down, so nothing can be checked: look up your round's or your law's own rules."
        return Account("limits", answers.task.title, answer, tuple(own), cautions=cautions, rests_on=_RESTS)
    today = _today(state, answers)
    present = _present(state, answers.maybe("head-width"))
    stale = {rule.about for rule in rules if today is not None and (today - rule.dated).days > _STALE}
    verdicts = [_verdict(rule, present.get(rule.about)) for rule in rules]
    rows = [_row(rule, present.get(rule.about), said, today, voice) for rule, said in zip(rules, verdicts, strict=True)]
    return Account(
        "limits",
        answers.task.title,
        _answer(rules, verdicts, stale),
        (*own, *_sentences(rules, verdicts, today)),
        (
            Table(
                "Limits you looked up", ("what", "yours", "allowed", "stands", "read on", "where"), tuple(rows), _NOTE
            ),
        ),
        cautions=cautions,
        rests_on=_RESTS,
    )


_KEPT, _BROKEN, _UNKNOWN, _NEAR = "kept", "broken", "not known", "too near to tell: measure it"
_NOTE = (
    "After ± stands one standard deviation of what you typed or of what is worked out; what lies about as near as that "
    "to a limit is called neither kept nor broken."
)
_RESTS = (
    "The limits are the ones you wrote down with the day you read them; this program knows no rule book and no law.",
    "Speed is what a chronograph read of this very build where that is logged, else computed from the draw curve and "
    "the readings of the bow; energy follows from speed and mass.",
    "Mass, diameter, length and let-off are as you typed them; peak weight as last weighed, with the turns since.",
    "Whether a build is allowed is said by your round's officials or your law, never here.",
)


def _cautions(state: BenchState, system: System) -> tuple[str, ...]:
    broken = [one.sentence(system) for one in safety_limits(state.now) if one.state is LimitState.BROKEN]
    return (*broken, "The bow maker's limits and the range's rules stand above every limit listed here.")


def _today(state: BenchState, answers: Answers) -> date | None:
    """The day that was answered, else that of the last dated entry."""
    if answers.has("today"):
        return day_in(answers.text("today"), "today")
    return state.dated.date() if isinstance(state.dated, datetime) else state.dated


def _present(state: BenchState, head_width: float | None) -> dict[str, _Known]:
    """What is measured or computed of the build."""
    setup, build = state.now, state.now.build
    mass = _Known(build.total_mass(bare=False), _DENSITY * build.carbon_length)
    speed = _speed(state)
    turned = abs(setup.bolts_since_weighed) * (setup.bow.weight_per_turn or 0.0)
    found = {
        "shaft diameter": _Known(build.shaft.outer_diameter, _CALLIPER),
        "arrow length": _Known(build.throat_length),
        "arrow mass": mass,
        "arrow speed": speed,
        "kinetic energy": _Known(0.5 * mass.value * speed.value**2, mass.value * speed.value * speed.doubt),
        "peak weight": _Known(setup.present_peak_weight, _TURNED * turned),
        "let-off": _Known(setup.bow.let_off),
    }
    width = head_width if head_width is not None else build.head.width
    return {**found, "head width": _Known(width)} if width else found


def _speed(state: BenchState) -> _Known:
    """Of the fletched arrow: read with this very setup if it was, else computed.

    Readings of one chronograph share a doubt that does not average out, so the least doubt of one is kept.
    """
    from spinewright.evidence import SpeedShot

    read = [
        seen.what
        for seen in state.history.seen[state.cleared :]
        if isinstance(seen.what, SpeedShot) and not seen.what.bare and seen.setup == state.now
    ]
    if read:
        return _Known(sum(one.speed for one in read) / len(read), min(one.doubt for one in read))
    from spinewright.outlook import build_figures

    arrow = build_figures(state.now).fletched
    return _Known(arrow.launch.speed, arrow.speed_doubt)


def _verdict(rule: Rule, known: _Known | None) -> str:
    if known is None:
        return _UNKNOWN
    over = (known.value - rule.bound) * (1.0 if rule.least else -1.0)
    same = 1e-9 * abs(rule.bound)
    if known.doubt and same < abs(over) < _WIDE * known.doubt:
        return _NEAR
    return _KEPT if over >= -same else _BROKEN


def _row(rule: Rule, known: _Known | None, said: str, today: date | None, voice: Voice) -> tuple[Cell, ...]:
    kind = RULED[rule.about]
    yours: Cell = _UNKNOWN
    if known is not None:
        doubt = known.doubt or None
        yours = {**voice.quantity(known.value, kind), "text": show(known.value, kind, voice.system, doubt=doubt)}
    old = today is not None and (today - rule.dated).days > _STALE
    read_on = f"{rule.dated.isoformat()}{', look it up again' if old else ''}"
    return rule.about, yours, rule.sentence(voice.system), said, read_on, rule.where


def _sentences(rules: list[Rule], verdicts: list[str], today: date | None) -> list[str]:
    said = []
    if today is None:
        said.append("No day is known to count from, so no limit is called old: answer 'the day to count from'.")
    ahead = sorted({rule.about for rule in rules if today is not None and rule.dated > today})
    if ahead:
        said.append(f"Read on a day still to come, so look at the date again: {', '.join(ahead)}.")
    unknown = {rule.about for rule, one in zip(rules, verdicts, strict=True) if one == _UNKNOWN}
    if "head width" in unknown:
        said.append("The head's width is not known: answer 'the widest cut of the head'.")
    return said


def _answer(rules: list[Rule], verdicts: list[str], stale: set[str]) -> str:
    pairs = list(zip(rules, verdicts, strict=True))
    broken = dict.fromkeys(rule.about for rule, said in pairs if said == _BROKEN)
    unsettled = dict.fromkeys(rule.about for rule, said in pairs if said in (_UNKNOWN, _NEAR))
    old = f" Read more than a year ago, so look it up again: {', '.join(sorted(stale))}." if stale else ""
    if broken:
        return f"Broken: {', '.join(broken)}. What you looked up does not allow this build.{old}"
    if unsettled:
        return f"Nothing is broken, but this is not settled: {', '.join(unsettled)}.{old}"
    return f"Every limit you wrote down is kept.{old}"
