"""One bench held in memory, replayed: its head, its events as text, the walk that is still open, and the bench."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from operator import is_
from typing import Any

from spinewright import logbook
from spinewright.errors import InputError
from spinewright.logbook import Replayed, Session
from spinewright.logbook.event_reading import read_event
from spinewright.logbook.events import Event
from spinewright.logbook.splitting import event_in, joined, when_in
from spinewright.logbook.store import BenchRow, EventRow, HeadRow, TapRow, Whole
from spinewright.units import Hand, System
from spinewright.workflow.benches.disputes import Held, disputes, taps_apart
from spinewright.workflow.benches.refusals import Refused
from spinewright.workflow.benches.walks import Walk, walk_event
from spinewright.workflow.open_bench import OpenBench

__all__ = ["Entry", "Kept", "dated", "ended", "kept_from"]

_NUMBER = re.compile(r"event\[(\d+)\]")


@dataclass(frozen=True)  # without slots, so that texts are kept once they were written
class Entry:
    """One event: ``read`` its value, and its section as ``said`` or as ``keys`` that are still to be written.

    ``walk`` = it was tapped in and may still be corrected.
    """

    id: str
    read: Event
    said: str = ""
    keys: Mapping[str, object] | None = None
    walk: bool = False

    @cached_property
    def text(self) -> str:
        """Its [[event]] section."""
        return self.said if self.keys is None else logbook.event_text(self.keys)

    @cached_property
    def drawn(self) -> dict[System, tuple[object, dict[str, Any]]]:
        """What was drawn of it last in each system of units: what it was drawn from, and the drawing."""
        return {}


@dataclass(frozen=True)
class Kept:
    """A bench with everything a request may ask for; changes make another one.

    plain    the session of the head alone
    entries  every event that was ended, in order
    walks    everything tapped, by the walk's id
    open     id of the walk that goes on, '' = none
    ending   the walk that goes on as the event it becomes, None = no arrow of it counts
    bench    replayed, the open walk with it
    held     entries of a joined story that cannot follow what stands before them; they are kept and do not count
    disputes what of a joined story does not go together, in sentences
    apart    walk and id of each tap among them
    before   replayed without the open walk, so that one more tap replays that walk alone
    """

    row: BenchRow
    head: HeadRow
    plain: Session
    entries: tuple[Entry, ...]
    walks: Mapping[str, Walk]
    open: str
    ending: Entry | None
    bench: OpenBench
    held: tuple[Held, ...] = ()
    disputes: tuple[str, ...] = ()
    apart: frozenset[tuple[str, str]] = frozenset()
    before: Replayed | None = field(default=None, compare=False, repr=False)

    @property
    def hand(self) -> Hand:
        """The archer's hand."""
        return self.plain.scope.hand

    @property
    def system(self) -> System:
        """The units the bench is written in."""
        return self.plain.scope.system

    @property
    def open_walk(self) -> Walk | None:
        """The walk that goes on, if an arrow of it counts."""
        walk = self.walks.get(self.open)
        return walk if walk is not None and walk.live else None

    @cached_property
    def text(self) -> str:
        """The session file."""
        texts = [entry.text for entry in self.entries]
        if self.ending is not None:
            texts.append(self.ending.text)
        return joined(self.head.text, texts)

    @property
    def export(self) -> str:
        """The session file with the entries that do not count behind it, as comments."""
        lines = [line for one in self.held for line in ("", f"does not count: {one.why}", *one.text.splitlines())]
        return self.text + "".join(f"# {line}".rstrip() + "\n" for line in lines)

    def entry(self, event: str) -> Entry | None:
        """The ended event with this id."""
        return next((one for one in self.entries if one.id == event), None)

    def in_units(self, system: System) -> Kept:
        """The same bench as if it were written in the units of ``system``; it has to be replayed before it is shown."""
        scope = replace(self.plain.scope, system=system)
        return replace(self, plain=replace(self.plain, scope=scope), before=None)

    def written(self, event: Mapping[str, object], number: int, *, walk: bool = False) -> Entry:
        """``event``, read as event ``number``. Raises InputError."""
        return Entry(str(event["id"]), read_event(dict(event), number, self.hand), keys=event, walk=walk)

    def standing(
        self,
        entries: tuple[Entry, ...] | None = None,
        walks: Mapping[str, Walk] | None = None,
        open_: str | None = None,
    ) -> Kept:
        """The bench with other events or walks, replayed.

        Raises InputError when the walk cannot be read, Refused when it all cannot have happened.
        """
        changed = replace(
            self,
            entries=self.entries if entries is None else entries,
            walks=self.walks if walks is None else walks,
            open=self.open if open_ is None else open_,
        )
        walk = changed.open_walk
        ending = None
        if walk is not None:
            ending = self.written(walk_event(walk, self.system), len(changed.entries) + 1, walk=True)
        try:
            before = self._replayed(changed.entries)
            replayed = before if ending is None else before.with_event(ending.read)
            state = replayed.state()
        except InputError as error:
            raise Refused(error) from error
        return replace(changed, ending=ending, bench=OpenBench(replayed.session, state), before=before)

    def _replayed(self, entries: tuple[Entry, ...]) -> Replayed:
        """``entries`` replayed: on what is replayed already where they are those of this bench, and more."""
        known = len(self.entries)
        if self.before is None or len(entries) < known or not all(map(is_, entries, self.entries)):
            return Replayed.of(replace(self.plain, events=tuple(entry.read for entry in entries)))
        return self.before.with_events([one.read for one in entries[known:]])


def kept_from(whole: Whole, known: Kept | None = None) -> Kept:
    """The bench of what the store holds; what was read of it before as ``known`` is not read again.

    Raises InputError or Refused when it cannot be read or replayed.
    """
    row, head = whole.row, whole.head
    if known is None or known.head != head:
        known = None
        plain = logbook.parse(head.text, row.name)
    else:
        plain = known.plain
    walks = _walks(whole.taps)
    empty = OpenBench(plain, logbook.replay(plain))
    kept = Kept(row, head, plain, (), walks, "", None, empty)
    there = {} if known is None else {one.id: one for one in known.entries}
    entries: list[Entry] = []
    held: list[Held] = []
    for number, one in enumerate(whole.events, 1):
        walk, old = walks.get(one.id), there.get(one.id)
        if row.joined and walk is not None and not walk.live:  # each logbook took back what the other one left
            read = _read(one, number, kept.hand).read
            held.append(Held(one.id, read, one.text, "every arrow of it was taken back, in one logbook or the other"))
        elif walk is not None and old is not None and known is not None and walk == known.walks.get(one.id):
            entries.append(old)
        elif walk is not None:
            written = walk_event(walk, kept.system, when_in(one.text))
            entries.append(kept.written(written, number, walk=True))
        elif old is not None and not old.walk and old.text == one.text:
            entries.append(old)
        else:
            entries.append(_read(one, number, kept.hand))
    over = {one.id for one in whole.events}
    going = [tap.walk for tap in whole.taps if tap.walk not in over]
    open_ = going[-1] if going else ""
    if not row.joined:
        there_already = kept if known is None else replace(known, row=row, disputes=(), apart=frozenset(), held=())
        return there_already.standing(tuple(entries), walks, open_)
    kept = _holding(replace(kept, held=tuple(held)), entries, walks, open_)
    counting = [one.read for one in kept.entries]
    apart = taps_apart(whole.taps, [*counting, *(one.read for one in kept.held)], kept.system)
    told = disputes(whole, counting, kept.held)
    return replace(kept, disputes=(*told, *apart.values()), apart=frozenset(apart))


def _walks(taps: Sequence[TapRow]) -> dict[str, Walk]:
    """Everything tapped, by the walk's id in the order of their first taps."""
    bodies = json.loads(f"[{','.join(tap.body for tap in taps)}]")  # in half the time of one by one
    sayings: dict[str, list[tuple[str, Mapping[str, Any]]]] = {}
    for tap, body in zip(taps, bodies, strict=True):
        sayings.setdefault(tap.walk, []).append((tap.tap, body))
    return {walk: Walk.of(walk, said) for walk, said in sayings.items()}


def _holding(kept: Kept, entries: list[Entry], walks: Mapping[str, Walk], open_: str) -> Kept:
    """The bench of as many ``entries`` as can follow one another; the others are held."""
    held = list(kept.held)
    while True:
        try:
            return replace(kept.standing(tuple(entries), walks, open_), held=tuple(held))
        except Refused as error:
            found = _NUMBER.match(error.error.place.field or "")
            if found is None or int(found[1]) > len(entries):
                raise
            one = entries.pop(int(found[1]) - 1)
            held.append(Held(one.id, one.read, one.text, f"{error.error.what}; {error.error.right}"))


def _read(one: EventRow, number: int, hand: Hand) -> Entry:
    # an event that was written without an id is called by its number, whatever was put in between since
    number = int(one.id[1:]) if one.id[:1] == "#" and one.id[1:].isdecimal() else number
    return Entry(one.id, read_event(event_in(one.text), number, hand), one.text)


def ended(kept: Kept) -> tuple[Entry, ...]:
    """All events, the walk that goes on among them."""
    ending = kept.ending
    return kept.entries if ending is None else (*kept.entries, ending)


def dated(entries: tuple[Entry, ...]) -> date | None:
    """The last moment that an event says."""
    return next((one.read.when for one in reversed(entries) if one.read.when is not None), None)
