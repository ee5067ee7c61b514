"""Reads all of a bench on a connection, and puts in what came from another logbook."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

from sqlalchemy import ColumnElement, Connection, bindparam, insert, select, update

from spinewright.logbook.store.rows import BenchRow, EventRow, HeadRow, TapRow, Whole
from spinewright.logbook.store.tables import benches, events, heads, taps, variants

__all__ = [
    "BENCH",
    "events_of",
    "heads_of",
    "leaves_of",
    "put_whole",
    "row_of",
    "said_of_tap",
    "taps_of",
    "whole_of",
]

BENCH = tuple(benches.c[name] for name in BenchRow.__slots__)
"""The columns of a bench's row."""


def row_of(connection: Connection, bench: str) -> BenchRow | None:
    """The bench with this id, or None."""
    row = connection.execute(select(*BENCH).where(benches.c.id == bench)).mappings().first()
    return None if row is None else BenchRow(**row)


def whole_of(connection: Connection, bench: str) -> Whole | None:
    """All of the bench with this id, or None."""
    row = row_of(connection, bench)
    if row is None:
        return None
    starts = heads_of(connection, bench)
    head = max(starts, key=_order_of_head)
    found = variants_of(connection, bench) if row.joined else ()
    return Whole(row, head, events_of(connection, bench), taps_of(connection, bench), starts, found)


def heads_of(connection: Connection, bench: str) -> tuple[HeadRow, ...]:
    """Every recorded start in the order of their moments; the last one counts."""
    rows = connection.execute(select(heads).where(heads.c.bench == bench)).mappings()
    found = [HeadRow(one["text"], _list(one["assumed"]), one["saved"], _list(one["after"])) for one in rows]
    return tuple(sorted(found, key=_order_of_head))


def _order_of_head(head: HeadRow) -> tuple[str, str, tuple[str, ...]]:
    return head.saved, head.text, head.assumed


def leaves_of(said: Sequence[HeadRow] | Sequence[TapRow]) -> list[str]:
    """The moments of the recorded starts, or of the sayings of one tap, that no other was put in the place of."""
    replaced = {moment for one in said for moment in one.after}
    return sorted({one.saved for one in said} - replaced)


def events_of(connection: Connection, bench: str) -> tuple[EventRow, ...]:
    """Every event in the order of the story."""
    columns = events.c.id, events.c.text, events.c.saved, events.c.after
    query = select(*columns).where(events.c.bench == bench).order_by(events.c.place, events.c.seq)
    return tuple(EventRow(id_, text, saved, _list(after)) for id_, text, saved, after in connection.execute(query))


def variants_of(connection: Connection, bench: str) -> tuple[EventRow, ...]:
    """What was written otherwise under the id of an event."""
    columns = variants.c.id, variants.c.text, variants.c.saved, variants.c.after
    query = select(*columns).where(variants.c.bench == bench)
    found = [EventRow(id_, text, saved, _list(after)) for id_, text, saved, after in connection.execute(query)]
    return tuple(sorted(found, key=lambda one: (one.id, one.saved, one.text)))


def taps_of(connection: Connection, bench: str) -> tuple[TapRow, ...]:
    """Every saying of every tap in the order of their moments."""
    return _sayings(connection, taps.c.bench == bench)


def said_of_tap(connection: Connection, bench: str, walk: str, tap: str) -> tuple[TapRow, ...]:
    """Every saying of one tap in the order of their moments."""
    return _sayings(connection, taps.c.bench == bench, taps.c.walk == walk, taps.c.tap == tap)


def _sayings(connection: Connection, *which: ColumnElement[bool]) -> tuple[TapRow, ...]:
    columns = taps.c.walk, taps.c.tap, taps.c.body, taps.c.saved, taps.c.after
    rows = connection.execute(select(*columns).where(*which))  # put in order below, which is quicker than asking for it
    found = [TapRow(walk, tap, body, saved, _list(after)) for walk, tap, body, saved, after in rows]
    return tuple(sorted(found, key=_order_of_tap))


def _order_of_tap(tap: TapRow) -> tuple[str, str, str, str]:
    return tap.saved, tap.walk, tap.tap, tap.body


def put_whole(connection: Connection, new: Whole, now: str) -> None:
    """Put a bench in: a new one, or what is here joined with what another logbook holds. Nothing is taken out."""
    bench = new.row.id
    there = whole_of(connection, bench)
    values = {"name": new.row.name, "named": new.row.named, "invented": new.row.invented, "made": new.row.made}
    leaves = json.dumps(sorted({one.id for one in new.events} - {id_ for one in new.events for id_ in one.after}))
    values |= {"joined": True, "leaves": leaves, "used": now}
    if there is None:
        connection.execute(insert(benches).values(id=bench, revision=1, **values))
    else:
        connection.execute(update(benches).where(benches.c.id == bench).values(**values))
    _put_heads(connection, bench, new.heads, () if there is None else there.heads)
    _put_events(connection, bench, new.events, {} if there is None else {one.id: one for one in there.events})
    kept = set() if there is None else {(one.id, one.text) for one in variants_of(connection, bench)}
    rows = [_event(bench, one) for one in new.variants if (one.id, one.text) not in kept]
    if rows:
        connection.execute(insert(variants), rows)
    _put_taps(connection, bench, new.taps, () if there is None else there.taps)


def _put_heads(connection: Connection, bench: str, new: Sequence[HeadRow], there: Sequence[HeadRow]) -> None:
    known = {_order_of_head(one): one for one in there}
    for one in new:
        after = json.dumps(list(one.after))
        old = known.get(_order_of_head(one))
        if old is None:
            assumed = json.dumps(list(one.assumed))
            values = {"bench": bench, "text": one.text, "assumed": assumed, "saved": one.saved, "after": after}
            connection.execute(insert(heads).values(**values))
        elif old.after != one.after:
            same = heads.c.bench == bench, heads.c.saved == one.saved, heads.c.text == one.text
            connection.execute(update(heads).where(*same).values(after=after))


def _put_events(connection: Connection, bench: str, new: Sequence[EventRow], there: Mapping[str, EventRow]) -> None:
    """The events in their order; one whose other variant counts from now on changes places with it."""
    added, placed = [], []
    for place, one in enumerate(new, 1):
        row = {**_event(bench, one), "place": place}
        if one.id in there:
            placed.append({"of": bench, "which": row.pop("id"), **{k: v for k, v in row.items() if k != "bench"}})
        else:
            added.append(row)
    if added:
        connection.execute(insert(events), added)
    if placed:
        which = events.c.bench == bindparam("of"), events.c.id == bindparam("which")
        names = ("text", "saved", "after", "place")
        connection.execute(update(events).where(*which).values({n: bindparam(n) for n in names}), placed)


def _put_taps(connection: Connection, bench: str, new: Sequence[TapRow], there: Sequence[TapRow]) -> None:
    known = {_order_of_tap(one): one for one in there}
    added = []
    for one in new:
        values = {"walk": one.walk, "tap": one.tap, "body": one.body, "saved": one.saved}
        after = json.dumps(list(one.after))
        old = known.get(_order_of_tap(one))
        if old is None:
            added.append({"bench": bench, **values, "after": after})
        elif old.after != one.after:
            same = (taps.c[name] == value for name, value in values.items())
            connection.execute(update(taps).where(taps.c.bench == bench, *same).values(after=after))
    if added:
        connection.execute(insert(taps), added)


def _event(bench: str, one: EventRow) -> dict[str, object]:
    return {"bench": bench, "id": one.id, "text": one.text, "saved": one.saved, "after": json.dumps(list(one.after))}


def _list(text: str) -> tuple[str, ...]:
    return () if text == "[]" else tuple(json.loads(text))
