"""What was computed for a bench, and whether it still holds: it does as long as the session file says the same."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from spinewright.workflow.benches.kept import Kept
from spinewright.workflow.benches.room import Benches

__all__ = ["Answer", "all_answers", "answer_to", "fingerprint", "keep_answer", "last_answer", "wishes_known"]

_EVENTS = re.compile(r'\{"fingerprint": "[0-9a-f]*", "events": (\d{1,9}),')


@dataclass(frozen=True, slots=True)
class Answer:
    """What was computed: ``body`` as the task gave it, ``wishes`` it was asked with, ``fresh`` = nothing changed."""

    body: dict[str, Any]
    wishes: dict[str, Any]
    revision: int
    events: int
    fresh: bool


def fingerprint(kept: Kept) -> str:
    """Changes when anything that was logged or set up changes."""
    return hashlib.sha256(kept.text.encode()).hexdigest()[:24]


def last_answer(benches: Benches, kept: Kept, what: str) -> Answer | None:
    """The answer that was computed last, or None."""
    return answer_to(benches, kept.row.id, what, len(kept.bench.session.events), lambda: fingerprint(kept))


def answer_to(benches: Benches, bench: str, what: str, events: int, printed: Callable[[], str]) -> Answer | None:
    """The answer that was computed last for a bench that has so many ``events``, and ``printed`` as its fingerprint."""
    row = benches.last_answer(bench, what)
    if row is None:
        return None
    wrapped = _parsed(row.body)
    # all texts are written to tell the fingerprint: where an event was added since it cannot be the same
    fresh = wrapped["events"] == events and wrapped["fingerprint"] == printed()
    return Answer(wrapped["body"], wrapped["wishes"], row.revision, wrapped["events"], fresh)


def all_answers(
    benches: Benches, kept: Kept, what: str, wanted: Callable[[int], bool] = lambda _events: True
) -> list[Answer]:
    """Every answer, oldest first, of which the number of events it was worked out from is ``wanted``; none is fresh."""
    found = []
    for row in benches.answers(kept.row.id, what):
        said = _EVENTS.match(row.body)  # answers are long, and most are not of the page that is looked at
        if said is not None and not wanted(int(said[1])):
            continue
        wrapped = json.loads(row.body)
        if wanted(wrapped["events"]):
            found.append(Answer(wrapped["body"], wrapped["wishes"], row.revision, wrapped["events"], False))
    return found


def keep_answer(benches: Benches, kept: Kept, what: str, wishes: dict[str, Any], body: dict[str, Any]) -> None:
    """Keep ``body``, computed from ``kept`` as it was when it was asked."""
    wrapped = {
        "fingerprint": fingerprint(kept),
        "events": len(kept.bench.session.events),
        "wishes": wishes,
        "body": body,
    }
    benches.keep_answer(kept.row.id, what, kept.row.revision, json.dumps(wrapped))


def wishes_known(benches: Benches, kept: Kept, what: str) -> dict[str, Any]:
    """What other answers have to say to this one: a drawing of the shot shows the chosen move and the map's best."""
    if what != "stroke":
        return {}
    found: dict[str, Any] = {}
    move = last_answer(benches, kept, "next")
    if move is not None and move.fresh:
        found["after"] = move.body[str(kept.system)]["move"]["events"]
    chart = last_answer(benches, kept, "map")
    if chart is not None and chart.fresh:
        found["best"] = _best_build(chart.body[str(kept.system)])
    return found


def _best_build(chart: dict[str, Any]) -> dict[str, float]:
    """The safe build with the least miss of a map on which builds can be told apart at all; {} when there is none."""
    for name, number in (("own", "own_mistakes"), ("heads", "heads_apart")):
        builds = [one for one in chart["builds"] if one["safe"] and one[number]]
        if builds and name not in chart["fine"]["flat"]:
            best = min(builds, key=lambda one: float(one[number]["middle"]))
            return {"point": best["point"], "length": best["length"]}
    return {}


@lru_cache(maxsize=24)
def _parsed(body: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(body)
    return found
