"""Answers to a task's questions, read as what they should be; a wrong one is said in one sentence with its question."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from spinewright.errors import InputError, Place
from spinewright.units import Kind, parse
from spinewright.workflow.around.questions import Form, Question, Task

__all__ = ["MOST_TEXT", "Answers", "Row", "answers_of", "day_in"]

MOST_TEXT = 2_000_000  # characters of one answer
MOST_ROWS = 5_000
_YES = {"yes": True, "true": True, "y": True, "no": False, "false": False, "n": False}
_COUNTS: Mapping[Form, str] = {Form.NUMBER: "a number", Form.WHOLE: "a whole number"}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of an answered table: what stands in each column, the line it stands on (counted from 1), whose it is."""

    line: int
    cells: Mapping[str, str]
    table: str

    def text(self, column: str) -> str:
        """What stands there without spaces round it; '' when nothing does."""
        return (self.cells.get(column) or "").strip()

    def quantity(self, column: str, kind: Kind) -> float | None:
        """The quantity there in SI; None when nothing stands there. Raises QuantityError with line and column."""
        text = self.text(column)
        if not text:
            return None
        try:
            return parse(text, kind)
        except InputError as error:
            raise error.at(line=self.line, field=column, table=self.table) from None

    def number(self, column: str) -> float | None:
        """The plain number there; None when nothing stands there. Raises InputError with line and column."""
        text = self.text(column)
        if not text:
            return None
        found = _number(text)
        if found is None:
            raise InputError(f"'{text}' is not a number", "write for example 12.5", self.place(column))
        return found

    def place(self, column: str) -> Place:
        """Where that is, for an error."""
        return Place(line=self.line, field=column, table=self.table)


@dataclass(frozen=True, slots=True)
class Answers:
    """What was answered to the questions of ``task``; blank answers count as none."""

    task: Task
    given: Mapping[str, tuple[str, ...]]

    def has(self, name: str) -> bool:
        """Whether anything was answered, or something is usual."""
        return bool(self.lines(name))

    def lines(self, name: str) -> tuple[str, ...]:
        """Every answer to a question, without blank ones."""
        question = self._question(name)
        found = tuple(one.strip() for one in self.given.get(name, ()) if one.strip())
        if not found and question.usual is not None:
            return (question.usual,)
        return found

    def text(self, name: str) -> str:
        """The answer in words; '' when there is none."""
        found = self.lines(name)
        return found[-1] if found else ""

    def maybe(self, name: str) -> float | None:
        """The quantity or number that was answered [SI], or None."""
        question, text = self._question(name), self.text(name)
        if not text:
            return None
        if isinstance(question.form, Kind):
            try:
                return parse(text, question.form)
            except InputError as error:
                raise error.at(field=name) from None
        found = _number(text)
        if found is None or (question.form is Form.WHOLE and not found.is_integer()):
            what = _COUNTS.get(question.form, "a number")
            raise InputError(f"'{text}' is not {what}", _example(question), Place(field=name))
        return found

    def quantity(self, name: str) -> float:
        """The same where the task cannot go without it."""
        found = self.maybe(name)
        if found is None:
            raise self.missing(name)
        return found

    def whole(self, name: str) -> int:
        """A whole number that was answered or is usual."""
        return int(self.quantity(name))

    def whole_between(self, name: str, least: int, most: int) -> int:
        """The same, refused outside of ``least`` to ``most``."""
        found = self.whole(name)
        if not least <= found <= most:
            raise InputError(f"{found} will not do here", f"write {least} to {most}", Place(field=name))
        return found

    def yes(self, name: str) -> bool:
        """Whether the answer is yes; no answer is no."""
        text = self.text(name).lower()
        if not text:
            return False
        if text not in _YES:
            raise InputError(f"'{text}' is neither yes nor no", "write yes or no", Place(field=name))
        return _YES[text]

    def choice(self, name: str) -> str:
        """One of the words of the question."""
        question, text = self._question(name), self.text(name).lower()
        if text in question.choices or (not text and not question.needed):
            return text
        known = ", ".join(f"'{one}'" for one in question.choices)
        raise InputError(f"'{text}' is not known here", f"known are {known}", Place(field=name))

    def table(self, name: str, needed: Sequence[str], others: Sequence[str] = ()) -> tuple[Row, ...]:
        """The rows of an answered table with those columns; () when nothing was answered.

        The first line names the columns, in any order; semicolons or tabs do as well as commas. Raises InputError with
        the table, the line and the column.
        """
        text = "\n".join(self.given.get(name, ())) or (self._question(name).usual or "")
        return _rows(text, needed, others, name) if text.strip() else ()

    def missing(self, name: str) -> InputError:
        """The error for a question that has to be answered."""
        question = self._question(name)
        return InputError(f"'{question.asks}' is not answered", _example(question), Place(field=name))

    def _question(self, name: str) -> Question:
        found = self.task.question(name)
        if found is None:
            raise ValueError(f"'{self.task.name}' asks nothing called '{name}'")
        return found


def answers_of(task: Task, given: Mapping[str, Sequence[str]], kept: Mapping[str, Sequence[str]]) -> Answers:
    """The answers ``given`` now, and those ``kept`` where nothing is given. Raises InputError."""
    for name, lines in given.items():
        question = task.question(name)
        if question is None:
            known = ", ".join(one.name for one in task.questions) or "none"
            raise InputError(f"'{name}' is not asked by '{task.name}'", f"known are {known}", Place(field=name))
        if sum(len(line) for line in lines) > MOST_TEXT:
            raise InputError("the answer is too long", f"at most {MOST_TEXT} characters", Place(field=name))
    now = {name: tuple(lines) for name, lines in given.items() if any(line.strip() for line in lines)}
    before = {name: tuple(lines) for name, lines in kept.items() if task.question(name) is not None}
    answers = Answers(task, {**before, **now})
    for question in task.questions:
        if question.needed and not answers.has(question.name):
            raise answers.missing(question.name)
    return answers


def day_in(text: str, field: str) -> date:
    """The day that is written there. Raises InputError at ``field``."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"'{text}' is not a day", "write for example 2026-05-03", Place(field=field)) from error


def _example(question: Question) -> str:
    return f"write for example {question.example}" if question.example else "answer it"


def _number(text: str) -> float | None:
    try:
        found = float(text)
    except ValueError:
        return None
    return found if math.isfinite(found) else None


def _rows(text: str, needed: Sequence[str], others: Sequence[str], name: str) -> tuple[Row, ...]:
    text = text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}")
    lines = text.splitlines()
    first = next((k for k, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")), None)
    if first is None:
        right = f"the first line names the columns: {', '.join(needed)}"
        raise InputError("the table is empty", right, Place(table=name))
    mark = max(",;\t", key=lines[first].count)
    reader = csv.reader(io.StringIO("\n".join(lines[first:])), delimiter=mark, skipinitialspace=True)
    found: list[Row] = []
    columns: list[str] = []
    try:
        for cells in reader:
            line = first + reader.line_num
            if not any(cell.strip() for cell in cells) or cells[0].lstrip().startswith("#"):
                continue
            if not columns:
                columns = _columns(cells, needed, others, Place(line=line, table=name))
                continue
            if len(cells) > len(columns):
                raise InputError(
                    f"there are {len(cells)} values for {len(columns)} columns",
                    "put a text that holds a comma between double quotes",
                    Place(line=line, table=name),
                )
            found.append(Row(line, dict(zip(columns, cells, strict=False)), name))
            if len(found) > MOST_ROWS:
                raise InputError("the table is too long", f"at most {MOST_ROWS} rows", Place(line=line, table=name))
    except csv.Error as error:
        place = Place(line=first + reader.line_num, table=name)
        raise InputError(f"the table cannot be read ({error})", "save it again as plain CSV", place) from error
    return tuple(found)


def _columns(cells: Sequence[str], needed: Sequence[str], others: Sequence[str], place: Place) -> list[str]:
    found = [" ".join(cell.lower().replace("_", " ").split()) for cell in cells]
    known = [*needed, *others]
    listed = ", ".join(known)
    for k, one in enumerate(found):
        if one not in known:
            raise InputError(f"'{one}' is not a column known here", f"known are {listed}", place)
        if one in found[:k]:
            raise InputError(f"the column '{one}' stands there twice", "leave one out", place)
    for one in needed:
        if one not in found:
            raise InputError(f"the column '{one}' is missing", f"the first line names the columns: {listed}", place)
    return found
