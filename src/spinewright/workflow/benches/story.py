"""The story so far: every event as understood then, the ledger, how to put all back, gap and belief over time."""

from __future__ import annotations

from collections.abc import Iterator
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

_MOST_SAID = 4096
_SAID: dict[str, tuple[str, ...]] = {}  # what was replayed once, oldest first


def story_json(benches: Benches, view: View) -> Json:
    """Everything that happened on this bench."""
    return {
        "events": _events(view),
        "ledger": _ledger(view),
        "put_back": list(logbook.put_back(view.state)),
        "gaps": _gaps(view),
        "beliefs": [_belief(one, view) for one in all_answers(benches, view.kept, "next")],
        "export": f"/api/benches/{view.kept.row.id}/export",
    }


def _events(view: View) -> list[Json]:
    kept, session, gone = view.kept, view.session, set(view.state.undone)
    by = {event.undoes: event.id for event in session.events if isinstance(event, ev.Undone) and event.id not in gone}
    entries = kept.entries if kept.ending is None else (*kept.entries, kept.ending)
    told = _said(session, list(_digests(view, [entry.text for entry in entries])))
    found: list[Json] = []
    for number, (event, entry) in enumerate(zip(session.events, entries, strict=True), 1):
        found.append(
            {
                "id": event.id,
                "number": number,
                "kind": event.kind,
                "when": None if event.when is None else str(event.when),
                "said": list(told[number - 1]),
                "counts": event.id not in gone,
                "undone_by": by.get(event.id),
                "open": entry is kept.ending,
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


def _said(session: Session, digests: list[str]) -> list[tuple[str, ...]]:
    """Every event as it was understood then, remembered by its digest."""
    known = [_SAID.get(digest) for digest in digests]
    found = [one for one in known if one is not None]
    if len(found) == len(digests):
        return found
    found, before = [], None
    for number, state in enumerate(logbook.replay_each(session), 1):
        told = known[number - 1] or _understood(replace(session, events=session.events[:number]), before, state)
        found.append(told)
        before = state
        while len(_SAID) >= _MOST_SAID:
            _SAID.pop(next(iter(_SAID)), None)
        _SAID[digests[number - 1]] = told
    return found


def _understood(upto: Session, before: BenchState | None, state: BenchState) -> tuple[str, ...]:
    event = upto.events[-1]
    if isinstance(event, ev.Undone) and before is not None:
        return undone_words(upto, before, state)
    return understood(event, state)


def _ledger(view: View) -> list[Json]:
    found: list[Json] = []
    for knob in Knob:
        texts = [ledger_words(entry, view.state) for entry in view.state.ledger if entry.knob is knob]
        if texts:
            now = texts[-1].rstrip(".").rpartition("; ")[2]
            found.append({"what": str(knob), "entries": texts, "now": now})
    return found


def _gaps(view: View) -> list[Json]:
    numbers = {event.id: number for number, event in enumerate(view.session.events, 1)}
    found: list[Json] = []
    for item in view.state.history.seen:
        made = gap_of(view.state, item.what) if isinstance(item.what, Visit) else None
        if made is not None:
            found.append({"event": item.event, "number": numbers.get(item.event, 0), **gap_json(made, view.voice)})
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
