"""Joins what two logbooks hold of one bench, so that it does not matter which comes to which, nor how often.

Everything is a set that is only added to: recorded starts, events by their id, sayings of taps. What is shown of a set
(which start counts, the order of events) follows from the set alone. So joining twice changes nothing, and joining in
any order comes to the same.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime

from spinewright.logbook.splitting import event_in
from spinewright.logbook.store.rows import BenchRow, EventRow, HeadRow, TapRow, Whole

__all__ = ["ancestors", "in_story_order", "put_together", "united"]

_FIRST = datetime.min


def united(one: Whole, other: Whole) -> Whole:
    """All that either holds of the same bench; its row is that of ``one`` with what follows from both."""
    named, name = max((both.row.named, both.row.name) for both in (one, other))
    row = replace(
        one.row,
        name=name,
        named=named,
        invented=one.row.invented or other.row.invented,
        made=min(one.row.made, other.row.made),
        joined=True,
    )
    events = (*one.events, *one.variants, *other.events, *other.variants)
    return put_together(row, events, (*one.heads, *other.heads), (*one.taps, *other.taps))


def put_together(row: BenchRow, events: Iterable[EventRow], heads: Iterable[HeadRow], taps: Iterable[TapRow]) -> Whole:
    """A bench of these sets; there is at least one head."""
    counting, variants = _by_id(events)
    starts = _heads(heads)
    return Whole(row, starts[-1], in_story_order(counting), _taps(taps), starts, variants)


def _heads(heads: Iterable[HeadRow]) -> tuple[HeadRow, ...]:
    known: dict[tuple[str, str, tuple[str, ...]], set[str]] = {}
    for one in heads:
        known.setdefault((one.saved, one.text, one.assumed), set()).update(one.after)
    return tuple(
        HeadRow(text, assumed, saved, tuple(sorted(after))) for (saved, text, assumed), after in sorted(known.items())
    )


def _taps(taps: Iterable[TapRow]) -> tuple[TapRow, ...]:
    known: dict[tuple[str, str, str, str], tuple[str, ...]] = {}
    for one in taps:
        key = one.saved, one.walk, one.tap, one.body
        after = known.get(key, one.after)
        known[key] = after if after == one.after else tuple(sorted({*after, *one.after}))
    return tuple(TapRow(walk, tap, body, saved, after) for (saved, walk, tap, body), after in sorted(known.items()))


def _by_id(events: Iterable[EventRow]) -> tuple[dict[str, EventRow], tuple[EventRow, ...]]:
    """The event that counts of each id, the one saved first, and those that say something else under the same id."""
    known: dict[str, dict[str, EventRow]] = {}
    for one in events:
        texts = known.setdefault(one.id, {})
        old = texts.get(one.text, one)
        after = tuple(sorted({*old.after, *one.after}))
        texts[one.text] = EventRow(one.id, one.text, min(old.saved, one.saved), after)
    counting: dict[str, EventRow] = {}
    variants: list[EventRow] = []
    for id_, texts in known.items():
        first, *others = sorted(texts.values(), key=lambda event: (event.saved, event.text))
        counting[id_] = first
        variants += others
    return counting, tuple(sorted(variants, key=lambda one: (one.id, one.saved, one.text)))


def in_story_order(events: Mapping[str, EventRow]) -> tuple[EventRow, ...]:
    """Every event after those it was written after, and apart from that in the order in which things happened.

    When something happened is what the event itself says; one that says nothing stands where it was saved, but not
    after a later one of its own story.
    """
    plain = _sorted(events, dict.fromkeys(events, _FIRST))
    moments = {id_: _moment(events[id_].text) for id_ in plain}
    when: dict[str, datetime] = {}
    latest: dict[str, datetime] = {}
    for id_ in reversed(plain):
        own = moments[id_]
        when[id_] = own if own is not None else min(_saved(events[id_]), latest.get(id_, datetime.max))
        for before in events[id_].after:
            latest[before] = min(when[id_], latest.get(before, datetime.max))
    for id_ in plain:
        known = [when[before] for before in events[id_].after if before in when]
        when[id_] = max([when[id_], *known])
    return tuple(events[id_] for id_ in _sorted(events, when))


def _sorted(events: Mapping[str, EventRow], when: Mapping[str, datetime]) -> list[str]:
    """The ids so that each stands after those it was written after, the earliest first among those that may come."""
    waits = {id_: {one for one in event.after if one in events and one != id_} for id_, event in events.items()}
    follow: dict[str, list[str]] = {}
    for id_, before in waits.items():
        for one in before:
            follow.setdefault(one, []).append(id_)
    keys = {id_: (when[id_], event.saved, id_) for id_, event in events.items()}
    ready = [keys[id_] for id_, before in waits.items() if not before]
    heapq.heapify(ready)
    found: list[str] = []
    done: set[str] = set()
    while len(found) < len(events):
        if not ready:  # two logbooks that say of two events that each came after the other; the earlier goes first
            heapq.heappush(ready, min(keys[id_] for id_ in events if id_ not in done))
        id_ = heapq.heappop(ready)[2]
        if id_ in done:
            continue
        done.add(id_)
        found.append(id_)
        for one in follow.get(id_, ()):
            waits[one].discard(id_)
            if not waits[one] and one not in done:
                heapq.heappush(ready, keys[one])
    return found


def ancestors(events: Sequence[EventRow]) -> dict[str, int]:
    """For each event of a story, as the bits of a number, the places of all that it was written after."""
    place = {one.id: number for number, one in enumerate(events)}
    found: dict[str, int] = {}
    for one in events:
        bits = 0
        for before in one.after:
            if before in found:
                bits |= found[before] | 1 << place[before]
        found[one.id] = bits
    return found


def _moment(text: str) -> datetime | None:
    when = event_in(text).get("when")
    if isinstance(when, datetime):
        return when.replace(tzinfo=None)
    return datetime(when.year, when.month, when.day) if isinstance(when, date) else None


def _saved(event: EventRow) -> datetime:
    try:
        return datetime.fromisoformat(event.saved).astimezone(UTC).replace(tzinfo=None)
    except (ValueError, OverflowError):
        return _FIRST
