"""A bench as every page shows it: what it is, what was seen last, and what is said of the next move."""

from __future__ import annotations

from collections.abc import Mapping

from spinewright.evidence import bow_check_state, contact_check_state
from spinewright.evidence.checks import CheckState
from spinewright.logbook import events as ev
from spinewright.units import Kind, show
from spinewright.workflow.benches.answers import Answer, last_answer
from spinewright.workflow.benches.gap_json import gap_json, last_gap
from spinewright.workflow.benches.head_fields import label_of
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.benches.view import View
from spinewright.workflow.benches.walk_json import open_walk_json
from spinewright.workflow.read_back import last_seen, understood
from spinewright.workflow.showing import Json

__all__ = ["bench_json", "check_json", "last_entry", "next_json"]


def bench_json(benches: Benches, view: View) -> Json:
    """One bench; a tap answers with it too, so nothing here takes long."""
    kept, state = view.kept, view.state
    history = state.history
    gap = last_gap(state)
    last = last_entry(view)
    return {
        "id": kept.row.id,
        "name": kept.row.name,
        "invented": kept.row.invented,
        "revision": kept.row.revision,
        "hand": str(state.scope.hand),
        "units": str(state.scope.system),
        "release": str(state.scope.release),
        "purpose": str(state.scope.purpose),
        "arrow": arrow_words(view),
        "assumed": [{"key": key, "text": label_of(key)} for key in kept.head.assumed],
        "assumed_words": assumed_words(kept.head.assumed),
        "cautions": [*kept.disputes, *state.cautions],
        "notices": list(state.notices),
        "events": len(view.session.events),
        "walk": open_walk_json(view),
        "gap": None if gap is None else gap_json(gap, view.voice),
        "seen": last_seen(state),
        "checks": {
            "bow": check_json(bow_check_state(history.bow_check), "found wrong"),
            "contact": check_json(contact_check_state(history.contact_check), "touched"),
        },
        "last": last,
        "can_undo": last is not None,
        "next": next_json(last_answer(benches, kept, "next"), str(state.scope.system)),
        "safe_length": view.voice.maybe(state.safe_length, Kind.LENGTH),
    }


def arrow_words(view: View) -> str:
    """The arrow in one line."""
    build, system = view.state.now.build, view.voice.system
    spine = show(build.shaft.static_spine, Kind.SPINE, system)
    length = show(build.carbon_length, Kind.LENGTH, system)
    return f"spine {spine}, {length} of shaft, {show(build.head.mass, Kind.MASS, system)} {build.head.kind}"


def assumed_words(assumed: tuple[str, ...]) -> str:
    """That usual values stand in for what nobody measured, and what that means."""
    if not assumed:
        return ""
    values = "1 value is" if len(assumed) == 1 else f"{len(assumed)} values are"
    return (
        f"{values} not yours yet: usual ones stand in for them. What follows is a first, rough reading; measure and "
        "fill them in, above all peak weight, draw length and the arrow's own, before anything is cut."
    )


def check_json(check: CheckState, bad: str) -> Json:
    """How far a check got."""
    parts = [(bad, check.wrong), ("not looked at", check.missing)]
    if check.passed:
        state, words = "passed", "everything in order"
    elif not check.in_order and not check.wrong:
        state, words = "none", "not made yet"
    else:
        state = "wrong" if check.wrong else "partly"
        words = "; ".join(f"{word}: {', '.join(items)}" for word, items in parts if items)
    return {"state": state, "words": words}


def last_entry(view: View) -> Json | None:
    """The event that an undo takes back."""
    gone = set(view.state.undone)
    for event in reversed(view.session.events):
        if event.id not in gone and not isinstance(event, ev.Undone):
            words = understood(event, view.state)
            return {"id": event.id, "kind": event.kind, "words": words[0] if words else event.kind}
    return None


def next_json(answer: Answer | None, system: str) -> Json | None:
    """The move of the answer that was worked out last, and whether it still holds."""
    if answer is None:
        return None
    body = answer.body[system]
    move = body["move"]
    assert isinstance(move, Mapping)  # noqa: S101 - its schema says so
    return {"words": body["explanation"]["move"], "kind": move["kind"], "fresh": answer.fresh}
