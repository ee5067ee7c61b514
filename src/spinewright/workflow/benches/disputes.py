"""Says in plain words where two logbooks of one bow, once joined, do not go together; nothing is decided here.

Two entries are apart from each other when neither was written in the knowledge of the other. Where both changed the
same thing nobody but a person can say how it stands now; a later entry of one who had both at hand settles it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from spinewright.logbook import events as ev
from spinewright.logbook.splitting import event_in
from spinewright.logbook.store import EventRow, HeadRow, TapRow, Whole
from spinewright.logbook.store.stories import leaves_of
from spinewright.logbook.uniting import ancestors
from spinewright.units import System
from spinewright.workflow.benches.walks import hit_keys

__all__ = ["Held", "disputes", "taps_apart"]

_THINGS: Mapping[type[ev.Event], str] = {
    ev.NockPointMoved: "the nock point",
    ev.BoltsTurned: "the limb bolts",
    ev.Cut: "the length of the arrows",
    ev.ShaftChanged: "the length of the arrows",
    ev.PointChanged: "the point",
    ev.BuildChanged: "the parts of the arrows",
    ev.TapeChanged: "the tape on the bare shafts",
    ev.BowChanged: "the bow itself",
    ev.SafeLengthMarked: "the mark of the shortest safe length",
}
_SETTLE = "undo the one that did not happen, or log how it stands now"


@dataclass(frozen=True, slots=True)
class Held:
    """An entry of a joined story that does not count, as it cannot follow what stands before it; ``why`` it cannot."""

    id: str
    read: ev.Event
    text: str
    why: str


def disputes(whole: Whole, counting: Sequence[ev.Event], held: Sequence[Held]) -> tuple[str, ...]:
    """A sentence for each thing that does not go together. ``counting`` are the entries that count or were undone."""
    every = {one.id: one for one in (*counting, *(one.read for one in held))}
    gone = {one.undoes for one in every.values() if isinstance(one, ev.Undone)}
    return (
        *_heads(whole.heads),
        *_held(held, gone),
        *_changed_apart(whole.events, every, gone),
        *_variants(whole.variants, every),
    )


def taps_apart(taps: Sequence[TapRow], read: Iterable[ev.Event], system: System) -> Mapping[tuple[str, str], str]:
    """A sentence for each tap, by its walk and its id, that was corrected otherwise in two logbooks.

    ``read`` are all entries: of a walk that was undone nothing is said.
    """
    every = {one.id: one for one in read}
    gone = {one.undoes for one in every.values() if isinstance(one, ev.Undone)}
    said: dict[tuple[str, str], list[TapRow]] = {}
    for one in taps:
        said.setdefault((one.walk, one.tap), []).append(one)
    found: dict[tuple[str, str], str] = {}
    for (walk, tap), sayings in said.items():
        if len(sayings) == 1 or walk in gone:
            continue
        leaves = set(leaves_of(sayings))
        *earlier, counts = [_saying(one, system) for one in sayings if one.saved in leaves]
        others = dict.fromkeys(one for one in earlier if one != counts)
        if others:
            where = _words(every[walk]) if walk in every else "the walk that goes on"
            found[walk, tap] = (
                f"An arrow of {where} was tapped otherwise in two logbooks apart from each other: what was saved last "
                f"counts ({counts}), and the other is kept ({'; '.join(others)}). Tap it once more as it was."
            )
    return found


def _saying(tap: TapRow, system: System) -> str:
    body = json.loads(tap.body)
    walk, hit = body["walk"], body["tap"]
    if hit.get("gone"):
        return f"shaft {hit.get('shaft')}, taken back"
    about = {name: walk.get(name) for name in ("distance", "target") if walk.get(name)}
    return ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in (hit_keys(hit, system) | about).items())


def _heads(heads: Sequence[HeadRow]) -> Iterator[str]:
    leaves = set(leaves_of(heads))
    if len({(one.text, one.assumed) for one in heads if one.saved in leaves}) > 1:
        yield (
            "The recorded start was changed in two logbooks apart from each other; the one saved last counts, the "
            "other is kept. Look through 'Setting up' and save it once more."
        )


def _held(held: Sequence[Held], gone: set[str]) -> Iterator[str]:
    for one in held:
        if one.id not in gone and not isinstance(one.read, ev.Undone):
            why = one.why.rstrip(".")
            yield f"{_words(one.read)} does not count, since it cannot follow what stands before it: {why}. It is kept."


def _changed_apart(rows: Sequence[EventRow], every: Mapping[str, ev.Event], gone: set[str]) -> Iterator[str]:
    before, place = ancestors(rows), {row.id: number for number, row in enumerate(rows)}
    things: dict[str, list[str]] = {}
    for row in rows:
        for thing in _things(every[row.id]):
            things.setdefault(thing, []).append(row.id)
    for thing, ids in things.items():
        found = _apart([one for one in ids if one not in gone], before, place)
        if found:
            one, later = (every[id_] for id_ in found)
            yield (f"Two logbooks changed {thing} apart from each other: {_words(one)} and {_words(later)}; {_SETTLE}.")


def _apart(ids: Sequence[str], before: Mapping[str, int], place: Mapping[str, int]) -> tuple[str, str] | None:
    """The last two of ``ids`` that are apart and that no later one was written in the knowledge of both."""
    earlier = 0
    for id_ in ids:
        earlier |= 1 << place[id_]
    for number in range(len(ids) - 1, -1, -1):
        later = ids[number]
        earlier &= ~(1 << place[later])
        settled = 0
        for last in ids[number + 1 :]:
            if before[last] >> place[later] & 1:
                settled |= before[last]
        apart = earlier & ~before[later] & ~settled
        if apart:
            return next(one for one in reversed(ids[:number]) if apart >> place[one] & 1), later
    return None


def _variants(variants: Sequence[EventRow], every: Mapping[str, ev.Event]) -> Iterator[str]:
    for one in variants:
        kept = every.get(one.id)
        if kept is not None and one.text.strip():
            keys = event_in(one.text)
            said = ", ".join(f"{name} {value}" for name, value in keys.items() if name not in ("id", "hits"))
            yield (
                f"{_words(kept)} was written otherwise in another logbook; what was saved first counts, and the other "
                f"is kept: {said}."
            )


def _words(event: ev.Event) -> str:
    return f"'{event.kind}'{event.on_day} (entry {event.id})"


def _things(event: ev.Event) -> Iterator[str]:
    if isinstance(event, ev.RestMoved):
        ways = (event.clicks, event.intended, event.measured)
        if any(way.y is not None for way in ways):
            yield "the rest sideways"
        if any(way.z is not None for way in ways):
            yield "the height of the rest"
    elif isinstance(event, ev.RestMeasured):
        if event.centre_shot is not None:
            yield "the rest sideways"
        if event.height is not None:
            yield "the height of the rest"
    elif isinstance(event, ev.SightMoved):
        yield "the sight"
    elif isinstance(event, ev.NockTurned):
        yield "the nocks" if event.shaft is None else f"the nock of shaft {event.shaft}"
    elif type(event) in _THINGS:
        yield _THINGS[type(event)]
