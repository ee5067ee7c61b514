"""Builds in order of what they are worth, and how their numbers are said."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from spinewright.units import FOOT, Kind, System, show_distance
from spinewright.workflow.around.account import Cell
from spinewright.workflow.around.build_lists import Built
from spinewright.workflow.around.looked_up import Rule
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.outlook import Compared, Comparison, Range
    from spinewright.outlook.values import FloatArray

__all__ = ["Ranked", "Row", "Said", "distance_of", "equals", "in_order", "range_of", "text_of", "wind_of"]

_MPH = 5280 * FOOT / 3600  # m/s
LIKELY = 0.5  # a build that can less likely be cut to fit comes after those that can


@dataclass(frozen=True, slots=True)
class Ranked:
    """What was asked for, every build with what was found, and those that cannot be built with the reason.

    ``rule`` is the kept limit that says how thick a shaft may be, where one was taken.
    """

    wish: str
    asked: Comparison
    found: tuple[tuple[Built, Compared], ...]
    impossible: tuple[tuple[str, str], ...]
    rule: Rule | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One ranked build: its worth, how far it is ``behind`` the first, and whether that is to be seen."""

    built: Built
    compared: Compared
    worth: Range
    behind: Range
    apart: bool

    @property
    def likely(self) -> bool:
        """Whether it can most likely be cut to fit."""
        return self.compared.reach >= LIKELY


@dataclass(frozen=True, slots=True)
class Said:
    """The ranking in this archer's units: ``points`` says whether points are counted, or else the rms miss."""

    voice: Voice
    asked: Comparison
    points: bool

    def worth(self, value: Range) -> Cell:
        """Points an arrow, or a length."""
        if not self.points:
            return self.length(value)
        text = f"{value.middle:z.2f} ({value.low:z.2f} to {value.high:z.2f})"
        return {"middle": value.middle, "low": value.low, "high": value.high, "unit": "1", "text": text}

    def length(self, value: Range) -> Cell:
        """A length with its bounds."""
        return self.voice.interval(value.middle, value.low, value.high, Kind.LENGTH)


def in_order(ranked: Ranked, points: bool) -> list[Row]:
    """Those that can likely be cut to fit first; of these the best and what is within doubt of it, likeliest first."""
    from spinewright.outlook import Range

    shown = []
    for built, compared in ranked.found:
        if compared.draws is not None:
            worth = Range.of(compared.draws.worth[compared.draws.solved])
            shown.append((built, compared, worth))
    sign = -1.0 if points else 1.0
    shown.sort(key=lambda one: (one[1].reach < LIKELY, sign * one[2].middle))
    rows = [_row(one, shown[0][1], points=points) for one in shown]
    rows.sort(key=lambda row: (not row.likely, row.apart, 0.0 if row.apart else -row.compared.reach))
    return rows


def _row(shown: tuple[Built, Compared, Range], best: Compared, *, points: bool) -> Row:
    from spinewright.outlook import told_apart

    built, compared, worth = shown
    assert compared.draws is not None  # noqa: S101 - only those with an answer are shown
    assert best.draws is not None  # noqa: S101
    behind, apart = told_apart(compared.draws, best.draws, points=points)
    return Row(built, compared, worth, behind, apart)


def equals(rows: list[Row]) -> list[Row]:
    """The first, and what cannot be told apart from the best and is as likely to fit."""
    return [row for row in rows if not row.apart and row.likely is rows[0].likely]


def range_of(row: Row, what: str) -> Range:
    """Of one of the arrays of a build's draws."""
    from spinewright.outlook import Range

    draws = row.compared.draws
    assert draws is not None  # noqa: S101 - only those with an answer are ranked
    array: FloatArray = getattr(draws, what)
    return Range.of(array[draws.solved])


def text_of(cell: Cell) -> str:
    """What a person reads of a cell."""
    return cell if isinstance(cell, str) else str(cell["text"])


def distance_of(voice: Voice, metres: float) -> str:
    """A distance in words."""
    return show_distance(metres, voice.system)


def wind_of(voice: Voice, speed: float) -> str:
    """A wind in words: who reads feet a second of an arrow reads miles an hour of the wind."""
    if voice.system is System.INCH:
        return f"{speed / _MPH:.2g} mph"
    return str(voice.quantity(speed, Kind.SPEED)["text"])
