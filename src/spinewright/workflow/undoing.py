"""Reads an undo back: what no longer counts, in the words it was logged with, and what holds in its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from spinewright import logbook
from spinewright.evidence import bow_check_state, contact_check_state
from spinewright.evidence.checks import CheckState
from spinewright.logbook import BenchState, Knob, Session
from spinewright.logbook import events as ev
from spinewright.units import Kind, show
from spinewright.workflow.build_words import alone_rows
from spinewright.workflow.read_back import last_seen, ledger_words, understood
from spinewright.workflow.setup_json import setup_words
from spinewright.workflow.showing import Voice

__all__ = ["undone_words"]

_NOTHING_MOVES = "Both entries stay in the file. An undo corrects what was written; it moves nothing on bow or arrow."
_BACK = "back at the recorded start"


def undone_words(
    session: Session, before: BenchState, after: BenchState, then: BenchState | None = None
) -> tuple[str, ...]:
    """What the last event of ``session``, an undo, took back, and what holds ``after`` it that did not ``before``.

    ``then`` is the bench right after what is undone was logged; None = it is replayed.
    """
    undo = session.events[-1]
    assert isinstance(undo, ev.Undone)  # noqa: S101 - only an undo comes here
    number = next(n for n, event in enumerate(session.events) if event.id == undo.undoes)
    gone = session.events[number]
    counts = gone.id not in before.undone
    if isinstance(gone, ev.Undone):
        back = next(event for event in session.events if event.id == gone.undoes)
        head = f"Taken back: the undo of the {_named(back)}, which counts again."
    elif counts:
        told = _told(gone, then or logbook.replay(replace(session, events=session.events[: number + 1])))
        head = f"Undone: {_named(gone)}. It said: {told}."
    else:
        head = f"Undone: {_named(gone)}."
    changed = list(_changed(before, after))
    holds = f"Now holds: {'; '.join(changed)}." if changed else "Everything else stands as it did."
    return (head, holds, _NOTHING_MOVES)


def _named(event: ev.Event) -> str:
    """The kind of ``event`` and when it was."""
    return f"{event.kind} of {event.moment}" if event.moment else event.kind


def _told(event: ev.Event, state: BenchState) -> str:
    """What ``event`` was understood to say, short: the ledger has one sentence for each direction."""
    sentences = understood(replace(event, note=""), state)
    moved = isinstance(event, ev.RestMoved | ev.SightMoved)
    return " ".join(sentences if moved else sentences[:1]).rstrip(".")


def _changed(before: BenchState, after: BenchState) -> Iterator[str]:
    old, new = _standing(before), _standing(after)
    yield from (f"{label}: {text}" for label, text in new.items() if old.get(label) != text)


def _standing(state: BenchState) -> Mapping[str, str]:
    """Everything an undo can change, each with its label."""
    voice = Voice(state.scope.hand, state.scope.system)
    mark = state.safe_length
    seen = state.history.seen
    knobs = {entry.knob: ledger_words(entry, state).rstrip(".").rpartition("; ")[2] for entry in state.ledger}
    return {
        **dict(setup_words(state.now, voice)),
        **{str(knob): knobs.get(knob, _BACK) for knob in (Knob.SIGHT_SIDEWAYS, Knob.SIGHT_HEIGHT)},
        "bow check": _check(bow_check_state(state.history.bow_check)),
        "contact check": _check(contact_check_state(state.history.contact_check)),
        "shortest safe length": "not marked" if mark is None else show(mark, Kind.LENGTH, voice.system),
        "walks and readings that count": f"{len(seen)}, the last: {last_seen(state).rstrip('.')}" if seen else "none",
        "shafts that failed their flex check": ", ".join(map(str, state.broken_shafts)) or "none",
        "shafts set aside": ", ".join(map(str, state.history.set_aside)) or "none",
        "nocks turned alone": dict(alone_rows(state.history.own_turns, voice)).get("nocks turned alone", "none"),
        "last good settings": "none kept" if state.last_good is None else "those kept before",
        "spare shafts": str(state.owned.spare_shafts),
        "place of the rest": "known" if state.rest_known else "not known",
    }


def _check(state: CheckState) -> str:
    if state.passed:
        return "everything in order"
    if not state.in_order and not state.wrong:
        return "not made"
    parts = [("wrong", state.wrong), ("not looked at", state.missing)]
    return ", ".join(f"{word}: {', '.join(items)}" for word, items in parts if items)
