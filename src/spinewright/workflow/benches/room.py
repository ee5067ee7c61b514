"""All benches of a store, each held in memory as long as it is used; the one place that changes them.

Where other benches write to the same store, what is held is looked at anew before it is used, and a change that another
one outran is made once more on what that one left.
"""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import replace
from datetime import date
from functools import wraps
from pathlib import Path
from typing import Concatenate, ParamSpec

from spinewright import logbook
from spinewright.errors import InputError, Place, SessionFileError
from spinewright.logbook.events import Undone
from spinewright.logbook.splitting import event_in, split
from spinewright.logbook.store import (
    BenchRow,
    EventRow,
    HeadRow,
    NewBench,
    Outrun,
    Store,
    TapRow,
    Whole,
    located,
    open_store,
    sole_keeper,
)
from spinewright.logbook.store.rows import AnswerRow
from spinewright.units import System
from spinewright.workflow.benches.devices import Devices
from spinewright.workflow.benches.kept import Entry, Kept, dated, ended, kept_from
from spinewright.workflow.benches.long_held import held_long
from spinewright.workflow.benches.refusals import Missing, Refused, Taken
from spinewright.workflow.benches.sides import with_words
from spinewright.workflow.benches.timing import in_order
from spinewright.workflow.benches.walks import Walk, moment, tap_from, walk_event
from spinewright.workflow.benches.watching import watched
from spinewright.workflow.session_log import last_counting

__all__ = ["Benches", "Changed", "open_benches", "served_benches"]

_TOLD_OVER_TIME = ("next",)  # answers the story shows from first to last; of the others only the newest is looked at
_ID = re.compile(r"[A-Za-z0-9_-]{1,40}")
_TRIES = 50  # times that a change may be outrun; each time some other change was saved
_Given = ParamSpec("_Given")
Check = Callable[[Kept, Kept], None]
Changed = Callable[[str, int, str, str], None]
"""Told after a change was saved: bench, revision, what changed, id of what changed."""


@contextmanager
def served_benches(named: Path | str | None = None) -> Iterator[Benches]:
    """:func:`open_benches` for a process that serves them: the only one over a folder, one of several over a server.

    Raises StoreError when another one serves the folder.
    """
    place = located(named)
    with sole_keeper(place) if isinstance(place, Path) else nullcontext():
        benches = Benches(open_store(named), held_long)
        try:
            with watched(benches) if benches.shared else nullcontext():
                yield benches
        finally:
            benches.close()


def open_benches(named: Path | str | None = None) -> Benches:
    """The benches in a folder, at the address of a server, or in the usual place. Raises StoreError, InputError."""
    return Benches(open_store(named))


def _outrun_again(
    change: Callable[Concatenate[Benches, _Given], Kept],
) -> Callable[Concatenate[Benches, _Given], Kept]:
    """``change``, made again on what another bench left when that was quicker."""

    @wraps(change)
    def changed(self: Benches, /, *given: _Given.args, **named: _Given.kwargs) -> Kept:
        for _ in range(_TRIES):
            try:
                return change(self, *given, **named)
            except Outrun:
                continue
        return change(self, *given, **named)

    return changed


class Benches:
    """Every method may be called from any thread; what it changed is on the disk when it returns.

    ``reading`` is entered while a bench is read that was not in memory.
    """

    def __init__(self, store: Store, reading: Callable[[], AbstractContextManager[None]] = nullcontext) -> None:
        self._store = store
        self._reading = reading
        self._lock = threading.RLock()
        self._kept: dict[str, Kept] = {}
        self._answers: dict[tuple[str, str], AnswerRow | None] = {}
        self._listeners: list[Changed] = []
        self.devices = Devices(store)
        self.shared = store.shared

    def close(self) -> None:
        """Let go of the store."""
        self._store.close()

    def listen(self, listener: Changed) -> None:
        """Have ``listener`` told of every change."""
        self._listeners.append(listener)

    def rows(self) -> tuple[BenchRow, ...]:
        """All benches, last used first."""
        return self._store.benches()

    def bench(self, bench: str) -> Kept:
        """The bench with this id. Raises Missing, or InputError when what was kept cannot be read.

        A bench of many years takes a while to read, which keeps nobody from another one.
        """
        with self._lock:
            kept = self._kept.get(bench)
            if kept is not None and (not self.shared or self._store.bench(bench) == kept.row):
                return kept
        read = self._read(bench) if kept is None else kept_from(self._whole(bench), kept)
        with self._lock:
            now = self._kept.get(bench)
            if now is not None and now is not kept and now.row.revision >= read.row.revision:
                return now  # another one was quicker, and may have changed it since
            self._kept[bench] = read
            return read

    def at_hand(self, row: BenchRow) -> Kept | None:
        """The bench of this row if it is in memory as the row says it."""
        with self._lock:
            kept = self._kept.get(row.id)
        return kept if kept is not None and kept.row == row else None

    def make(self, bench: str, text: str, name: str, *, invented: bool = False, assumed: tuple[str, ...] = ()) -> Kept:
        """A new bench from the text of a session file; the same again changes nothing. Raises Taken, InputError."""
        _check_id(bench)
        logbook.parse(text, name)
        head, events = split(text)
        with self._lock:
            row = self._store.bench(bench)
            if row is not None:
                kept = self.bench(bench)
                if kept.head.text == head and [one.text for one in self._store.events(bench)][: len(events)] == [
                    *events
                ]:
                    return kept
                raise Taken(f"the id '{bench}' is taken by another bench")
            rows = tuple(EventRow(str(event_in(one).get("id") or f"#{n}"), one) for n, one in enumerate(events, 1))
            self._store.make(NewBench(bench, name, invented, HeadRow(head, assumed), rows))
            return self._reread(bench, "setup", bench)

    def wholes(self) -> tuple[Whole, ...]:
        """All that is kept of every bench, by their ids."""
        return self._store.wholes()

    def put_wholes(self, new: Sequence[Whole], at: Mapping[str, int]) -> None:
        """Put in what another logbook holds, joined with what is here ``at`` these revisions. Raises Outrun."""
        with self._lock:
            self._store.put_wholes(new, at)
            for one in new:
                if one.row.id in self._kept:
                    self._reread(one.row.id, "event", one.row.id)
                else:  # of a whole logbook that comes in most is not looked at soon
                    self.tell(one.row.id, at.get(one.row.id, 0) + 1, "event", one.row.id)

    def rename(self, bench: str, name: str) -> Kept:
        """Give the bench another name."""
        plain = " ".join(name.split())[:80]
        if not plain:
            raise SessionFileError("a bench needs a name", "write a few words", Place(field="name"))
        with self._lock:
            self.bench(bench)
            self._store.rename(bench, plain)
            return self._reread(bench, "name", bench)

    @_outrun_again
    def set_head(self, bench: str, text: str, assumed: tuple[str, ...]) -> Kept:
        """Another recorded start; everything that was logged is replayed over it first. Raises InputError, Refused."""
        with self._lock:
            kept = self.bench(bench)
            head = HeadRow(text, assumed)
            if head == kept.head:
                return kept
            logbook.parse(text, kept.row.name)
            whole = self._whole(bench)
            try:
                kept_from(replace(whole, head=head))
            except InputError as error:
                raise Refused(error) from error
            self._store.add_head(bench, head, whole.row.revision)
            return self._reread(bench, "setup", bench)

    @_outrun_again
    def add_event(self, bench: str, event_id: str, event: Mapping[str, object], check: Check | None = None) -> Kept:
        """One more event, after the walk that was going on; the same again changes nothing.

        ``check`` looks at the bench before it is saved. Raises Taken, InputError, Refused.
        """
        _check_id(event_id)
        with self._lock:
            kept = self.bench(bench)
            before = ended(kept)
            words = self._as_written(kept, event_id, event)
            if kept.held and words.get("kind") == "undo":
                return self._undo_apart(kept, event_id, words)
            there = next((one for one in before if one.id == event_id), None)
            if there is not None:
                if _same(there, words):
                    return kept
                raise Taken(f"the id '{event_id}' is taken by another event of this bench")
            words["when"] = in_order(words.get("when"), dated(before))
            new = kept.written({k: v for k, v in words.items() if v is not None}, len(before) + 1)
            after = kept.standing((*before, new), open_="")
            if check is not None:
                check(kept, after)
            walk = [EventRow(one.id, one.text) for one in before[len(kept.entries) :]]
            row = self._store.add_events(bench, [*walk, EventRow(new.id, new.text)], kept.row.revision)
            return self._keep(after, row, "event", event_id)

    def _undo_apart(self, kept: Kept, event_id: str, words: dict[str, object]) -> Kept:
        """Undo an entry of a joined story in which some do not count: with one gone, another may count again."""
        known = {one.id: one.read for one in ended(kept)} | {one.id: one.read for one in kept.held}
        undone = {one.undoes: id_ for id_, one in known.items() if isinstance(one, Undone)}
        target = str(words.get("undoes"))
        if undone.get(target) == event_id:
            return kept
        if event_id in known or target not in known or target in undone:
            right = "undo an entry that is there and was not undone, with an id of its own"
            raise SessionFileError(f"'{target}' cannot be undone here", right, Place(field="undoes"))
        words["when"] = in_order(words.get("when"), dated(ended(kept)))
        new = kept.written({k: v for k, v in words.items() if v is not None}, len(known) + 1)
        walk = [EventRow(one.id, one.text) for one in ended(kept)[len(kept.entries) :]]
        self._store.add_events(kept.row.id, [*walk, EventRow(new.id, new.text)], kept.row.revision)
        return self._reread(kept.row.id, "event", event_id)

    def read_event(self, bench: str, event: Mapping[str, object], system: System | None = None) -> Kept:
        """The bench as it would be with one more event; nothing is saved. Raises InputError, Refused.

        With ``system`` everything is replayed in those units, so that a refusal says them too.
        """
        with self._lock:
            kept = self.bench(bench) if system is None else self.bench(bench).in_units(system)
            before = ended(kept)
            words = self._as_written(kept, "e-not-saved", event)
            words["when"] = None
            new = kept.written({k: v for k, v in words.items() if v is not None}, len(before) + 1)
            return kept.standing((*before, new), open_="")

    @_outrun_again
    def put_tap(self, bench: str, walk: str, tap: str, body: object) -> Kept:
        """One saying of one tap; the same again changes nothing. Raises InputError, Refused, Taken."""
        _check_id(walk)
        _check_id(tap)
        said = tap_from(body)
        with self._lock:
            kept = self.bench(bench)
            old = kept.walks.get(walk)
            entry = kept.entry(walk)
            if entry is not None and (old is None or not entry.walk):
                raise Taken(f"the id '{walk}' is taken by an event that was not tapped in")
            same = old is not None and old.taps.get(tap) == said["tap"] and _about(old, said["walk"])
            if same and (walk, tap) not in kept.apart:  # where two logbooks differ, saying it again settles it
                return kept
            if old is None:
                said["walk"]["when"] = _text(in_order(moment(said["walk"].get("when")), dated(ended(kept))))
            after, over = self._tapped(kept, (old or Walk(walk)).with_tap(tap, said))
            row = self._store.add_tap(bench, TapRow(walk, tap, json.dumps(said)), over, kept.row.revision)
            return self._keep(after, row, "tap", tap)

    @_outrun_again
    def close_walk(self, bench: str, walk: str) -> Kept:
        """End the walk that goes on; a walk that has ended already stays as it is. Raises Missing."""
        with self._lock:
            kept = self.bench(bench)
            if kept.entry(walk) is not None:
                return kept
            ending = kept.ending
            if ending is None or ending.id != walk:
                raise Missing(f"there is no walk '{walk}' to end here")
            row = self._store.add_events(bench, [EventRow(ending.id, ending.text)], kept.row.revision)
            return self._keep(kept.standing((*kept.entries, ending), open_=""), row, "walk", walk)

    def keep_answer(self, bench: str, what: str, revision: int, body: str) -> None:
        """Keep what was computed for the bench at ``revision``."""
        answer = AnswerRow(what, revision, body)
        self._store.add_answer(bench, answer, alone=what not in _TOLD_OVER_TIME)
        self._answers[bench, what] = answer

    def last_answer(self, bench: str, what: str) -> AnswerRow | None:
        """What was computed last of this kind."""
        if self.shared or (bench, what) not in self._answers:
            self._answers[bench, what] = self._store.last_answer(bench, what)
        return self._answers[bench, what]

    def answers(self, bench: str, what: str) -> tuple[AnswerRow, ...]:
        """What was computed of this kind, oldest first."""
        return self._store.answers(bench, what)

    def _as_written(self, kept: Kept, event_id: str, event: Mapping[str, object]) -> dict[str, object]:
        words = {**with_words(event, kept.system), "id": event_id}
        words["when"] = moment(words.get("when"))
        if words.get("kind") == "undo" and words.get("undoes") == "last":
            there = kept.entry(event_id)
            words["undoes"] = event_in(there.text).get("undoes") if there else last_counting(kept.bench.session)
        return words

    def _tapped(self, kept: Kept, new: Walk) -> tuple[Kept, list[EventRow]]:
        """The bench with ``new`` in it, and the walk that it ends."""
        walks = {**kept.walks, new.id: new}
        entry = kept.entry(new.id)
        if entry is not None:
            number = kept.entries.index(entry)
            when = event_in(entry.text).get("when")
            again = kept.written(walk_event(new, kept.system, when), number + 1, walk=True)
            entries = (*kept.entries[:number], again, *kept.entries[number + 1 :])
            return kept.standing(entries, walks), []
        ended: list[EventRow] = []
        entries = kept.entries
        if kept.open != new.id:
            ending = kept.ending
            if ending is not None:
                ended, entries = [EventRow(ending.id, ending.text)], (*entries, ending)
        return kept.standing(entries, walks, new.id), ended

    def _read(self, bench: str) -> Kept:
        whole = self._whole(bench)
        with self._reading():
            return kept_from(whole)

    def _whole(self, bench: str) -> Whole:
        whole = self._store.whole(bench)
        if whole is None:
            raise Missing(f"there is no bench '{bench}' here; go back to the list of benches")
        return whole

    def _keep(self, kept: Kept, row: BenchRow, what: str, changed: str) -> Kept:
        if row.joined:  # what does not go together may have been settled by this
            return self._reread(row.id, what, changed)
        kept = replace(kept, row=row)
        self._kept[row.id] = kept
        self._told(row.id, what, changed)
        return kept

    def _reread(self, bench: str, what: str, changed: str) -> Kept:
        kept = self._kept[bench] = self._read(bench)
        self._told(bench, what, changed)
        return kept

    def _told(self, bench: str, what: str, changed: str) -> None:
        self.tell(bench, self._kept[bench].row.revision, what, changed)

    def tell(self, bench: str, revision: int, what: str, changed: str) -> None:
        """Tell those who listen that the bench has come to ``revision``, unless they know already."""
        for listener in self._listeners:
            listener(bench, revision, what, changed)


def _check_id(given: str) -> None:
    if not _ID.fullmatch(given):
        raise SessionFileError(f"{given!r} cannot be an id", "use up to 40 letters, digits, - or _", Place(field="id"))


def _text(when: object) -> object:
    return when.isoformat() if isinstance(when, date) else when


def _about(walk: Walk, said: Mapping[str, object]) -> bool:
    """Whether ``said`` says of the walk what is known; when it began is only taken from its first tap."""
    return all(walk.about.get(name) == value for name, value in said.items() if name != "when")


def _same(there: Entry, words: Mapping[str, object]) -> bool:
    """Whether an event that was kept says the same as one sent again; its moment may have been put in order."""
    sent = event_in(logbook.event_text({name: value for name, value in words.items() if value is not None}))
    kept = event_in(there.text)
    return {**sent, "when": None} == {**kept, "when": None}
