"""What a task around the tune gives back, as both faces show it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, cast

from spinewright.units import System, yards_beside
from spinewright.workflow.around.papers import Paper
from spinewright.workflow.showing import Json, headed

__all__ = ["Account", "Cell", "Plot", "Series", "Table", "in_units", "text_of"]

VERSION = 1
Cell = str | Json
"""What stands in a table: words, or a quantity as Voice makes it ('value', 'unit', 'text')."""


def text_of(cell: Cell) -> str:
    """What a person reads of a cell."""
    return cell if isinstance(cell, str) else str(cell["text"])


@dataclass(frozen=True, slots=True)
class Table:
    """A table with its heading; the first column names the row. ``note`` says what the numbers are."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"the table '{self.title}' has rows that do not fit its columns")


@dataclass(frozen=True, slots=True)
class Series:
    """One line or set of points of a plot, in the units its axes name; ``low`` and ``high`` hold the central 80 %."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()
    line: bool = True
    labels: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot; ``words`` say in one sentence what it shows, for those who do not see it.

    ``even`` draws both axes to one scale, as a target needs it.
    """

    title: str
    x: str
    y: str
    series: tuple[Series, ...]
    words: str
    even: bool = False

    def to_json(self) -> Json:
        """The plot as an object."""
        return {
            "title": self.title,
            "x": self.x,
            "y": self.y,
            "words": self.words,
            "even": self.even,
            "series": [
                {
                    "name": one.name,
                    "x": [float(v) for v in one.x],
                    "y": [float(v) for v in one.y],
                    "low": [float(v) for v in one.low],
                    "high": [float(v) for v in one.high],
                    "line": one.line,
                    "labels": list(one.labels),
                }
                for one in self.series
            ],
        }


@dataclass(frozen=True, slots=True)
class Account:
    """What a task found.

    answer     the one thing to know, one or two sentences
    sentences  what else is to be said, in order
    cautions   what can hurt or mislead; shown before everything else that follows
    rests_on   where the numbers come from and what they cannot know
    papers     what can be printed
    """

    task: str
    title: str
    answer: str
    sentences: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    plots: tuple[Plot, ...] = ()
    cautions: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()
    papers: tuple[Paper, ...] = field(default=())

    def to_json(self) -> Json:
        """The account by schema/account.json."""
        body: Json = {
            "task": self.task,
            "title": self.title,
            "answer": self.answer,
            "sentences": list(self.sentences),
            "cautions": list(self.cautions),
            "tables": [
                {
                    "title": table.title,
                    "columns": list(table.columns),
                    "rows": [[_cell(cell) for cell in row] for row in table.rows],
                    "note": table.note,
                }
                for table in self.tables
            ],
            "plots": [plot.to_json() for plot in self.plots],
            "rests_on": list(self.rests_on),
            "papers": [paper.to_json() for paper in self.papers],
        }
        return headed("account", VERSION, body)


def in_units(account: Account, system: System) -> Account:
    """The account with metres beside every fixed distance in yards, where this archer counts in metres."""
    return account if system is not System.METRIC else cast(Account, _beside(account))


def _beside(part: Any) -> Any:  # noqa: ANN401 - every kind of value an account is made of comes back as the same kind
    if isinstance(part, str):
        return yards_beside(part, System.METRIC)
    if isinstance(part, tuple | list):
        return type(part)(_beside(one) for one in part)
    if isinstance(part, Mapping):
        return {key: _beside(value) for key, value in part.items()}
    if is_dataclass(part) and not isinstance(part, type):
        return replace(part, **{one.name: _beside(getattr(part, one.name)) for one in fields(part)})
    return part


def _cell(cell: Cell) -> Json:
    """A cell as an object: every one has a text, a quantity its value and unit as well."""
    if isinstance(cell, str):
        return {"text": cell}
    return cast(Json, dict(cell))
