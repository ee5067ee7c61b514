"""Setting up: the recorded start as fields, another one in its place, and what is drawn of it as one types."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from spinewright.errors import Place, SessionFileError
from spinewright.logbook.head import KEYS, head_text, values_of
from spinewright.units import System
from spinewright.workflow.benches.drawing import drawing_of
from spinewright.workflow.benches.head_fields import sections_json
from spinewright.workflow.benches.kept import Kept
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.showing import Json

__all__ = ["change_setup", "setup_values_json"]

_LOCKED = (
    "{count} already logged. What you change here corrects the recorded start they were logged over; a change you made "
    "on the bow or the arrow since then belongs in the story as what was done."
)


def setup_values_json(kept: Kept, system: System) -> Json:
    """The recorded start, field by field, with its drawing."""
    values = values_of(tomllib.loads(kept.head.text.removeprefix("\ufeff")))
    count = len(kept.bench.session.events)
    things = "1 thing is" if count == 1 else f"{count} things are"
    return {
        "sections": sections_json(values, system),
        "values": values,
        "assumed": list(kept.head.assumed),
        "locked": count > 0,
        "locked_words": _LOCKED.format(count=things) if count else "",
        "drawing": drawing_of(values, "", system),
    }


def change_setup(benches: Benches, bench: str, body: object) -> Kept:
    """Put values in the place of those of the recorded start. Raises InputError, Refused."""
    values = body.get("values") if isinstance(body, Mapping) else None
    if not isinstance(values, Mapping):
        raise SessionFileError("'values' is missing", "send dotted keys with texts", Place(field="values"))
    kept = benches.bench(bench)
    old = values_of(tomllib.loads(kept.head.text.removeprefix("\ufeff")))
    for key in values:
        if key not in KEYS:
            raise SessionFileError(f"'{key}' is not a value of a setup", "see the setup page", Place(field=str(key)))
    changed = {**old, **values}
    # A value that was sent is somebody's own from now on, the very same figure too.
    assumed = tuple(key for key in kept.head.assumed if key not in values)
    if any(str(key).startswith(("archer.group", "archer.score")) and value for key, value in values.items()):
        assumed = tuple(key for key in assumed if key != "archer.level")
        if "archer.level" in kept.head.assumed and "archer.level" not in values:
            changed["archer.level"] = ""
    if all(old.get(key) == value for key, value in changed.items()) and assumed == kept.head.assumed:
        return kept
    text = head_text(changed)
    if values_of(tomllib.loads(text)) == old:
        text = kept.head.text  # only what was assumed changed: a person's comments stay
    return benches.set_head(bench, text, assumed)
