"""Reads one [[event]] section into its event."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from types import MappingProxyType
from typing import TypedDict

from spinewright.equipment.arrow import HeadKind
from spinewright.errors import EvidenceError, InputError, Place, SessionFileError
from spinewright.evidence.limits import shaft_number
from spinewright.evidence.values import (
    BowCheck,
    ContactCheck,
    Impact,
    NockReading,
    NockSeries,
    SpeedShot,
    TargetKind,
    Tear,
)
from spinewright.logbook import events as ev
from spinewright.logbook import sections
from spinewright.logbook.event_keys import EVENT_HEAD, EVENTS
from spinewright.logbook.keys import Key
from spinewright.logbook.phrases import read_lean
from spinewright.logbook.table import Table, nearest
from spinewright.units import Hand, parse_offset

__all__ = ["read_event"]

_ID = re.compile(r"[A-Za-z0-9_-]{1,40}", re.ASCII)
_PLACES = MappingProxyType({"y": "hole", "z": "hole", "lean_y": "nock_leans", "lean_z": "nock_leans"})
_TAILS = MappingProxyType({"tail_y": "tail", "tail_z": "tail"})
_FLETCHED = MappingProxyType({"fletched": "fletched_centre"})
_USUAL_KEYS = frozenset({"shaft", "state", "hole", "nock_leans", "bad"})
_STATES = MappingProxyType({"bare": True, "fletched": False})
_SPEED_DOUBT = 0.6  # m/s, one sd of a single chronograph reading (from memory)


class _Head(TypedDict):
    """What every event has, read before its kind is looked at."""

    id: str
    when: date | None
    note: str


def read_event(data: object, number: int, hand: Hand) -> ev.Event:
    """Event ``number`` (counted from 1) of a file, from its section ``data``."""
    path = f"event[{number}]"
    kind = data.get("kind") if isinstance(data, Mapping) else None
    if not isinstance(kind, str) or kind not in EVENTS:
        what = "an event has no kind" if kind in (None, "") else f"{kind!r} is not a kind of event"
        raise SessionFileError(what, nearest(str(kind), list(EVENTS)), Place(field=f"{path}.kind"))
    table = Table.over(data, _ALL_KEYS[kind], path, hand)
    head = _Head(
        id=_read_id(table, number), when=table.maybe("when", table.moment), note=table.get("note", table.text, "")
    )
    with table.placed():
        return _READERS[kind](table, head)


_ALL_KEYS: MappingProxyType[str, tuple[Key, ...]] = MappingProxyType(
    {kind: EVENT_HEAD + keys for kind, keys in EVENTS.items()}
)


def _read_id(table: Table, number: int) -> str:
    given = table.maybe("id", table.text)
    if given is None:
        return f"#{number}"
    if not _ID.fullmatch(given):
        raise SessionFileError(
            f"{given!r} cannot be an id",
            "write up to 40 letters, digits, - or _, or leave the id out",
            Place(field=table.at("id")),
        )
    return given


def _one_of(table: Table, name: str, words: tuple[str, ...]) -> str:
    value = table.text(name).lower()
    if value not in words:
        raise SessionFileError(
            f"{value!r} is not a {name} known here",
            "write " + " or ".join(f'"{word}"' for word in words),
            Place(field=table.at(name)),
        )
    return value


def _bare(table: Table) -> bool:
    return _one_of(table, "state", ("bare", "fletched")) == "bare"


def _bow_check(table: Table, head: _Head) -> ev.Event:
    items = {name: table.maybe(name, table.yes) for name in BowCheck.__dataclass_fields__}
    weighed = table.maybe("weighed", table.quantity)
    return ev.BowChecked(**head, check=BowCheck(**items), weighed=weighed)


def _contact_check(table: Table, head: _Head) -> ev.Event:
    items = {name: table.maybe(name, table.yes) for name in ContactCheck.__dataclass_fields__}
    return ev.ContactChecked(**head, check=ContactCheck(**items))


def _safe_length(table: Table, head: _Head) -> ev.Event:
    for name, what in (("helper", "without a helper"), ("backstop", "without facing a backstop")):
        if not table.yes(name):
            raise EvidenceError(
                f"a shortest-safe-length mark made {what} does not count",
                "never look along a drawn bow yourself: let a helper mark the shaft while you face a backstop",
                Place(field=table.at(name)),
            )
    return ev.SafeLengthMarked(**head, length=table.quantity("mark"))


def _hit(table: Table) -> ev.Hit:
    hole = table.way("hole")
    lean = table.maybe("nock_leans", table.lean)
    named = table.maybe("head", table.word(HeadKind))
    with table.placed(_PLACES):
        impact = Impact(
            shaft=table.whole("shaft"),
            bare=_bare(table),
            y=hole.y or 0.0,
            z=hole.z or 0.0,
            called_bad=table.get("bad", table.yes, False),
            lean_y=None if lean is None else lean[0],
            # "right 2 deg" says nothing of height: only what was named was looked at
            lean_z=lean[1] if lean is not None and (lean[1] or not lean[0]) else None,
            head=named or HeadKind.FIELD,
        )
    return ev.Hit(impact, head_named=named is not None)


def _usual_hits(rows: object, hand: Hand) -> tuple[ev.Hit, ...] | None:
    """Arrows as nearly all are written, in a third of the time: every one of a logbook passes here when it is opened.

    None where any is written otherwise or is wrong: :func:`_hit` then reads them all, and says what and where.
    """
    if not isinstance(rows, list):
        return None
    found: list[ev.Hit] = []
    try:
        for row in rows:
            one = _usual_hit(row, hand) if isinstance(row, Mapping) and row.keys() <= _USUAL_KEYS else None
            if one is None:
                return None
            found.append(one)
    except InputError:
        return None
    return tuple(found)


def _usual_hit(row: Mapping[str, object], hand: Hand) -> ev.Hit | None:
    shaft, bad, lean = row.get("shaft"), row.get("bad", False), row.get("nock_leans")
    state = _STATES.get(str(row.get("state")))
    if state is None or type(shaft) is not int or not isinstance(bad, bool) or lean == "" or shaft > 999_999:
        return None
    y, z = parse_offset(row.get("hole"), hand)
    lean_y, lean_z = (None, None) if lean is None else read_lean(lean, hand)
    if not lean_z and lean_y:
        lean_z = None
    return ev.Hit(Impact(shaft, state, y or 0.0, z or 0.0, bad, lean_y, lean_z))


def _shots(table: Table, head: _Head) -> ev.Event:
    distance = table.quantity("distance")
    target = table.get("target", table.word(TargetKind), TargetKind.UNKNOWN)
    square = table.get("square", table.yes, True)
    hits = _usual_hits(table.raw("hits"), table.hand)
    if hits is None:
        hits = tuple(_hit(row) for row in table.sections("hits"))
    if "purpose" not in table.keys:
        return ev.Shots(**head, distance=distance, target=target, hits=hits, square_to_line=square)
    purpose = _one_of(table, "purpose", ("before", "after"))
    return ev.ProofGroup(
        **head,
        distance=distance,
        target=target,
        hits=hits,
        square_to_line=square,
        purpose=purpose,
    )


def _tear(table: Table, head: _Head) -> ev.Event:
    tail = table.way("tail")
    with table.placed(_TAILS):
        tear = Tear(
            shaft=table.whole("shaft"),
            bare=_bare(table),
            distance=table.quantity("distance"),
            tail_y=tail.y or 0.0,
            tail_z=tail.z or 0.0,
            called_bad=table.get("bad", table.yes, False),
        )
    return ev.PaperTorn(**head, tear=tear)


def _nock_series(table: Table, head: _Head) -> ev.Event:
    paper = _one_of(table, "through", ("paper", "target")) == "paper"
    turning = _one_of(table, "turning", ("clockwise", "counterclockwise"))
    sign = (1.0 if turning == "clockwise" else -1.0) * table.hand.sideways_sign
    table.raw("readings")
    readings = []
    for row in table.sections("readings"):
        place = row.way("tail" if paper else "hole")
        angle = row.quantity("nock")
        with row.placed(MappingProxyType({"angle": "nock", "y": "tail" if paper else "hole"})):
            readings.append(NockReading(angle=sign * angle if angle else 0.0, y=place.y or 0.0, z=place.z or 0.0))
    centre = table.maybe("fletched_centre", table.way)
    with table.placed(_FLETCHED):
        series = NockSeries(
            shaft=table.whole("shaft"),
            bare=_bare(table),
            distance=table.quantity("distance"),
            paper=paper,
            readings=tuple(readings),
            fletched=None if centre is None else (centre.y or 0.0, centre.z or 0.0),
            fletched_shots=table.get("fletched_shots", table.whole, 0),
        )
    return ev.NockSeriesShot(**head, series=series)


def _chronograph(table: Table, head: _Head) -> ev.Event:
    shot = SpeedShot(
        speed=table.quantity("speed"), bare=_bare(table), doubt=table.get("doubt", table.quantity, _SPEED_DOUBT)
    )
    return ev.SpeedRead(**head, shot=shot)


def _some_of(table: Table, *names: str) -> None:
    if not any(table.given(name) for name in names):
        listed = ", ".join(names[:-1]) + " or " + names[-1]
        raise SessionFileError(
            f"'{table.data['kind']}' does not say what was done",
            f"fill in {listed}, for example {names[0]} = {table.keys[names[0]].example}",
            Place(field=table.path),
        )


def _rest_moved(table: Table, head: _Head) -> ev.Event:
    _some_of(table, "clicks", "intended", "measured")
    return ev.RestMoved(
        **head,
        clicks=table.get("clicks", table.clicks, ev.Way()),
        intended=table.get("intended", table.way, ev.Way()),
        measured=table.get("measured", table.way, ev.Way()),
    )


def _rest_measured(table: Table, head: _Head) -> ev.Event:
    names = ("sideways_per_click", "height_per_click", "centre_shot", "rest_height")
    _some_of(table, *names)
    clicks_y, clicks_z, centre_shot, height = (table.maybe(name, table.quantity) for name in names)
    return ev.RestMeasured(
        **head, per_click_sideways=clicks_y, per_click_height=clicks_z, centre_shot=centre_shot, height=height
    )


def _nock_point_moved(table: Table, head: _Head) -> ev.Event:
    _some_of(table, "intended", "measured")
    ways = {name: table.get(name, table.way, ev.Way()) for name in ("intended", "measured")}
    for name, way in ways.items():
        if way.y:
            raise SessionFileError(
                "a nock point moves only up or down",
                f"write for example {name} = {table.keys[name].example}",
                Place(field=table.at(name)),
            )
    return ev.NockPointMoved(**head, intended=ways["intended"].z, measured=ways["measured"].z)


def _bolts_turned(table: Table, head: _Head) -> ev.Event:
    turns, weighed = table.turns("both_bolts"), table.maybe("weighed", table.quantity)
    return ev.BoltsTurned(**head, turns=turns, weighed=weighed)


def _cut(table: Table, head: _Head) -> ev.Event:
    return ev.Cut(
        **head,
        throat_length=table.quantity("throat_length"),
        carbon_length=table.quantity("carbon_length"),
        intended=table.maybe("intended", table.quantity),
    )


def _point_changed(table: Table, head: _Head) -> ev.Event:
    return ev.PointChanged(**head, head=sections.read_point(table))


def _nock_turned(table: Table, head: _Head) -> ev.Event:
    return ev.NockTurned(**head, angle=table.nock_turn("turned"), shaft=table.maybe("shaft", _shaft(table)))


def _shaft_set_aside(table: Table, head: _Head) -> ev.Event:
    return ev.ShaftSetAside(**head, shaft=_shaft(table)("shaft"))


def _shaft(table: Table) -> Callable[[str], int]:
    """A reader of the number written on a shaft."""

    def read(name: str) -> int:
        number = table.whole(name)
        shaft_number(number)
        return number

    return read


def _shaft_changed(table: Table, head: _Head) -> ev.Event:
    return ev.ShaftChanged(
        **head,
        shaft=sections.read_shaft(table.section("shaft")) if table.given("shaft") else None,
        throat_length=table.quantity("throat_length"),
        carbon_length=table.quantity("carbon_length"),
        spare_shafts=table.maybe("spare_shafts", table.whole),
    )


def _build_changed(table: Table, head: _Head) -> ev.Event:
    parts = ("nock", "bushing", "wrap", "insert", "collar")
    _some_of(table, *parts, "vanes", "throat_length")
    read = {name: sections.read_component(table.section(name)) for name in parts if table.given(name)}
    return ev.BuildChanged(
        **head,
        vanes=sections.read_vanes(table.section("vanes")) if table.given("vanes") else None,
        throat_length=table.maybe("throat_length", table.quantity),
        **read,
    )


def _tape_changed(table: Table, head: _Head) -> ev.Event:
    return ev.TapeChanged(**head, mass=table.quantity("tape"))


def _bow_changed(table: Table, head: _Head) -> ev.Event:
    measured = ("weighed", "let_off", "draw_length", "brace_height", "axle_to_axle", "string_mass", "on_string")
    return ev.BowChanged(
        **head,
        what=table.text("what"),
        curve=sections.read_curve(table),
        rest=sections.read_rest(table.section("rest")) if table.given("rest") else None,
        **{name: table.maybe(name, table.quantity) for name in measured},
    )


def _sight_moved(table: Table, head: _Head) -> ev.Event:
    _some_of(table, "clicks", "measured")
    clicks, measured = table.get("clicks", table.clicks, ev.Way()), table.get("measured", table.way, ev.Way())
    return ev.SightMoved(**head, clicks=clicks, measured=measured)


def _flex_check(table: Table, head: _Head) -> ev.Event:
    shaft, sound = table.whole("shaft"), table.yes("sound")
    return ev.FlexChecked(**head, shaft=shaft, sound=sound)


def _settings_good(_table: Table, head: _Head) -> ev.Event:
    return ev.SettingsMarkedGood(**head)


def _answers(table: Table, head: _Head) -> ev.Event:
    table.raw("answers")
    said = tuple((row.text("question"), row.text("answer")) for row in table.sections("answers"))
    return ev.AnswersKept(**head, to=table.text("to"), answers=said)


def _undo(table: Table, head: _Head) -> ev.Event:
    return ev.Undone(**head, undoes=table.text("undoes"))


_READERS: MappingProxyType[str, Callable[[Table, _Head], ev.Event]] = MappingProxyType(
    {
        "bow check": _bow_check,
        "contact check": _contact_check,
        "safe length": _safe_length,
        "shots": _shots,
        "proof group": _shots,
        "tear": _tear,
        "nock series": _nock_series,
        "chronograph": _chronograph,
        "rest moved": _rest_moved,
        "rest measured": _rest_measured,
        "nock point moved": _nock_point_moved,
        "bolts turned": _bolts_turned,
        "cut": _cut,
        "point changed": _point_changed,
        "nock turned": _nock_turned,
        "shaft set aside": _shaft_set_aside,
        "shaft changed": _shaft_changed,
        "build changed": _build_changed,
        "tape changed": _tape_changed,
        "bow changed": _bow_changed,
        "sight moved": _sight_moved,
        "flex check": _flex_check,
        "settings good": _settings_good,
        "answers": _answers,
        "undo": _undo,
    }
)
