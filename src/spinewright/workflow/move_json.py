"""A move as numbers and words: what it is, what it should do, what it costs, and the events that log it when done."""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot
from types import MappingProxyType

from spinewright.advice import Move, MoveKind, Weighed
from spinewright.advice.phrases import Style, move_phrase, put_back_phrase
from spinewright.equipment import Setup
from spinewright.units import Kind
from spinewright.workflow.move_events import events_between
from spinewright.workflow.setup_json import setup_json
from spinewright.workflow.showing import Json, Voice

__all__ = ["move_json", "move_words", "weighed_json"]

_KINDS: Mapping[MoveKind, Kind] = MappingProxyType(
    {
        MoveKind.REST_SIDEWAYS: Kind.LENGTH,
        MoveKind.REST_HEIGHT: Kind.LENGTH,
        MoveKind.REST_BOTH: Kind.LENGTH,
        MoveKind.NOCK_POINT: Kind.LENGTH,
        MoveKind.STEP_BACK: Kind.DISTANCE,
        MoveKind.CUT: Kind.LENGTH,
        MoveKind.POINT: Kind.MASS,
        MoveKind.OTHER_SHAFT: Kind.SPINE,
    }
)
_TURNS = "turns"
_BARE = "bare shots"


def move_words(move: Move, now: Setup, voice: Voice) -> str:
    """The move as an instruction."""
    return move_phrase(move, now, Style(voice.hand, voice.system))


def move_json(move: Move, now: Setup, voice: Voice) -> Json:
    """``move`` by ``schema/parts.json``: 'size' is without sign, the words say which way."""
    return {
        "kind": str(move.kind),
        "words": move_words(move, now, voice),
        "size": _size(move, now, voice),
        "fletched": move.fletched,
        "minutes": move.minutes,
        "parts": move.parts,
        "cannot_undo": move.cannot_undo,
        "put_back": put_back_phrase(move, now, Style(voice.hand, voice.system)),
        "after": None if move.after is None else setup_json(move.after, voice),
        "events": [] if move.after is None else list(events_between(now, move.after, voice)),
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


def _size(move: Move, now: Setup, voice: Voice) -> Json | None:
    count = abs(move.amount)
    if move.kind is MoveKind.SHOOT:
        return {"value": count, "unit": _BARE, "text": f"{count:g} bare, {move.fletched} fletched"}
    if move.kind is MoveKind.BOLTS:
        return {"value": count, "unit": _TURNS, "text": f"{count:g} {_TURNS}"}
    kind = _KINDS.get(move.kind)
    if kind is None:
        return None
    size = abs(move.amount)
    if move.kind is MoveKind.REST_BOTH and move.after is not None:
        size = hypot(move.amount, move.after.rest_z - now.rest_z)
    return voice.quantity(size, kind)
