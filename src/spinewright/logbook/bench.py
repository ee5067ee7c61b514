"""The bench while a session is replayed: the one mutable object of the logbook, never seen outside of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from spinewright.equipment.arrow import ArrowBuild
from spinewright.equipment.setup import Setup
from spinewright.evidence.values import BowCheck, ContactCheck, Evidence, History, Seen, SpeedShot, Tear, Visit
from spinewright.evidence.work import Changed
from spinewright.logbook.events import Event
from spinewright.logbook.session import Owned, Session
from spinewright.logbook.state import BenchState, FlexCheck, Knob, LedgerEntry, MoveMade, TurnedAlone

__all__ = ["Bench", "Since"]


@dataclass(slots=True)
class _Account:
    """What one knob has been moved since the start; None = unknown from here on."""

    total: float | None = 0.0
    clicks: float | None = 0.0


@dataclass(frozen=True, slots=True)
class Since:
    """From where on something holds: after so many things seen, from setup and move number so-and-so.

    The setup before the move ``moves`` belongs to what was before.
    """

    seen: int = 0
    setups: int = 0
    moves: int | None = None


@dataclass(slots=True)
class Bench:
    """Takes one event after another (see ``changes`` and ``observations``); :meth:`state` freezes it."""

    session: Session
    start: Setup
    now: Setup
    owned: Owned
    seen: list[Seen] = field(default_factory=list)
    setups: list[Setup] = field(default_factory=list)
    moves: list[MoveMade] = field(default_factory=list)
    ledger: list[LedgerEntry] = field(default_factory=list)
    accounts: dict[Knob, _Account] = field(default_factory=dict)
    bow_check: BowCheck | None = None
    contact_check: ContactCheck | None = None
    bow_check_since: BowCheck | None = None  # only what was looked at after the last change
    contact_check_since: ContactCheck | None = None
    safe_length: float | None = None
    rest_unknown: dict[Knob, str] = field(default_factory=dict)  # direction -> since which day nobody knows its place
    rest_since: dict[Knob, Since] = field(default_factory=dict)  # its last move in each direction
    unsized_clicks: dict[Knob, float] = field(default_factory=dict)  # counted so far, of unknown size
    click_implied: dict[tuple[int, Knob], float] = field(default_factory=dict)  # [m] by number of the rest
    rests: int = 0  # how many other rests have been put on
    new_rest: bool = False  # another rest, not yet set to the recorded centre shot
    works: list[tuple[Changed, ...]] = field(default_factory=list)  # what each work on the bow changed
    checks_before: list[BowCheck | None] = field(default_factory=list)
    bow_since: Since = field(default_factory=Since)  # the last work on the bow
    sight_moves: int = 0
    set_aside: dict[int, ArrowBuild] = field(default_factory=dict)  # shaft -> as it was built
    turned_alone: list[tuple[TurnedAlone, ArrowBuild]] = field(default_factory=list)  # with the shaft as built then
    cleared: int = 0  # how much had been seen when a fault found by a check was last put right
    broken_shafts: list[int] = field(default_factory=list)
    flex_checks: list[FlexCheck] = field(default_factory=list)
    set_began: int = 0  # how much had been seen when the present set was taken up
    last_good: Setup | None = None
    answers: dict[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)  # by task
    cautions: dict[str, None] = field(default_factory=dict)  # a dict keeps order and drops repeats
    notices: dict[str, None] = field(default_factory=dict)

    @classmethod
    def at_start(cls, session: Session, start: Setup) -> Bench:
        """The bench before any event, at the recorded ``start`` as it is known now."""
        return cls(session, start, start, session.owned, setups=[start])

    def see(self, event: Event, what: Evidence) -> None:
        """Keep a piece of evidence with the setup it was seen with."""
        self.seen.append(Seen(setup=self.now, what=what, event=event.id))

    def move(self, event: Event, after: Setup) -> None:
        """The setup was changed on purpose."""
        self.moves.append(MoveMade(event=event.id, kind=event.kind, before=self.now, after=after))
        self.bow_check_since = self.contact_check_since = None
        self.stand(after)

    def stand(self, after: Setup) -> None:
        """The setup is now known to be ``after``."""
        if after != self.now:
            self.now = after
            self.setups.append(after)

    def since_now(self) -> Since:
        """What a move that was just made starts."""
        if self.moves[-1].before == self.now:
            self.setups.append(self.now)  # the same as before so far, but known apart from it
        return Since(len(self.seen), len(self.setups) - 1, len(self.moves) - 1)

    def better_known(self, better: Callable[[Setup], Setup], since: Since) -> None:
        """The bench was measured anew, not changed: every setup ``since`` then is known to have been ``better``."""
        done: dict[int, tuple[Setup, Setup]] = {}  # the old ones are held, so that no id is given away twice

        def known(setup: Setup) -> Setup:
            if id(setup) not in done:
                done[id(setup)] = (setup, better(setup))
            return done[id(setup)][1]

        old = tuple(self.setups[since.setups :])
        first = 0 if since.moves is None else since.moves
        if self.last_good in old:
            self.last_good = known(self.last_good)
        if since.moves is None:
            self.start = known(self.start)
        for i in range(since.seen, len(self.seen)):
            self.seen[i] = replace(self.seen[i], setup=known(self.seen[i].setup))
        for i in range(first, len(self.moves)):
            move = self.moves[i]
            before = move.before if i == since.moves else known(move.before)
            self.moves[i] = replace(move, before=before, after=known(move.after))
        self.now = known(self.now)
        self.setups[since.setups :] = [known(setup) for setup in old]
        pairs = zip([None, *self.setups], self.setups, strict=False)
        self.setups = [setup for before, setup in pairs if setup != before]

    def no_longer_counts(self, shaft: int, *, series: bool) -> None:
        """What ``shaft`` shot so far as it is built now is kept and marked; so are its nock ``series`` if wanted."""
        seat = _seat(self.now.build)
        for i, item in enumerate(self.seen):
            if _seat(item.setup.build) == seat:
                self.seen[i] = replace(item, what=_marked(item.what, shaft, series=series))

    def aside_now(self) -> tuple[int, ...]:
        """The shafts that are set aside as the set is built now."""
        seat = _seat(self.now.build)
        return tuple(shaft for shaft, build in self.set_aside.items() if _seat(build) == seat)

    def turned_alone_now(self) -> tuple[TurnedAlone, ...]:
        """The nocks turned alone on the shafts as they are built now; a cut seats every nock anew."""
        seat = _seat(self.now.build)
        return tuple(turned for turned, build in self.turned_alone if _seat(build) == seat)

    def own_turns(self) -> dict[int, float]:
        """How far [rad] the nock of each shaft stands from its fellows', half a turn either way at most."""
        found: dict[int, float] = {}
        for one in self.turned_alone_now():
            found[one.shaft] = math.remainder(found.get(one.shaft, 0.0) + one.angle, math.tau)
        return {shaft: round(angle, 9) for shaft, angle in sorted(found.items()) if abs(angle) > 1e-6}

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

    def settle(self, event: Event, knob: Knob, total: float) -> None:
        """``knob`` was measured to stand ``total`` from the recorded start, however it came there."""
        account = self.accounts.setdefault(knob, _Account())
        account.total = total
        self.ledger.append(LedgerEntry(event.id, knob, None, None, None, total, account.clicks))

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

    def state(self, undone: tuple[str, ...], dated: date | None, latest: str) -> BenchState:
        """The frozen state, with what was ``undone``, when the last event was and its id."""
        session = self.session
        history = History(
            start=self.start,
            now=self.now,
            seen=tuple(self.seen),
            bow_check=self.bow_check,
            contact_check=self.contact_check,
            setups=tuple(self.setups),
            expected_length=session.expected_length,
            bow_check_since=self.bow_check_since,
            contact_check_since=self.contact_check_since,
            set_aside=self.aside_now(),
            latest=latest,
            sight=self.sight_moves,
            own_turns=tuple(self.own_turns().items()),
            works=tuple(self.works),
            checks_before=tuple(self.checks_before),
        )
        return BenchState(
            scope=session.scope,
            archer=session.archer,
            marks=session.marks,
            start=self.start,
            now=self.now,
            history=history,
            owned=self.owned,
            limits=session.limits,
            safe_length=self.safe_length,
            rest_known=not self.rest_unknown,
            cleared=self.cleared,
            moves=tuple(self.moves),
            ledger=tuple(self.ledger),
            broken_shafts=tuple(self.broken_shafts),
            flex_checks=tuple(self.flex_checks),
            set_began=self.set_began,
            turned_alone=self.turned_alone_now(),
            last_good=self.last_good,
            answers=dict(self.answers),
            undone=undone,
            dated=dated,
            face=session.face,
            cautions=tuple(self.cautions),
            notices=tuple(self.notices),
        )


def _seat(build: ArrowBuild) -> tuple[object, ...]:
    """What makes a shaft the same arrow: a cut or another nock seats its nock anew, a point or tape does not."""
    return build.shaft, build.throat_length, build.carbon_length, build.nock


def _marked(what: Evidence, shaft: int, *, series: bool) -> Evidence:
    """``what`` with everything of ``shaft`` marked as set aside."""
    if isinstance(what, Visit):
        impacts = tuple(replace(i, set_aside=True) if i.shaft == shaft else i for i in what.impacts)
        return replace(what, impacts=impacts)
    if isinstance(what, SpeedShot) or what.shaft != shaft:
        return what
    if isinstance(what, Tear):
        return replace(what, set_aside=True)
    return replace(what, set_aside=series or what.set_aside)
