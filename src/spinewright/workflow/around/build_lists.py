"""The shafts and points a person has, read from their lists or from the bench, and the arrows they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from spinewright.equipment import ArrowBuild, Component, Head, HeadKind, Setup, Shaft, ShaftMaterial
from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import Kind, show
from spinewright.workflow.around.answers import Answers, Row, answers_of
from spinewright.workflow.around.invented_lists import POINTS, SHAFTS

__all__ = ["Built", "OwnHead", "OwnShaft", "heads_of", "rebuilt", "shafts_of"]

_SHAFT_NEEDS = ("name", "spine", "weight", "outer diameter", "inner diameter", "length")
_SHAFT_MORE = ("material", "straightness", "insert", "nock", "cost per dozen")
_HEAD_NEEDS = ("mass",)
_HEAD_MORE = ("name", "kind", "length", "blades", "blade area", "width", "cost per dozen")
_Own = TypeVar("_Own", "OwnShaft", "OwnHead")
_KINDS = {"field": HeadKind.FIELD, "fixed": HeadKind.FIXED, "mechanical": HeadKind.MECHANICAL}


@dataclass(frozen=True, slots=True)
class OwnShaft:
    """A kind of shaft: ``insert`` and ``nock`` [kg], None = as on the arrow now; ``cost`` a dozen, None = not said."""

    name: str
    shaft: Shaft
    insert: float | None = None
    nock: float | None = None
    cost: float | None = None


@dataclass(frozen=True, slots=True)
class OwnHead:
    """A point or head, and its ``cost`` a dozen; None = not said."""

    name: str
    head: Head
    cost: float | None = None


@dataclass(frozen=True, slots=True)
class Built:
    """A build by its ``name``, uncut, and what a dozen of it ``cost``; None = not said for all of it."""

    name: str
    setup: Setup
    cost: float | None


def shafts_of(state: BenchState, answers: Answers) -> tuple[OwnShaft, ...]:
    """The listed shafts, or else the set's own and those at hand. Raises InputError with line and column."""
    rows = _listed(answers, "shafts", SHAFTS).table("shafts", _SHAFT_NEEDS, _SHAFT_MORE)
    if rows:
        return _named([_shaft(row) for row in rows], rows)
    kinds = dict.fromkeys([state.now.build.shaft, *state.owned.shafts])
    longest = state.start.build.carbon_length
    return tuple(
        OwnShaft(one.name or _unnamed(one, state), replace(one, uncut_length=one.uncut_length or longest))
        for one in kinds
    )


def _unnamed(shaft: Shaft, state: BenchState) -> str:
    """What a shaft is called that nobody gave a name."""
    if shaft == state.now.build.shaft:
        return "present shaft"
    return f"shaft of spine {show(shaft.static_spine, Kind.SPINE, state.scope.system)}"


def heads_of(state: BenchState, answers: Answers, kind: HeadKind) -> tuple[OwnHead, ...]:
    """The listed heads of that kind, or else the one on the arrow and the points at hand. Raises InputError."""
    rows = _listed(answers, "points", POINTS).table("points", _HEAD_NEEDS, _HEAD_MORE)
    if rows:
        found = tuple(one for one in _named([_head(row, state) for row in rows], rows) if one.head.kind is kind)
        if not found:
            raise InputError(
                f"no {kind} stands in the list", "add one, or choose another purpose", Place(field="points")
            )
        return found
    now = state.now.build.head
    masses = dict.fromkeys([now.mass, *state.owned.points])
    if now.kind is not kind and kind is HeadKind.FIXED:
        raise InputError(
            "a fixed-blade head cannot be computed without its blades",
            "give a list of your heads with blades and blade area",
            Place(field="points"),
        )
    same = now if now.kind is kind else Head(now.mass, now.length, kind)
    return tuple(OwnHead(show(m, Kind.MASS, state.scope.system), replace(same, mass=m)) for m in masses)


def rebuilt(now: Setup, own: OwnShaft, head: Head, carbon_length: float) -> Setup:
    """The bow as it stands with that shaft and head, ``carbon_length`` [m] from end to end. Raises EquipmentError.

    Vanes, bushing, wrap and collar are those of the present arrow, and so is how far the nock stands out.
    """
    build = now.build
    nock, insert = build.nock, build.insert
    if own.nock is not None:
        nock = replace(nock, mass=own.nock)
    if own.insert is not None:
        insert = Component.inside(own.insert, 0.0) if insert is None else replace(insert, mass=own.insert)
    throat = carbon_length + build.carbon_start
    arrow: ArrowBuild = replace(
        build,
        shaft=own.shaft,
        head=head,
        nock=nock,
        insert=insert,
        carbon_length=carbon_length,
        throat_length=throat,
    )
    return replace(now, build=arrow, nock_angle=0.0)


def _listed(answers: Answers, name: str, invented: str) -> Answers:
    """The answers, with the invented list where that is asked for and nothing else was given."""
    if not answers.yes("invented") or answers.has(name):
        return answers
    return answers_of(answers.task, {name: (invented,)}, answers.given)


def _shaft(row: Row) -> OwnShaft:
    try:
        shaft = Shaft(
            static_spine=_must(row, "spine", Kind.SPINE),
            linear_density=_must(row, "weight", Kind.LINEAR_DENSITY),
            outer_diameter=_must(row, "outer diameter", Kind.LENGTH),
            inner_diameter=_must(row, "inner diameter", Kind.LENGTH),
            straightness=_or(row.quantity("straightness", Kind.LENGTH), 0.0762e-3),
            uncut_length=_must(row, "length", Kind.LENGTH),
            material=_material(row),
            name=_text(row, "name"),
        )
    except InputError as error:
        raise _at(error, row) from None
    cost = _cost(row)
    return OwnShaft(shaft.name, shaft, row.quantity("insert", Kind.MASS), row.quantity("nock", Kind.MASS), cost)


def _head(row: Row, state: BenchState) -> OwnHead:
    kind = row.text("kind").lower() or "field"
    if kind not in _KINDS:
        raise InputError(f"'{kind}' is not a kind of head", f"known are {', '.join(_KINDS)}", row.place("kind"))
    try:
        head = Head(
            mass=_must(row, "mass", Kind.MASS),
            length=_or(row.quantity("length", Kind.LENGTH), 0.025),
            kind=_KINDS[kind],
            blade_area=_or(row.quantity("blade area", Kind.AREA), 0.0),
            blade_count=_blades(row),
            width=_or(row.quantity("width", Kind.LENGTH), 0.0),
        )
    except InputError as error:
        raise _at(error, row) from None
    return OwnHead(row.text("name") or show(head.mass, Kind.MASS, state.scope.system), head, _cost(row))


def _blades(row: Row) -> int:
    count = _or(row.number("blades"), 0.0)
    if not count.is_integer():
        raise InputError(f"'{row.text('blades')}' is not a whole number", "count the blades", row.place("blades"))
    return int(count)


def _cost(row: Row) -> float | None:
    cost = row.number("cost per dozen")
    if cost is not None and not 0.0 <= cost <= 1e7:
        raise InputError(f"a cost of {cost:g} cannot be right", "write for example 96.50", row.place("cost per dozen"))
    return cost


def _material(row: Row) -> ShaftMaterial:
    text = row.text("material").lower()
    if text and text not in list(ShaftMaterial):
        known = ", ".join(ShaftMaterial)
        raise InputError(f"'{text}' is not a material known here", f"known are {known}", row.place("material"))
    return ShaftMaterial(text or "carbon")


def _must(row: Row, column: str, kind: Kind) -> float:
    found = row.quantity(column, kind)
    if found is None:
        raise InputError(f"the {column} is missing", "every line needs it", row.place(column))
    return found


def _text(row: Row, column: str) -> str:
    found = row.text(column)
    if not found:
        raise InputError(f"the {column} is missing", "every line needs it", row.place(column))
    return found


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _at(error: InputError, row: Row) -> InputError:
    return error.at(line=row.line, table=row.table)


def _named(found: Sequence[_Own], rows: Sequence[Row]) -> tuple[_Own, ...]:
    """What was read, once no name stands there twice."""
    for k, (one, row) in enumerate(zip(found, rows, strict=True)):
        if any(one.name == other.name for other in found[:k]):
            raise InputError(f"'{one.name}' stands there twice", "give each a name of its own", row.place("name"))
    return tuple(found)
