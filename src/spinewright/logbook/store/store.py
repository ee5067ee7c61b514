"""Adds and reads rows; nothing that a person wrote down is ever changed or taken out.

In a file there is one writer. On a server there are several: whoever adds to a bench says which revision it was read
at, and where another one was quicker nothing is added.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

from sqlalchemy import Connection, Engine, delete, func, insert, select, update
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as NoConnectionFree

from spinewright.errors import StoreError
from spinewright.logbook.store.rows import AnswerRow, BenchRow, DeviceRow, EventRow, HeadRow, NewBench, TapRow, Whole
from spinewright.logbook.store.server import reason
from spinewright.logbook.store.stories import (
    BENCH,
    events_of,
    heads_of,
    leaves_of,
    put_whole,
    row_of,
    said_of_tap,
    taps_of,
    whole_of,
)
from spinewright.logbook.store.tables import answers, benches, devices, events, heads, taps

__all__ = ["Outrun", "Store"]

_FAILURES = (DBAPIError, NoConnectionFree)


class Outrun(StoreError):  # noqa: N818 - it reads as what happened
    """Another one saved something about this bench since it was read; nothing was changed."""

    def __init__(self) -> None:
        super().__init__("another bench saved something about this bow at the same moment; send it again.")


class Store:
    """All benches in one database. Every method that writes has its rows on the disk when it returns.

    ``shared`` = it is on a server, where others may write too. ``at`` is the revision that a bench was read at.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._lock = threading.Lock()
        self.shared = engine.dialect.name != "sqlite"
        # one picture of the tables for all that is read together, as SQLite gives it by itself
        self._reads = {"isolation_level": "REPEATABLE READ"} if self.shared else {}

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    def benches(self) -> tuple[BenchRow, ...]:
        """All benches, last used first."""
        with self._reading() as connection:
            rows = connection.execute(select(*BENCH).order_by(benches.c.used.desc(), benches.c.made.desc()))
            return tuple(BenchRow(**row) for row in rows.mappings())

    def bench(self, bench: str) -> BenchRow | None:
        """The bench with this id, or None."""
        with self._reading() as connection:
            return row_of(connection, bench)

    def whole(self, bench: str) -> Whole | None:
        """All of the bench with this id as it was at one moment, or None."""
        with self._reading() as connection:
            return whole_of(connection, bench)

    def wholes(self) -> tuple[Whole, ...]:
        """All of every bench as it was at one moment, by their ids."""
        with self._reading() as connection:
            ids = sorted(connection.scalars(select(benches.c.id)))
            return tuple(one for bench in ids if (one := whole_of(connection, bench)) is not None)

    def head(self, bench: str) -> HeadRow:
        """The recorded start that counts now."""
        return self._there(bench).head

    def events(self, bench: str) -> tuple[EventRow, ...]:
        """Every event in the order of the story."""
        with self._reading() as connection:
            return events_of(connection, bench)

    def taps(self, bench: str) -> tuple[TapRow, ...]:
        """Every saying of every tap, in the order in which they were saved."""
        with self._reading() as connection:
            return taps_of(connection, bench)

    def put_wholes(self, new: Sequence[Whole], at: Mapping[str, int]) -> None:
        """Put what other logbooks hold into this one: benches that are new, and benches joined with what is here.

        All or nothing. ``at`` says at which revision those that are here were read. Raises Outrun.
        """
        with self._writing() as connection:
            for one in sorted(new, key=lambda whole: whole.row.id):  # in one order, so that no two wait for each other
                if one.row.id in at:
                    _touch(connection, one.row.id, at[one.row.id])
                put_whole(connection, one, _now())

    def _there(self, bench: str) -> Whole:
        whole = self.whole(bench)
        if whole is None:
            raise StoreError(f"there is no bench '{bench}'.")
        return whole

    def answers(self, bench: str, what: str) -> tuple[AnswerRow, ...]:
        """Everything that was computed of this kind, oldest first."""
        query = select(answers).where(answers.c.bench == bench, answers.c.what == what).order_by(answers.c.seq)
        with self._reading() as connection:
            rows = connection.execute(query).mappings()
            return tuple(AnswerRow(row["what"], row["revision"], row["body"]) for row in rows)

    def last_answer(self, bench: str, what: str) -> AnswerRow | None:
        """What was computed last of this kind, or None."""
        query = select(answers).where(answers.c.bench == bench, answers.c.what == what).order_by(answers.c.seq.desc())
        with self._reading() as connection:
            row = connection.execute(query.limit(1)).mappings().first()
            return None if row is None else AnswerRow(row["what"], row["revision"], row["body"])

    def make(self, new: NewBench) -> None:
        """Make a bench with its start and events."""
        with self._writing() as connection:
            now, name = _now(), _kept(new.name)
            made = {"id": new.id, "name": name, "invented": new.invented, "made": now, "used": now, "revision": 1}
            connection.execute(insert(benches).values(**made, named=now))
            _add_head(connection, new.id, new.head)
            _add_events(connection, new.id, new.events)

    def rename(self, bench: str, name: str) -> None:
        """Give the bench another name."""
        with self._writing() as connection:
            named = _later(_now(), str(connection.scalar(select(benches.c.named).where(benches.c.id == bench)) or ""))
            changes = update(benches).where(benches.c.id == bench)
            connection.execute(changes.values(name=_kept(name), named=named))

    def add_head(self, bench: str, head: HeadRow, at: int | None = None) -> BenchRow:
        """Put another recorded start in the place of the one that counted; the old one is kept. Raises Outrun."""
        with self._writing() as connection:
            _touch(connection, bench, at)
            _add_head(connection, bench, head)
            return _changed(connection, bench)

    def add_events(self, bench: str, new: Sequence[EventRow], at: int | None = None) -> BenchRow:
        """Add events in order, all or none. Raises Outrun."""
        with self._writing() as connection:
            _touch(connection, bench, at)
            _add_events(connection, bench, new)
            return _changed(connection, bench)

    def add_tap(self, bench: str, tap: TapRow, ended: Sequence[EventRow] = (), at: int | None = None) -> BenchRow:
        """Add one saying of a tap, after the events (a walk that ended) that come before it. Raises Outrun."""
        with self._writing() as connection:
            _touch(connection, bench, at)
            _add_events(connection, bench, ended)
            last = connection.scalar(select(func.max(taps.c.saved)).where(taps.c.bench == bench))
            saved = _later(_now(), str(last or ""))
            after = json.dumps(leaves_of(said_of_tap(connection, bench, tap.walk, tap.tap)))
            values = {"bench": bench, "walk": tap.walk, "tap": tap.tap, "body": tap.body, "saved": saved}
            connection.execute(insert(taps).values(**values, after=after))
            return _changed(connection, bench)

    def add_answer(self, bench: str, answer: AnswerRow, *, alone: bool = False) -> None:
        """Keep what was computed; ``alone`` in the place of older answers of its kind, which can be computed again."""
        values = {"bench": bench, "what": answer.what, "revision": answer.revision, "body": answer.body}
        with self._writing() as connection:
            if alone:
                older = answers.c.bench == bench, answers.c.what == answer.what
                connection.execute(delete(answers).where(*older))
            connection.execute(insert(answers).values(**values, saved=_now()))

    def devices(self) -> tuple[DeviceRow, ...]:
        """All devices that may come in, in the order in which they joined."""
        query = select(*(devices.c[name] for name in DeviceRow.__slots__)).where(devices.c.revoked.is_(None))
        with self._reading() as connection:
            return tuple(DeviceRow(*row) for row in connection.execute(query.order_by(devices.c.seq)))

    def add_device(self, device: str, name: str, digest: str) -> DeviceRow:
        """Let one more device in; ``digest`` is the hash of its token."""
        now, name = _now(), _kept(name)
        row = DeviceRow(device, name, digest, now, now)
        with self._writing() as connection:
            values = {"id": device, "name": name, "hash": digest, "paired": now, "seen": now}
            connection.execute(insert(devices).values(**values))
        return row

    def see_device(self, device: str) -> str:
        """Note that a device was here; the moment that was noted."""
        now = _now()
        with self._writing() as connection:
            connection.execute(update(devices).where(devices.c.id == device).values(seen=now))
        return now

    def revoke_device(self, device: str) -> None:
        """Let a device in no more; that it was here is kept."""
        with self._writing() as connection:
            connection.execute(update(devices).where(devices.c.id == device).values(revoked=_now()))

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        try:
            with self._engine.connect().execution_options(**self._reads) as connection:
                yield connection
        except _FAILURES as error:
            raise StoreError(f"the benches could not be read ({reason(error)}).") from error

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        """A transaction that is on the disk, whole, when it ends without an error."""
        ending = False
        try:
            with self._lock, self._engine.connect().execution_options(writes=True) as connection:
                transaction = connection.begin()
                yield connection
                ending = True
                transaction.commit()
        except _FAILURES as error:
            if ending and self.shared:  # the server may have heard of it although its answer was lost
                raise StoreError(
                    f"whether this was saved is not known ({reason(error)}); send it again, it is kept once."
                ) from error
            raise StoreError(f"this could not be saved ({reason(error)}); nothing was changed.") from error


def _changed(connection: Connection, bench: str) -> BenchRow:
    """The row of a bench that was just written to."""
    row = row_of(connection, bench)
    assert row is not None  # noqa: S101 - rows that were added say which bench they belong to
    return row


def _add_head(connection: Connection, bench: str, head: HeadRow) -> None:
    there = heads_of(connection, bench)
    saved = _later(_now(), max((one.saved for one in there), default=""))
    values = {"assumed": json.dumps(list(head.assumed)), "after": json.dumps(leaves_of(there))}
    connection.execute(insert(heads).values(bench=bench, text=head.text, saved=saved, **values))


def _add_events(connection: Connection, bench: str, new: Sequence[EventRow]) -> None:
    if not new:
        return
    now = _now()
    last = connection.scalar(select(func.max(events.c.place)).where(events.c.bench == bench)) or 0
    after = str(connection.scalar(select(benches.c.leaves).where(benches.c.id == bench)) or "[]")
    rows = []
    for place, one in enumerate(new, last + 1):
        rows.append({"bench": bench, "id": one.id, "text": one.text, "saved": now, "place": place, "after": after})
        after = json.dumps([one.id])
    connection.execute(insert(events), rows)
    connection.execute(update(benches).where(benches.c.id == bench).values(leaves=after))


def _touch(connection: Connection, bench: str, at: int | None) -> None:
    """One more revision. On a server it comes first in every transaction: it holds the bench for this writer alone."""
    changes = update(benches).where(benches.c.id == bench).values(used=_now(), revision=benches.c.revision + 1)
    if at is not None:
        changes = changes.where(benches.c.revision == at)
    if connection.execute(changes).rowcount == 0 and at is not None:
        raise Outrun


def _kept(name: str) -> str:
    """A name as every database can hold it; PostgreSQL's texts have no zero byte."""
    return name.replace("\0", "\ufffd")


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")


def _later(now: str, last: str) -> str:
    """``now``, or a microsecond after ``last`` where a clock was set back, so that moments are in the story's order."""
    if now > last:
        return now
    try:
        return (datetime.fromisoformat(last) + timedelta(microseconds=1)).isoformat(timespec="microseconds")
    except (ValueError, OverflowError):
        return now
