"""A walk to the target as the page draws it, tap by tap, with what it says so far."""

from __future__ import annotations

from typing import Any

from spinewright.evidence import Group, Impact, Visit, group, read_back, select
from spinewright.logbook import events as ev
from spinewright.units import Kind, show, show_offset
from spinewright.workflow.benches.gap_json import gap_json, gap_of
from spinewright.workflow.benches.kept import Entry
from spinewright.workflow.benches.sides import place, xy
from spinewright.workflow.benches.view import View
from spinewright.workflow.benches.walks import Walk
from spinewright.workflow.read_back import hit_words
from spinewright.workflow.showing import Json

__all__ = ["closed_walks", "open_walk_json", "tap_said", "walk_json"]


def walk_json(view: View, walk: str) -> Json | None:
    """The walk with this id, open or ended; None when no arrow of it counts or it is not there."""
    kept = view.kept
    if kept.ending is not None and kept.ending.id == walk:
        return _walk_json(view, kept.ending, kept.walks[walk], going=True)
    entry = kept.entry(walk)
    if entry is None or not isinstance(entry.read, ev.Shots | ev.ProofGroup):
        return None
    return _walk_json(view, entry, kept.walks.get(walk), going=False)


def open_walk_json(view: View) -> Json | None:
    """The walk that goes on."""
    return walk_json(view, view.kept.open) if view.kept.open else None


def closed_walks(view: View, most: int) -> list[Json]:
    """Walks that have ended and count, the last first."""
    gone = set(view.state.undone)
    entries = view.kept.entries
    ended = [one for one in entries if isinstance(one.read, ev.Shots | ev.ProofGroup) and one.id not in gone]
    return [_drawn_once(view, one) for one in ended[: -most - 1 : -1]]


def _drawn_once(view: View, entry: Entry) -> Json:
    """A walk that has ended and counts, drawn anew only when something it is drawn from has changed.

    Every device at a bow asks for the last walks with every tap of another one.
    """
    assert isinstance(entry.read, ev.Shots | ev.ProofGroup)  # noqa: S101 - only these are walks
    walk = view.kept.walks.get(entry.id)
    drawn_from = (_visit(view, entry.read), walk, view.voice, view.kept.system, view.state.archer.scatter)
    known = entry.drawn.get(view.voice.system)
    if known is None or known[0] != drawn_from:
        known = entry.drawn[view.voice.system] = drawn_from, _walk_json(view, entry, walk, going=False)
    return known[1]


def tap_said(view: View, walk: str, tap: str, made: Json | None) -> str:
    """One tap of a walk, read back in a sentence; ``made`` is the walk's object."""
    body = view.kept.walks[walk].taps[tap]
    if body.get("gone"):
        return f"Shaft {body.get('shaft')} taken back."
    taps: Any = [] if made is None else made["taps"]
    return next((str(one["words"]) for one in taps if one["id"] == tap), "")


def _walk_json(view: View, entry: Entry, walk: Walk | None, *, going: bool) -> Json:
    event = entry.read
    assert isinstance(event, ev.Shots | ev.ProofGroup)  # noqa: S101 - only these are walks
    visit = _visit(view, event)
    found = gap_of(view.state, visit)
    bare, fletched = group(select(visit.impacts, bare=True)), group(select(visit.impacts, bare=False))
    gone = entry.id in view.state.undone
    return {
        "id": entry.id,
        "open": going,
        "counts": not gone,
        "kind": event.kind,
        "purpose": event.purpose if isinstance(event, ev.ProofGroup) else None,
        "when": None if event.when is None else event.when.isoformat(),
        "distance": view.voice.quantity(event.distance, Kind.DISTANCE),
        "distance_said": _distance_said(view, event.distance, walk),
        "target": str(event.target),
        "square": event.square_to_line,
        "taps": _taps(view, visit, walk),
        "said": [f"{_capital(read_back(visit, view.voice.hand, view.voice.system))}."],
        "groups": {"bare": _group(view, bare), "fletched": _group(view, fletched)},
        "gap": None if found is None else gap_json(found, view.voice),
    }


def _visit(view: View, event: ev.Shots | ev.ProofGroup) -> Visit:
    """The walk as replayed, so that shafts set aside are marked; as written when it does not count."""
    for item in reversed(view.state.history.seen):
        if item.event == event.id and isinstance(item.what, Visit):
            return item.what
    return Visit(event.distance, event.target, tuple(hit.impact for hit in event.hits), event.square_to_line)


def _taps(view: View, visit: Visit, walk: Walk | None) -> list[Json]:
    ids = [f"{n}" for n in range(len(visit.impacts))] if walk is None else [tap for tap, _ in walk.live]
    return [_tap(view, tap, one) for tap, one in zip(ids, visit.impacts, strict=True)]


def _tap(view: View, tap: str, impact: Impact) -> Json:
    x, y = xy(impact.y, impact.z, view.voice.hand)
    lean_x, lean_y = None, None
    if impact.lean_y is not None:
        lean_x = xy(impact.lean_y, 0.0, view.voice.hand)[0]
    if impact.lean_z is not None:
        lean_y = impact.lean_z
    return {
        "id": tap,
        "shaft": impact.shaft,
        "state": "bare" if impact.bare else "fletched",
        "x": x,
        "y": y,
        "lean_x": lean_x,
        "lean_y": lean_y,
        "bad": impact.called_bad,
        "head": str(impact.head),
        "aside": impact.set_aside,
        "words": hit_words(impact, view.voice.hand, view.voice.system),
    }


def _group(view: View, found: Group | None) -> Json | None:
    if found is None:
        return None
    where = show_offset(found.y, found.z, view.voice.hand, view.voice.system)
    arrows = f"{found.count} arrow{'' if found.count == 1 else 's'}"
    return {"count": found.count, **place((found.y, found.z), view.voice), "words": f"{arrows}, middle {where}"}


def _distance_said(view: View, distance: float, walk: Walk | None) -> str:
    said = None if walk is None else walk.about.get("distance")
    return str(said) if said else show(distance, Kind.DISTANCE, view.kept.system)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
