"""The bench while a session is replayed: the one mutable object of the logbook, never seen outside of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from spinewright.equipment.setup import Setup
from spinewright.evidence.values import BowCheck, ContactCheck, Evidence, History, Seen
from spinewright.logbook.events import Event
from spinewright.logbook.session import Owned, Session
from spinewright.logbook.state import BenchState, Knob, LedgerEntry, MoveMade

__all__ = ["Bench"]


@dataclass(slots=True)
class _Account:
    """What one knob has been moved since the start; None = unknown from here on."""

    total: float | None = 0.0
    clicks: float | None = 0.0


@dataclass(slots=True)
class Bench:
    """Takes one event after another (see ``changes`` and ``observations``); :meth:`state` freezes it."""

    session: Session
    now: Setup
    owned: Owned
    seen: list[Seen] = field(default_factory=list)
    setups: list[Setup] = field(default_factory=list)
    moves: list[MoveMade] = field(default_factory=list)
    ledger: list[LedgerEntry] = field(default_factory=list)
    accounts: dict[Knob, _Account] = field(default_factory=dict)
    bow_check: BowCheck | None = None
    contact_check: ContactCheck | None = None
    safe_length: float | None = None
    rest_known: bool = True
    new_rest: bool = False  # another rest, not yet set to the recorded centre shot
    cleared: int = 0  # how much had been seen when a fault found by a check was last put right
    broken_shafts: list[int] = field(default_factory=list)
    last_good: Setup | None = None
    cautions: dict[str, None] = field(default_factory=dict)  # a dict keeps order and drops repeats
    notices: dict[str, None] = field(default_factory=dict)

    @classmethod
    def at_start(cls, session: Session) -> Bench:
        """The bench before any event."""
        return cls(session=session, now=session.start, owned=session.owned, setups=[session.start])

    def see(self, event: Event, what: Evidence) -> None:
        """Keep a piece of evidence with the setup it was seen with."""
        self.seen.append(Seen(setup=self.now, what=what, event=event.id))

    def move(self, event: Event, after: Setup) -> None:
        """The setup was changed on purpose."""
        self.moves.append(MoveMade(event=event.id, kind=event.kind, before=self.now, after=after))
        self.stand(after)

    def stand(self, after: Setup) -> None:
        """The setup is now known to be ``after``."""
        if after != self.now:
            self.now = after
            self.setups.append(after)

    def build(self, **changed: Any) -> Setup:  # noqa: ANN401 - passed on to the value class, which checks it
        """The present setup with fields of its arrow build replaced."""
        return replace(self.now, build=replace(self.now.build, **changed))

    def enter(
        self,
        event: Event,
        knob: Knob,
        *,
        intended: float | None = None,
        measured: float | None = None,
        clicks: float | None = None,
    ) -> float | None:
        """Enter a change into the ledger; the amount it counts as: measured before intended, None = unknown."""
        amount = measured if measured is not None else intended
        account = self.accounts.setdefault(knob, _Account())
        account.total = None if account.total is None or amount is None else account.total + amount
        account.clicks = None if account.clicks is None or clicks is None else account.clicks + clicks
        entry = LedgerEntry(event.id, knob, intended, measured, clicks, account.total, account.clicks)
        self.ledger.append(entry)
        return amount

    def restart(self, *knobs: Knob) -> None:
        """Count ``knobs`` anew from here."""
        for knob in knobs:
            self.accounts.pop(knob, None)

    def caution(self, sentence: str) -> None:
        """Someone can be hurt."""
        self.cautions[sentence] = None

    def notice(self, sentence: str) -> None:
        """Something this session cannot tell."""
        self.notices[sentence] = None

    def state(self, undone: tuple[str, ...], dated: date | None) -> BenchState:
        """The frozen state, with what was ``undone`` and when the last event was."""
        session = self.session
        history = History(
            start=session.start,
            now=self.now,
            seen=tuple(self.seen),
            bow_check=self.bow_check,
            contact_check=self.contact_check,
            setups=tuple(self.setups),
            expected_length=session.expected_length,
        )
        return BenchState(
            scope=session.scope,
            archer=session.archer,
            marks=session.marks,
            start=session.start,
            now=self.now,
            history=history,
            owned=self.owned,
            limits=session.limits,
            safe_length=self.safe_length,
            rest_known=self.rest_known,
            cleared=self.cleared,
            moves=tuple(self.moves),
            ledger=tuple(self.ledger),
            broken_shafts=tuple(self.broken_shafts),
            last_good=self.last_good,
            undone=undone,
            dated=dated,
            face=session.face,
            cautions=tuple(self.cautions),
            notices=tuple(self.notices),
        )
