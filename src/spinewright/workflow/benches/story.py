"""The story so far: every event as understood then, the ledger, how to put all back, gap and belief over time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from hashlib import sha256
from typing import Any

from spinewright import logbook
from spinewright.evidence import Visit
from spinewright.logbook import BenchState, Knob, Session
from spinewright.logbook import events as ev
from spinewright.workflow.benches.answers import Answer, all_answers
from spinewright.workflow.benches.forecasts import forecast_json
from spinewright.workflow.benches.gap_json import gap_json, gap_of
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.benches.view import View
from spinewright.workflow.read_back import ledger_words, understood
from spinewright.workflow.showing import Json
from spinewright.workflow.undoing import undone_words

__all__ = ["story_json"]

_AT_ONCE = 50  # entries of one page; after ten years there are thousands
_BEFORE = 12  # entries before a page from which on its states are told, as the page may undo one of them
_MOST_SAID = 4096
_SAID: dict[str, tuple[str, ...]] = {}  # what was replayed once, oldest first


def story_json(benches: Benches, view: View, upto: int | None = None) -> Json:
    """What happened on this bench, the last entries or those up to number ``upto``; what they led to is of all."""
    many = len(view.session.events)
    last = many if upto is None else min(max(upto, 1), many)
    first = max(last - _AT_ONCE + 1, 1)
    told = range(first, last + 1)
    believed = all_answers(benches, view.kept, "next", lambda events: first - 1 <= events <= last)
    return {
        "events": _events(view, told),
        "earlier": _page(view, first - 1) if first > 1 else None,
        "later": _page(view, last + _AT_ONCE) if last < many else None,
        "ledger": _ledger(view),
        "put_back": list(logbook.put_back(view.state)),
        "gaps": _gaps(view, told),
        "beliefs": [_belief(one, view) for one in believed],
        "export": f"/api/benches/{view.kept.row.id}/export",
    }


def _page(view: View, upto: int) -> str:
    whole = upto >= len(view.session.events)
    return f"/b/{view.kept.row.id}/story" + ("" if whole else f"?upto={upto}")


def _events(view: View, numbers: range) -> list[Json]:
    kept, session, gone = view.kept, view.session, set(view.state.undone)
    by = {event.undoes: event.id for event in session.events if isinstance(event, ev.Undone) and event.id not in gone}
    entries = kept.entries if kept.ending is None else (*kept.entries, kept.ending)
    texts = [entry.text for entry in entries[: numbers.stop - 1]]
    told = _said(session, list(_digests(view, texts))[numbers.start - 1 :], numbers.start - 1)
    found: list[Json] = []
    for number, said in zip(numbers, told, strict=True):
        event = session.events[number - 1]
        found.append(
            {
                "id": event.id,
                "number": number,
                "kind": event.kind,
                "when": None if event.when is None else str(event.when),
                "said": list(said),
                "counts": event.id not in gone,
                "undone_by": by.get(event.id),
                "open": entries[number - 1] is kept.ending,
                "can_undo": event.id not in gone,
            }
        )
    return found


def _digests(view: View, texts: list[str]) -> Iterator[str]:
    """For every event what stands for all that can change how it was understood: the events up to it, the units."""
    digest = sha256(f"{view.voice.system} {view.kept.head.text}".encode())
    for text in texts:
        digest.update(text.encode())
        yield digest.hexdigest()


def _said(session: Session, digests: list[str], after: int) -> list[tuple[str, ...]]:
    """The events after the first ``after`` as they were understood then, one for each of their ``digests``."""
    known = [_SAID.get(digest) for digest in digests]
    found = [one for one in known if one is not None]
    if len(found) == len(digests):
        return found
    upto = replace(session, events=session.events[: after + len(digests)])
    begun = max(after - _BEFORE, 0)
    states = enumerate(logbook.replay_each(upto, begun), begun + 1)
    undone = {event.undoes for event in upto.events[after:] if isinstance(event, ev.Undone)}
    then: dict[str, BenchState] = {}
    found, before = [], None
    for number, state in states:
        event = session.events[number - 1]
        if event.id in undone:
            then[event.id] = state
        if number <= after:
            before = state
            continue
        at = number - after - 1
        said = known[at] or _understood(replace(session, events=session.events[:number]), before, state, then)
        found.append(said)
        before = state
        while len(_SAID) >= _MOST_SAID:
            _SAID.pop(next(iter(_SAID)), None)
        _SAID[digests[at]] = said
    return found


def _understood(
    upto: Session, before: BenchState | None, state: BenchState, then: Mapping[str, BenchState]
) -> tuple[str, ...]:
    event = upto.events[-1]
    if isinstance(event, ev.Undone) and before is not None:
        return undone_words(upto, before, state, then.get(event.undoes))
    return understood(event, state)


def _ledger(view: View) -> list[Json]:
    found: list[Json] = []
    for knob in Knob:
        texts = [ledger_words(entry, view.state) for entry in view.state.ledger if entry.knob is knob]
        if texts:
            now = texts[-1].rstrip(".").rpartition("; ")[2]
            found.append({"what": str(knob), "entries": texts, "now": now})
    return found


def _gaps(view: View, told: range) -> list[Json]:
    numbers = {view.session.events[number - 1].id: number for number in told}
    found: list[Json] = []
    for item in view.state.history.seen:
        if item.event not in numbers or not isinstance(item.what, Visit):
            continue
        made = gap_of(view.state, item.what)
        if made is not None:
            found.append({"event": item.event, "number": numbers[item.event], **gap_json(made, view.voice)})
    return found


def _belief(answer: Answer, view: View) -> Json:
    diagnosis: Any = answer.body[str(view.voice.system)]["diagnosis"]
    return {
        "number": answer.events,
        "revision": answer.revision,
        **forecast_json(diagnosis["gap"]),
        "under_an_inch": diagnosis["under_an_inch"],
        "causes": [{"cause": one["cause"], "probability": one["probability"]} for one in diagnosis["causes"]],
    }
