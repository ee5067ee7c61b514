"""Keeps account of a set's shafts by number: shots, flex checks, what is due, what is never shot again."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from spinewright.equipment import ShaftMaterial
from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.logbook.replay import is_before
from spinewright.logbook.state import FlexCheck
from spinewright.units import counted
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Account, Cell, Table
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.numbered import numbers_in
from spinewright.workflow.around.shaft_list import shaft_numbers

if TYPE_CHECKING:
    from spinewright.evidence.shaft_use import ShaftUse

__all__ = ["account"]

_MOST_SHOTS = 1_000_000


class _Stands(StrEnum):
    """How a shaft stands, the gravest first."""

    BROKEN = "failed: break it in two"
    RETIRED = "retired"
    ASIDE = "set aside"
    HIT = "flex it now: hit hard"
    NEVER = "flex it first: no check logged"
    DUE = "flex it before the session"
    WORN = "retire it by your rule"
    SOUND = "checked, and not shot since"
    TODAY = "checked today"


_DUE = (_Stands.HIT, _Stands.NEVER, _Stands.DUE)
_OUT = (_Stands.BROKEN, _Stands.RETIRED, _Stands.ASIDE, _Stands.WORN)


@dataclass(frozen=True, slots=True)
class _Noted:
    """A shaft, a day and why, as a person wrote it down."""

    shaft: int
    day: date
    why: str


@dataclass(frozen=True, slots=True)
class _Shaft:
    """One shaft: its shots, those since its last check, that check, how it stands and why."""

    number: int
    use: ShaftUse
    since: int
    check: FlexCheck | None
    stands: _Stands
    why: str = ""
    carbon: bool = True

    @property
    def words(self) -> str:
        """How it stands, with the reason where one was written down; only carbon is flexed."""
        said = str(self.stands) if self.carbon else self.stands.replace("flex it", "look at it").replace("flex ", "")
        return f"{said} ({self.why})" if self.why else said


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """Every shaft and how it stands. Raises InputError for what cannot be read."""
    from spinewright.evidence.shaft_use import ShaftUse, shaft_use

    seen = state.history.seen[state.set_began :]
    use = _with_unlogged(shaft_use(seen), answers)
    hits, retired = (_noted(answers, name) for name in ("hit", "retired"))
    today, most = _today(answers), _most(answers)
    checks = {one.shaft: one for one in state.flex_checks}
    noted = {one.shaft for one in (*hits, *retired)}
    numbers = {*numbers_in(answers.text("set"), "set"), *use, *checks, *noted, *state.broken_shafts}
    numbers |= set(state.history.set_aside)
    if not numbers:
        answer = "No shaft has a number yet: write one on each, and log its shots and flex checks by it."
        return Account("shafts", answers.task.title, answer, cautions=_cautions(state), rests_on=_RESTS)
    found = []
    for number in sorted(numbers):
        check = checks.get(number)
        after = () if check is None else state.history.seen[max(check.seen, state.set_began) :]
        since = shaft_use(after)[number].total if number in shaft_use(after) else 0
        own = use.get(number) or ShaftUse()
        stands, why = _stands(state, number, (own.total, since), check, _Words(hits, retired, today, most))
        found.append(_Shaft(number, own, own.total if check is None else since, check, stands, why, _carbon(state)))
    return Account(
        "shafts",
        answers.task.title,
        _answer(found, state),
        tuple(_sentences(found, state, hits, answers)),
        (_table(found),),
        cautions=_cautions(state),
        rests_on=_RESTS,
        papers=(_paper(found, state, today),),
    )


_RESTS = (
    "Shots are counted from the logbook since this set was taken up, and from what you added; whatever was shot and "
    "not logged is missing, so a count is at least that many. Chronograph readings name no shaft and are not counted.",
    "That a shaft is flexed before each session and after every hard or sideways hit is common practice. No number of "
    "shots makes a shaft safe or worn out: only looking at it tells, and a crack can be where nobody sees it.",
)


@dataclass(frozen=True, slots=True)
class _Words:
    """What the person wrote down: hits, retired shafts, the day of the session, their own most shots."""

    hits: tuple[_Noted, ...]
    retired: tuple[_Noted, ...]
    today: date | None
    most: int | None


def _stands(
    state: BenchState, number: int, shots: tuple[int, int], check: FlexCheck | None, words: _Words
) -> tuple[_Stands, str]:
    """How a shaft stands, by all its ``shots`` and those since its last ``check``; and why."""
    if number in state.broken_shafts:
        return _Stands.BROKEN, ""
    gone = next((one for one in reversed(words.retired) if one.shaft == number), None)
    if gone is not None:
        return _Stands.RETIRED, ", ".join(filter(None, (gone.day.isoformat()[:10], gone.why)))
    if number in state.history.set_aside:
        return _Stands.ASIDE, ""
    if words.most is not None and shots[0] >= words.most:
        return _Stands.WORN, f"{shots[0]} of {words.most}"
    open_ = [one for one in words.hits if one.shaft == number and (check is None or not _after(check, one.day))]
    if open_:
        return _Stands.HIT, ", ".join(filter(None, (open_[-1].day.isoformat()[:10], open_[-1].why)))
    if check is None:
        return _Stands.NEVER, ""
    return _by_day(shots[1], check, words.today), ""


def _by_day(since: int, check: FlexCheck, today: date | None) -> _Stands:
    if today is None:
        return _Stands.DUE if since else _Stands.SOUND
    if check.when is None:
        return _Stands.DUE
    return _Stands.DUE if is_before(check.when, today) else _Stands.TODAY


def _after(check: FlexCheck, hit: date) -> bool:
    """Whether a check is surely later than a hit: on a later day, or later on that day where both have a time."""
    return check.when is not None and is_before(hit, check.when)


def _with_unlogged(use: Mapping[int, ShaftUse], answers: Answers) -> dict[int, ShaftUse]:
    """The counts with what the person added."""
    from spinewright.evidence.shaft_use import ShaftUse

    found = dict(use)
    rows = answers.table("unlogged", ("shaft",), ("bare", "fletched", "paper"))
    for row, shaft in zip(rows, shaft_numbers(rows), strict=True):
        counts = {}
        for name in ("bare", "fletched", "paper"):
            count = row.number(name) or 0.0
            if not count.is_integer() or not 0 <= count <= _MOST_SHOTS:
                raise InputError(f"'{row.text(name)}' is no number of shots", "count them", row.place(name))
            counts[name] = int(count)
        found[shaft] = (found.get(shaft) or ShaftUse()).plus(ShaftUse(**counts))
    return found


def _noted(answers: Answers, name: str) -> tuple[_Noted, ...]:
    """The lines 'number, day, words' that answer a question. Raises InputError."""
    question = answers.task.question(name)
    example = f"write for example '{question.example}'" if question is not None else ""
    found = []
    for line in answers.lines(name):
        number, _, rest = line.partition(",")
        day, _, why = rest.partition(",")
        if not re.fullmatch(r"\s*\d{1,4}\s*", number) or int(number) < 1 or not day.strip():
            raise InputError(f"'{line}' is not a shaft with a day", example, Place(field=name))
        found.append(_Noted(int(number), _day(day.strip(), name), why.strip()))
    return tuple(found)


def _day(text: str, field: str) -> date:
    """A day, or a day with a time."""
    try:
        return date.fromisoformat(text) if len(text) <= 10 else datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"'{text}' is not a day", "write for example 2026-05-03", Place(field=field)) from error


def _today(answers: Answers) -> date | None:
    return _day(answers.text("today"), "today") if answers.has("today") else None


def _most(answers: Answers) -> int | None:
    most = answers.maybe("most")
    if most is not None and not 1 <= most <= _MOST_SHOTS:
        raise InputError("that is no number of shots", "write for example 2000", Place(field="most"))
    return None if most is None else int(most)


def _carbon(state: BenchState) -> bool:
    return state.now.build.shaft.material in (ShaftMaterial.CARBON, ShaftMaterial.CARBON_ALUMINIUM)


def _cautions(state: BenchState) -> tuple[str, ...]:
    said = list(state.cautions)
    if _carbon(state):
        said += [
            "Flex every carbon shaft before each session and after every hard or sideways hit: ends in both hands, "
            "away from your face, a gentle bow in one direction and the next all round, then look along it and feel "
            "for splinters. A crack, a creak, a soft spot or a flattened place: break it in two and throw it away.",
            "A carbon shaft that fails at the shot can go through hand or arm. Wear eye protection when you flex one.",
        ]
    else:
        said.append(
            "Look along every shaft before each session and after every hard or sideways hit, and roll it on something "
            "flat: dented, cracked or bent past straightening, it is broken up and never shot."
        )
    said.append("See that every nock is whole and fully seated; change one that was hit.")
    return tuple(said)


def _answer(found: list[_Shaft], state: BenchState) -> str:
    do = "flex" if _carbon(state) else "look at"
    due = [one for one in found if one.stands in _DUE]
    said = f"{counted(len(found), 'shaft')}, {len(found) - sum(one.stands in _OUT for one in found)} to shoot."
    hit = [one for one in found if one.stands is _Stands.HIT]
    if hit:
        said += f" Now {do} {_listed(hit)}, hit hard and not checked since."
    rest = [one for one in due if one not in hit]
    if rest:
        said += f" Before the next session {do} {_listed(rest)}."
    never = [one for one in found if one.stands is _Stands.BROKEN]
    if never:
        said += f" Never shoot {_listed(never)} again."
    return said if due or never else f"{said} No check is due."


def _sentences(found: list[_Shaft], state: BenchState, hits: tuple[_Noted, ...], answers: Answers) -> list[str]:
    said = []
    if not answers.has("today"):
        said.append("No day was answered, so a shaft counts as due once it was shot after its last check.")
    same = [one for one in found if one.stands is _Stands.HIT and _same_day(one.check, hits, one.number)]
    if same:
        said.append(
            f"The check of shaft {_listed(same)} on the day of the hit may have been before it: check again, or write "
            "the hit and the check with their times."
        )
    if answers.has("unlogged"):
        said.append("Shots you added have no day, so they make no check old: answer the day of the session for that.")
    worn = [one for one in found if one.stands is _Stands.WORN]
    if worn:
        said.append(f"By your own rule shaft {_listed(worn)} has shot enough.")
    if state.set_began:
        said.append(
            "Counted since the shafts were changed last; what older shafts with these numbers shot is not in it."
        )
    if any(one.stands in _DUE for one in found):
        said.append("Log each check with 'flex check' and the shaft's number: that takes it off this list.")
    return said


def _same_day(check: FlexCheck | None, hits: tuple[_Noted, ...], number: int) -> bool:
    if check is None or check.when is None:
        return False
    day = check.when.isoformat()[:10]
    return any(one.shaft == number and one.day.isoformat()[:10] == day for one in hits)


def _listed(found: list[_Shaft]) -> str:
    return ", ".join(str(one.number) for one in found)


def _table(found: list[_Shaft]) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for one in found:
        use = one.use
        rows.append(
            (
                str(one.number),
                *(str(count) for count in (use.bare, use.fletched, use.paper, use.total, one.since)),
                _checked(one.check),
                one.words,
            )
        )
    columns = ("shaft", "bare", "fletched", "paper", "all", "since check", "checked", "how it stands")
    note = "Each count is at least so many: only what was logged or added is in it."
    return Table("Every shaft", columns, tuple(rows), note)


def _checked(check: FlexCheck | None) -> str:
    if check is None:
        return "never"
    return "no day" if check.when is None else check.when.isoformat()[:10]


def _paper(found: list[_Shaft], state: BenchState, today: date | None) -> papers.Paper:
    rows = [(str(one.number), str(one.use.total), _checked(one.check), one.words) for one in found]
    texts = [_label(one) for one in found]
    return papers.Paper(
        "shafts",
        "Shafts by number",
        (
            *(papers.words(one, care=True) for one in _cautions(state)),
            papers.grid(("shaft", "shots, at least", "last check", "how it stands"), rows),
            papers.heading("Checks and hits of the session, to log afterwards"),
            papers.blanks(("shaft", "day and time", "sound?", "what it hit"), 8),
            papers.heading("Labels"),
            papers.labels(texts),
            papers.checkline(),
        ),
        "" if today is None else f"For the session of {today.isoformat()[:10]}",
    )


def _label(one: _Shaft) -> str:
    return f"Shaft {one.number}: {one.words}" if one.stands in _OUT else f"Shaft {one.number}"
