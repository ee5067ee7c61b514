"""A refusal in the words of the page: what is said of a session file's keys and lines is said of fields and choices."""

from __future__ import annotations

import re

from spinewright.equipment import BowKind, Release
from spinewright.errors import InputError, ScopeError
from spinewright.logbook import EVENTS
from spinewright.logbook.head import KEYS
from spinewright.logbook.keys import Key
from spinewright.units import System, own_first
from spinewright.workflow.benches.examples import example_in

__all__ = ["in_page_words"]

_SUPPORTED = {"scope.release": Release.AID, "scope.bow": BowKind.COMPOUND}
_MISSING = re.compile(r"write for example (?P<name>\w+) = .*")


def in_page_words(error: InputError, system: System) -> InputError:
    """``error`` for who fills in a page in the units of ``system``; what is the same on both stays as it is."""
    field = error.place.field or ""
    if isinstance(error, ScopeError) and field in _SUPPORTED:
        return ScopeError(error.what, f"choose '{_SUPPORTED[field]}'", error.place)
    missing = _MISSING.fullmatch(error.right)
    if missing is None:
        return type(error)(own_first(error.what, system), own_first(error.right, system), error.place)
    key = _key(field, missing["name"])
    example = "" if key is None else example_in(key.form, key.example.replace('"', ""), system)
    what = f"{missing['name'].replace('_', ' ')} is not filled in"
    return type(error)(what, f"write for example '{example}'" if example else "fill it in", error.place)


def _key(field: str, name: str) -> Key | None:
    """The key that ``field`` is: of the head by its whole path, of an event by its name."""
    if field in KEYS:
        return KEYS[field]
    return next((key for keys in EVENTS.values() for key in keys if key.name == name), None)
