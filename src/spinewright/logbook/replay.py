"""Replays a session: one event after another from the recorded start, undone ones left out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, datetime
from types import MappingProxyType
from typing import Any

from spinewright.errors import EvidenceError, InputError, Place
from spinewright.logbook import changes, measuring, observations
from spinewright.logbook import events as ev
from spinewright.logbook.bench import Bench
from spinewright.logbook.event_keys import EVENTS
from spinewright.logbook.session import Session
from spinewright.logbook.state import BenchState, Knob
from spinewright.logbook.table import nearest

__all__ = ["Replayed", "is_before", "replay", "replay_each"]

_HANDLERS: MappingProxyType[type[ev.Event], Callable[[Bench, Any], None]] = MappingProxyType(
    {
        ev.BowChecked: observations.bow_checked,
        ev.ContactChecked: observations.contact_checked,
        ev.SafeLengthMarked: observations.safe_length_marked,
        ev.Shots: observations.shot,
        ev.ProofGroup: observations.shot,
        ev.PaperTorn: observations.paper_torn,
        ev.NockSeriesShot: observations.nock_series_shot,
        ev.SpeedRead: observations.speed_read,
        ev.FlexChecked: observations.flex_checked,
        ev.SettingsMarkedGood: observations.marked_good,
        ev.AnswersKept: observations.answers_kept,
        ev.RestMoved: changes.rest_moved,
        ev.RestMeasured: measuring.rest_measured,
        ev.NockPointMoved: changes.nock_point_moved,
        ev.BoltsTurned: changes.bolts_turned,
        ev.Cut: changes.cut,
        ev.PointChanged: changes.point_changed,
        ev.NockTurned: changes.nock_turned,
        ev.ShaftSetAside: observations.shaft_set_aside,
        ev.ShaftChanged: changes.shaft_changed,
        ev.BuildChanged: changes.build_changed,
        ev.TapeChanged: changes.tape_changed,
        ev.BowChanged: changes.bow_changed,
        ev.SightMoved: changes.sight_moved,
    }
)
_CHANGE_THE_PAST = (ev.Undone, ev.RestMeasured)
_STEPS = 64  # benches that are held to go on from; what is undone was nearly always logged just before


def replay(session: Session) -> BenchState:
    """The bench after every event of ``session`` that still counts.

    Raises :class:`~spinewright.errors.InputError` for events that cannot have happened as written: out of the order
    of time, an unknown id undone, a cut that lengthens or has no mark before it, a broadhead on a bare shaft.
    """
    return _played(session).state()


def replay_each(session: Session, after: int = 0) -> Iterator[BenchState]:
    """The bench after each event of ``session`` but the first ``after``: what :func:`replay` says of each.

    One event is added to the bench before it where that is the same. An undo goes on from the bench before what it
    undoes. All is replayed for a rest that was measured, which changes what came before, and for an undo of one, or of
    what lies further back. Raises what :func:`replay` raises.
    """
    steps = {after: _played(_first(session, after))}
    for number, event in enumerate(session.events[after:], after + 1):
        if isinstance(event, ev.Undone):
            steps = _undoing(_first(session, number), steps)
        elif not isinstance(event, ev.RestMeasured):
            steps[number] = steps[number - 1].with_event(event, number)
        if number not in steps:
            steps = {number: _played(_first(session, number))}
        steps.pop(number - _STEPS, None)
        yield steps[number].state()


def _first(session: Session, number: int) -> Session:
    """``session`` with its first ``number`` events alone."""
    return replace(session, events=session.events[:number])


def _undoing(session: Session, steps: Mapping[int, _Played]) -> dict[int, _Played]:
    """The benches after the last so many events of ``session``, the last of which is an undo, as they count with it.

    ``steps`` are those before it, none from before a rest was measured. {} where all has to be replayed.
    """
    events = session.events
    undone = _undone(events)
    other = {*undone}.symmetric_difference(steps[len(events) - 1].undone)
    start = next(number for number, event in enumerate(events) if event.id in other)
    tail = events[start:]
    if start not in steps:
        return {}
    found = {number: one for number, one in steps.items() if number <= start}
    gone = {*undone, *(one.id for one in tail if isinstance(one, ev.Undone))}
    for number, event in enumerate(tail, start + 1):
        before = found[number - 1]
        found[number] = before if event.id in gone else before.with_event(event, number)
    found[len(events)] = replace(found[len(events)], undone=undone)
    return found


@dataclass(frozen=True, slots=True)
class Replayed:
    """A session that was replayed: its state, and what it is with one event more, without replaying all of it again."""

    session: Session
    _played: _Played

    @classmethod
    def of(cls, session: Session) -> Replayed:
        """``session`` replayed. Raises what :func:`replay` raises."""
        return cls(session, _played(session))

    def state(self) -> BenchState:
        """What :func:`replay` says of the session."""
        return self._played.state()

    def with_event(self, event: ev.Event) -> Replayed:
        """The session with ``event`` at its end; this one stays as it is. Raises what :func:`replay` raises."""
        return self.with_events((event,))

    def with_events(self, new: Sequence[ev.Event]) -> Replayed:
        """The session with all of ``new`` at its end, in order; else as :meth:`with_event`."""
        if not new:
            return self
        events = (*self.session.events, *new)
        session = replace(self.session, events=events)
        if any(isinstance(one, _CHANGE_THE_PAST) for one in new) or len({one.id for one in events}) < len(events):
            return Replayed.of(session)
        played = self._played.copied()
        for number, one in enumerate(new, len(self.session.events) + 1):
            played.add(one, number)
        return Replayed(session, played)


def _copied(bench: Bench) -> Bench:
    """``bench`` with lists of its own; the values in them are frozen, but for the accounts."""
    own: dict[str, Any] = {}
    for one in fields(bench):
        value = getattr(bench, one.name)
        if isinstance(value, list | dict):
            own[one.name] = value.copy()
    return replace(bench, **{**own, "accounts": {knob: replace(account) for knob, account in bench.accounts.items()}})


@dataclass(slots=True)
class _Played:
    """A bench with what it has come through: what was ``undone``, the last dated event, the id of the last of all."""

    bench: Bench
    undone: tuple[str, ...]
    latest: ev.Event | None
    last: str

    def copied(self) -> _Played:
        """The same, to which events can be added that this one does not come through."""
        return replace(self, bench=_copied(self.bench))

    def with_event(self, event: ev.Event, number: int) -> _Played:
        """The bench after one more event, which changes nothing that came before; this one stays as it is."""
        found = self.copied()
        found.add(event, number)
        return found

    def add(self, event: ev.Event, number: int) -> None:
        """One more event, which changes nothing that came before."""
        self.latest = _done(self.bench, event, number, self.latest)
        if not isinstance(event, ev.AnswersKept):
            self.last = event.id

    def state(self) -> BenchState:
        """The frozen state, with the notices that hold as long as nothing else comes."""
        shown = replace(self.bench, notices=dict(self.bench.notices))
        measuring.said_unknown(shown)
        return shown.state(self.undone, None if self.latest is None else self.latest.when, self.last)


def _played(session: Session) -> _Played:
    undone = _undone(session.events)
    gone = set(undone)
    counting = [
        (number, event)
        for number, event in enumerate(session.events, 1)
        if event.id not in gone and not isinstance(event, ev.Undone)
    ]
    implied: dict[tuple[int, Knob], float] = {}
    while True:
        bench, latest = _run(session, counting, implied)
        new = {key: size for key, size in bench.click_implied.items() if key not in implied}
        if not new:
            break
        # A rest that was measured tells how far the clicks before had moved it, so all of it is replayed with that.
        implied |= new
    last = next((one.id for _, one in reversed(counting) if not isinstance(one, ev.AnswersKept)), "")
    return _Played(bench, undone, latest, last)


def _run(
    session: Session, counting: list[tuple[int, ev.Event]], implied: dict[tuple[int, Knob], float]
) -> tuple[Bench, ev.Event | None]:
    """The bench after all events that are ``counting``, with their numbers, and the last one that is dated."""
    start, events = measuring.with_clicks_known(session, [event for _, event in counting], implied)
    bench = Bench.at_start(session, start)
    latest: ev.Event | None = None
    for (number, _), event in zip(counting, events, strict=True):
        latest = _done(bench, event, number, latest)
    return bench, latest


def _done(bench: Bench, event: ev.Event, number: int, latest: ev.Event | None) -> ev.Event | None:
    """Let ``event`` happen to ``bench``; the last event that is dated."""
    latest = _in_order(latest, event, number)
    try:
        _HANDLERS[type(event)](bench, event)
    except InputError as error:
        raise _placed(error, event, number) from error
    return latest


def _placed(error: InputError, event: ev.Event, number: int) -> InputError:
    told = (error.place.field or "").replace(" ", "_")
    known = {key.name for key in EVENTS[event.kind]}
    name = told.partition("[")[0]
    field = f"event[{number}].{told}" if name in known else f"event[{number}]"
    return type(error)(error.what, error.right, Place(field=field))


def _undone(events: tuple[ev.Event, ...]) -> tuple[str, ...]:
    """Ids of events that no longer count, in order; an undo that is itself undone has no effect."""
    earlier: set[str] = set()
    for number, event in enumerate(events, 1):
        if event.id in earlier:
            raise EvidenceError(
                f"the id '{event.id}' is used twice",
                "give every event an id of its own",
                Place(field=f"event[{number}].id"),
            )
        if isinstance(event, ev.Undone) and event.undoes not in earlier:
            raise EvidenceError(
                f"there is no event '{event.undoes}' before this one to undo",
                nearest(event.undoes, sorted(earlier)) if earlier else "there is nothing to undo yet",
                Place(field=f"event[{number}].undoes"),
            )
        earlier.add(event.id)
    gone: dict[str, int] = {}
    for number in range(len(events), 0, -1):
        event = events[number - 1]
        if not isinstance(event, ev.Undone) or event.id in gone:
            continue
        if event.undoes in gone:
            raise EvidenceError(
                f"the event '{event.undoes}' is undone already",
                "to bring it back undo the undo itself by its id",
                Place(field=f"event[{gone[event.undoes]}].undoes"),
            )
        gone[event.undoes] = number
    return tuple(event.id for event in events if event.id in gone)


def _in_order(latest: ev.Event | None, event: ev.Event, number: int) -> ev.Event | None:
    if event.when is None:
        return latest
    if latest is not None and latest.when is not None and is_before(event.when, latest.when):
        raise EvidenceError(
            f"this event ({event.when}) stands after event '{latest.id}' but is earlier ({latest.when})",
            "put the events in order of time, or correct the date",
            Place(field=f"event[{number}].when"),
        )
    return event


def is_before(a: date, b: date) -> bool:
    """Whether ``a`` is earlier than ``b`` as far as both say (a date alone is its whole day)."""
    if not isinstance(a, datetime) or not isinstance(b, datetime):
        return _day(a) < _day(b)
    if (a.tzinfo is None) != (b.tzinfo is None):
        return a.replace(tzinfo=None) < b.replace(tzinfo=None)
    return a < b


def _day(moment: date) -> date:
    return moment.date() if isinstance(moment, datetime) else moment
