"""A move as numbers and words: what it is, what it should do, what it costs, and the event that logs it when done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from spinewright.advice import Move, MoveKind, Weighed
from spinewright.advice.phrases import Style, move_phrase, put_back_phrase
from spinewright.equipment import Setup
from spinewright.units import INCH, Kind, System
from spinewright.workflow.setup_json import setup_json
from spinewright.workflow.showing import Json, Voice

__all__ = ["event_of", "move_json", "move_words", "weighed_json"]

_KINDS: Mapping[MoveKind, Kind] = MappingProxyType(
    {
        MoveKind.REST_SIDEWAYS: Kind.LENGTH,
        MoveKind.REST_HEIGHT: Kind.LENGTH,
        MoveKind.NOCK_POINT: Kind.LENGTH,
        MoveKind.CUT: Kind.LENGTH,
        MoveKind.POINT: Kind.MASS,
        MoveKind.OTHER_SHAFT: Kind.SPINE,
    }
)
_COUNTED: Mapping[MoveKind, str] = MappingProxyType({MoveKind.SHOOT: "shots of each", MoveKind.BOLTS: "turns"})


def move_words(move: Move, now: Setup, voice: Voice) -> str:
    """The move as an instruction."""
    return move_phrase(move, now, Style(voice.hand, voice.system))


def move_json(move: Move, now: Setup, voice: Voice) -> Json:
    """``move`` by ``schema/parts.json``: 'size' is without sign, the words say which way."""
    return {
        "kind": str(move.kind),
        "words": move_words(move, now, voice),
        "size": _size(move, voice),
        "minutes": move.minutes,
        "parts": move.parts,
        "cannot_undo": move.cannot_undo,
        "put_back": put_back_phrase(move, now, Style(voice.hand, voice.system)),
        "after": None if move.after is None else setup_json(move.after, voice),
        "event": event_of(move, now, voice),
    }


def weighed_json(weighed: Weighed, now: Setup, voice: Voice) -> Json:
    """A weighed move: the move, and what it is expected to do."""
    gap = weighed.gap
    return {
        **move_json(weighed.move, now, voice),
        "gap": voice.forecast(gap.middle, gap.low, gap.high),
        "under_an_inch": weighed.within,
        "under_an_inch_with_rest_at_start": weighed.spine_within,
        "smaller_than_now": weighed.better,
        "too_short": weighed.too_short,
        "worth_minutes": weighed.worth,
    }


def _size(move: Move, voice: Voice) -> Json | None:
    if move.kind in _COUNTED:
        count = abs(move.amount)
        return {"value": count, "unit": _COUNTED[move.kind], "text": f"{count:g} {_COUNTED[move.kind]}"}
    kind = _KINDS.get(move.kind)
    return None if kind is None else voice.quantity(abs(move.amount), kind)


def event_of(move: Move, now: Setup, voice: Voice) -> Json | None:
    """The event that logs ``move`` once it is done as intended; None where what is seen has to be filled in.

    Lengths after a cut are those intended: measure, and put the measured ones in their place.
    """
    write = _WRITERS.get(move.kind)
    return None if write is None else write(move, now, voice)


def _rest(move: Move, now: Setup, voice: Voice) -> Json:
    sideways = move.kind is MoveKind.REST_SIDEWAYS
    rest = now.bow.rest
    per_click = rest.per_click_sideways if sideways else rest.per_click_height
    word = _side(move.amount, voice) if sideways else _up(move.amount)
    event: Json = {"kind": "rest moved", "intended": f"{word} {_written(abs(move.amount), voice)}"}
    if per_click:
        event["clicks"] = f"{word} {round(abs(move.amount) / per_click)}"
    return event


def _nock_point(move: Move, _now: Setup, voice: Voice) -> Json:
    return {"kind": "nock point moved", "intended": f"{_up(move.amount)} {_written(abs(move.amount), voice)}"}


def _bolts(move: Move, _now: Setup, _voice: Voice) -> Json:
    return {"kind": "bolts turned", "both_bolts": f"{'in' if move.amount > 0 else 'out'} {abs(move.amount):g}"}


def _point(move: Move, now: Setup, voice: Voice) -> Json:
    after = (move.after or now).build.head
    return {"kind": "point changed", "mass": _mass(after.mass, voice), "length": _written(after.length, voice)}


def _cut(move: Move, now: Setup, voice: Voice) -> Json:
    after = (move.after or now).build
    return {
        "kind": "cut",
        "intended": _written(abs(move.amount), voice),
        "throat_length": _written(after.throat_length, voice),
        "carbon_length": _written(after.carbon_length, voice),
    }


_WRITERS: Mapping[MoveKind, Callable[[Move, Setup, Voice], Json]] = MappingProxyType(
    {
        MoveKind.REST_SIDEWAYS: _rest,
        MoveKind.REST_HEIGHT: _rest,
        MoveKind.NOCK_POINT: _nock_point,
        MoveKind.BOLTS: _bolts,
        MoveKind.POINT: _point,
        MoveKind.CUT: _cut,
    }
)


def _side(y: float, voice: Voice) -> str:
    return "left" if y * voice.hand.sideways_sign >= 0 else "right"


def _up(z: float) -> str:
    return "up" if z >= 0 else "down"


def _written(length: float, voice: Voice) -> str:
    """A length [m] as a session file has it, to a hundredth of a millimetre."""
    return f"{length / INCH:.4f} in" if voice.system is System.INCH else f"{length * 1e3:.2f} mm"


def _mass(mass: float, voice: Voice) -> str:
    return f"{mass / 64.79891e-6:.1f} gr" if voice.system is System.INCH else f"{mass * 1e3:.2f} g"
