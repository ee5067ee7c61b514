"""The story so far: every event as understood then, the ledger, how to put all back, gap and belief over time."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256
from typing import Any

from spinewright import logbook
from spinewright.evidence import Visit
from spinewright.logbook import Knob, Session
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
    digest = sha256(f"{view.voice.system} {kept.head.text}".encode())
    found: list[Json] = []
    for number, (event, entry) in enumerate(zip(session.events, entries, strict=True), 1):
        digest.update(entry.text.encode())
        found.append(
            {
                "id": event.id,
                "number": number,
                "kind": event.kind,
                "when": None if event.when is None else str(event.when),
                "said": list(_said(digest.hexdigest(), session, number)),
                "counts": event.id not in gone,
                "undone_by": by.get(event.id),
                "open": entry is kept.ending,
                "can_undo": event.id not in gone,
            }
        )
    return found


def _said(digest: str, session: Session, count: int) -> tuple[str, ...]:
    """Event number ``count`` as it was understood then; ``digest`` stands for everything up to it."""
    told = _SAID.get(digest)
    if told is None:
        before = replace(session, events=session.events[: count - 1])
        upto = replace(session, events=session.events[:count])
        event, state = upto.events[-1], logbook.replay(upto)
        undone = isinstance(event, ev.Undone)
        told = undone_words(upto, logbook.replay(before), state) if undone else understood(event, state)
        while len(_SAID) >= _MOST_SAID:
            _SAID.pop(next(iter(_SAID)), None)
        _SAID[digest] = told
    return told


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
