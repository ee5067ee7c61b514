"""Reads the table of measured shafts of a set, every wrong value with its line and column."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from spinewright.equipment.plausible import check_range
from spinewright.errors import EquipmentError, InputError, Place
from spinewright.units import GRAIN, INCH, Kind
from spinewright.workflow.around.answers import Answers, Row

if TYPE_CHECKING:
    from spinewright.evidence.round_readings import RoundRead
    from spinewright.outlook.alike import Shafts

__all__ = ["Listed", "listed_shafts", "shaft_numbers", "shafts_of"]

_MOST = 288
_SPINES = ("spine 1", "spine 2", "spine 3", "spine 4")
_COLUMNS = ("mass", *_SPINES, "straightness", "length")
_UNCUT = 0.5 / 32.0 * INCH  # m, finished arrows that differ by less are as long as one another


@dataclass(frozen=True, slots=True)
class Listed:
    """The shafts in the order of the table; None where a column was left out.

    mass         [kg] at the length all are cut to;  cut_to [m] that length, None when nothing was taken off the masses
    spines       [m]  mean of the readings of the current test;  around what the four readings say
    straightness [m], lengths [m]
    """

    numbers: tuple[int, ...]
    mass: tuple[float, ...] | None
    cut_to: float | None
    spines: tuple[float, ...] | None
    around: tuple[RoundRead, ...] | None
    straightness: tuple[float, ...] | None
    lengths: tuple[float, ...] | None
    finished: bool

    @property
    def uneven(self) -> float:
        """[m] by how much finished arrows differ in length; 0 for bare shafts, which are cut alike."""
        if not self.finished or self.lengths is None:
            return 0.0
        apart = max(self.lengths) - min(self.lengths)
        return apart if apart > _UNCUT else 0.0


def listed_shafts(answers: Answers) -> Listed:
    """The answered table. Raises InputError with line and column."""
    rows = answers.table("shafts", ("shaft",), _COLUMNS)
    if len(rows) < 2:
        raise InputError("fewer than two shafts are listed", "list one shaft on each line", Place(field="shafts"))
    if len(rows) > _MOST:
        raise InputError(f"{len(rows)} shafts are listed", f"at most {_MOST} at once", Place(field="shafts"))
    numbers = shaft_numbers(rows)
    finished = answers.choice("weighed") == "finished arrows"
    mass = _column(rows, "mass", (30 * GRAIN, 1000 * GRAIN), Kind.MASS)
    lengths = _column(rows, "length", (0.4, 0.95), Kind.LENGTH)
    straight = _column(rows, "straightness", (0.0, 0.005), Kind.LENGTH)
    spines, around = _spines(rows, numbers, answers)
    if mass is None and spines is None and straight is None:
        raise InputError(
            "the table has no mass, spine or straightness",
            "weigh the shafts, or read their spine",
            rows[0].place("mass"),
        )
    cut_to = _cut_to(answers, lengths, finished)
    if mass is not None and cut_to is not None and lengths is not None:
        mass = tuple(one * cut_to / long for one, long in zip(mass, lengths, strict=True))
    return Listed(numbers, mass, cut_to, spines, around, straight, lengths, finished)


def shaft_numbers(rows: tuple[Row, ...]) -> tuple[int, ...]:
    """The numbers in the column 'shaft', each once. Raises InputError with line and column."""
    found: list[int] = []
    for row in rows:
        number = row.number("shaft")
        if number is None or not number.is_integer() or not 1 <= number <= 9999:
            raise InputError("a shaft has no whole number", "number the shafts 1, 2, 3", row.place("shaft"))
        if int(number) in found:
            raise InputError(f"shaft {int(number)} stands there twice", "leave one out", row.place("shaft"))
        found.append(int(number))
    return tuple(found)


def shafts_of(listed: Listed, *, upright: bool) -> Shafts:
    """The same as the science takes them; zeros where nothing was measured."""
    import numpy as np

    from spinewright.outlook.alike import Shafts

    none = np.zeros(len(listed.numbers))
    around = listed.around
    return Shafts(
        stiffness=none if listed.spines is None else -np.log(np.array(listed.spines)),
        stiff=none if around is None else np.array([one.size if one.shown else 0.0 for one in around]),
        power=none if around is None else np.array([one.power for one in around]),
        mass=none if listed.mass is None else np.array(listed.mass),
        crooked=none if listed.straightness is None else np.array(listed.straightness),
        upright=upright,
    )


def _column(rows: tuple[Row, ...], name: str, between: tuple[float, float], kind: Kind) -> tuple[float, ...] | None:
    """The values of a column, None when nothing stands in it anywhere. Raises InputError for a gap."""
    found = [row.quantity(name, kind) for row in rows]
    if all(one is None for one in found):
        return None
    values = []
    for row, one in zip(rows, found, strict=True):
        if one is None:
            raise InputError(
                f"there is no {name} here, and other shafts have one",
                "measure it, or leave the column out for all",
                row.place(name),
            )
        try:
            check_range(name, one, *between, kind)
        except EquipmentError as error:
            raise InputError(error.what, error.right, row.place(name)) from None
        values.append(one)
    return tuple(values)


def _spines(
    rows: tuple[Row, ...], numbers: tuple[int, ...], answers: Answers
) -> tuple[tuple[float, ...] | None, tuple[RoundRead, ...] | None]:
    """Mean spine of each shaft, and what four readings say round it."""
    between = (0.150 * INCH, 2.000 * INCH)
    columns = [one for one in (_column(rows, name, between, Kind.SPINE) for name in _SPINES) if one is not None]
    if answers.choice("spine-test") == "older":
        from spinewright.equipment.shaft import spine_from_older_test

        columns = [tuple(spine_from_older_test(value) for value in one) for one in columns]
    if not columns:
        return None, None
    if len(columns) == 1:
        return columns[0], None
    if len(columns) != 4:
        raise InputError(
            f"there are {len(columns)} spine readings of each shaft",
            "read one, or four round it",
            rows[0].place("spine 2"),
        )
    from spinewright.evidence.round_readings import read_round

    around = read_round(numbers, list(zip(*columns, strict=True)), halves=answers.choice("turn") == "45 deg")
    return tuple(one.spine for one in around), tuple(around)


def _cut_to(answers: Answers, lengths: tuple[float, ...] | None, finished: bool) -> float | None:
    """The length [m] that bare shafts of different length are weighed as."""
    wished = answers.maybe("cut-to")
    if finished or lengths is None:
        if wished is not None:
            why = "finished arrows are not cut" if finished else "the table has no lengths"
            raise InputError(
                f"weights cannot be counted at another length: {why}", "leave it out", Place(field="cut-to")
            )
        return None
    shortest = min(lengths)
    if wished is None:
        return shortest
    if wished > shortest + 1e-6 or not math.isfinite(wished) or wished < 0.4:
        raise InputError(
            "a listed shaft is shorter than that, or nobody shoots one so short",
            "write a length that every listed shaft has",
            Place(field="cut-to"),
        )
    return wished
