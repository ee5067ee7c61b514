"""A walk to the target as it is tapped in: arrow by arrow, each of which can be corrected or taken back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from spinewright.errors import EvidenceError, Place, SessionFileError
from spinewright.units import System
from spinewright.workflow.benches.sides import lean_words, number, place_words

__all__ = ["Walk", "hit_keys", "moment", "tap_from", "walk_event"]

_KINDS = ("shots", "proof group")
_TAP = {"shaft", "state", "x", "y", "lean_x", "lean_y", "bad", "head", "gone"}
_WALK = {"kind", "distance", "target", "square", "purpose", "when"}


@dataclass(frozen=True, slots=True)
class Walk:
    """What was tapped: ``about`` the whole walk, and the last saying of every tap in the order of their first."""

    id: str
    about: Mapping[str, Any] = field(default_factory=dict)
    taps: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def with_tap(self, tap: str, body: Mapping[str, Any]) -> Walk:
        """The walk after one more saying of a tap."""
        about = {**body["walk"], "when": self.about.get("when") or body["walk"].get("when")}
        return replace(self, about=about, taps={**self.taps, tap: body["tap"]})

    @classmethod
    def of(cls, walk: str, sayings: Sequence[tuple[str, Mapping[str, Any]]]) -> Walk:
        """The walk after every one of ``sayings``, a tap's id with its body, in order."""
        if not sayings:
            return cls(walk)
        last = sayings[-1][1]["walk"]
        about = {
            **last,
            "when": next((one for _, body in sayings if (one := body["walk"].get("when"))), last.get("when")),
        }
        return cls(walk, about, {tap: body["tap"] for tap, body in sayings})

    @property
    def live(self) -> tuple[tuple[str, Mapping[str, Any]], ...]:
        """The taps that were not taken back, with their ids."""
        return tuple((tap, body) for tap, body in self.taps.items() if not body.get("gone"))


def tap_from(body: object) -> dict[str, dict[str, object]]:
    """What a page sent about one tap, checked for its form; the event's reader checks the rest."""
    if not isinstance(body, Mapping) or not all(isinstance(body.get(name), Mapping) for name in ("walk", "tap")):
        raise SessionFileError("a tap needs 'walk' and 'tap'", "send both as objects", Place(field="tap"))
    walk, tap = dict(body["walk"]), dict(body["tap"])
    for found, known, name in ((walk, _WALK, "walk"), (tap, _TAP, "tap")):
        for key in found:
            if key not in known:
                raise SessionFileError(f"'{key}' is not known of a {name}", ", ".join(sorted(known)), Place(field=key))
    for name in ("x", "y"):
        tap[name] = number(name, tap.get(name))
    for name in ("lean_x", "lean_y"):
        tap[name] = None if tap.get(name) is None else number(name, tap[name])
    if walk.get("kind", "shots") not in _KINDS:
        raise SessionFileError(
            f"{walk.get('kind')!r} is no kind of walk", "write shots or proof group", Place(field="kind")
        )
    return {"walk": walk, "tap": tap}


def walk_event(walk: Walk, system: System, when: object = None) -> dict[str, object]:
    """The event that ``walk`` is, with the keys of an [[event]] section. Raises EvidenceError when no arrow is left."""
    live = walk.live
    if not live:
        raise EvidenceError(
            "a walk that has ended keeps at least one arrow", "undo the whole walk instead", Place(field="gone")
        )
    about = walk.about
    kind = about.get("kind") or "shots"
    event: dict[str, object] = {
        "kind": kind,
        "id": walk.id,
        "when": when or moment(about.get("when")),
        "purpose": about.get("purpose") if kind == "proof group" else None,
        "distance": about.get("distance"),
        "target": about.get("target") or None,
        "square": about.get("square"),
        "hits": [hit_keys(body, system) for _, body in live],
    }
    return {name: value for name, value in event.items() if value is not None}


def moment(when: object) -> object:
    """A date, or date and time, of the text a page sent; other texts stay for the reader to refuse."""
    if not isinstance(when, str) or not when:
        return when or None
    try:
        day = len(when) == len("2026-05-03")
        return date.fromisoformat(when) if day else datetime.fromisoformat(when).replace(tzinfo=None, microsecond=0)
    except ValueError:
        return when


def hit_keys(tap: Mapping[str, Any], system: System) -> dict[str, object]:
    """A tap with the keys that it has among the hits of an [[event]] section."""
    hit = {"shaft": tap.get("shaft"), "state": tap.get("state"), "hole": place_words(tap["x"], tap["y"], system)}
    lean = lean_words(tap.get("lean_x"), tap.get("lean_y"))
    if lean is not None:
        hit["nock_leans"] = lean
    if tap.get("bad"):
        hit["bad"] = True
    if tap.get("head"):
        hit["head"] = tap["head"]
    return {name: value for name, value in hit.items() if value is not None} if None in hit.values() else hit
