"""The bow check, the contact check and the shortest-safe-length mark, item by item."""

from __future__ import annotations

from spinewright.evidence import BowCheck, ContactCheck, bow_check_state, contact_check_state
from spinewright.logbook import EVENTS
from spinewright.logbook.keys import Form
from spinewright.units import Kind
from spinewright.workflow.benches.bench_json import check_json
from spinewright.workflow.benches.head_fields import event_fields, field_json
from spinewright.workflow.benches.view import View
from spinewright.workflow.showing import Json

__all__ = ["checks_json"]

_SAFE_CARE = (
    "Never look along a drawn bow yourself: a helper marks the shaft while you stand at full draw, facing a backstop.",
    "Draw with an arrow on, finger off the trigger, and let down; nothing is shot for this mark.",
    "Press work, cam timing and limb bolts beyond the maker's limits are for a qualified technician.",
)


def checks_json(view: View) -> Json:
    """What is to be looked at, and what was said of it last."""
    history = view.state.history
    bow, contact = history.bow_check, history.contact_check
    weighed = next(key for key in EVENTS["bow check"] if key.name == "weighed")
    return {
        "bow": {
            **check_json(bow_check_state(bow), "found wrong"),
            "items": _items("bow check", bow),
            "weighed": field_json(weighed, weighed.name, system=view.voice.system),
        },
        "contact": {**check_json(contact_check_state(contact), "touched"), "items": _items("contact check", contact)},
        "safe": {
            "mark": view.voice.maybe(view.state.safe_length, Kind.LENGTH),
            "fields": event_fields(EVENTS["safe length"], view.voice.system),
            "care": list(_SAFE_CARE),
        },
    }


def _items(kind: str, check: BowCheck | ContactCheck | None) -> list[Json]:
    keys = [key for key in EVENTS[kind] if key.form is Form.YES_NO]
    return [{"key": key.name, "what": key.what, "said": getattr(check, key.name, None)} for key in keys]
