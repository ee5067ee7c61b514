"""The values of a session file's head as fields to fill in, with what each is and how it is written."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from spinewright.logbook.head import KEYS, needed_keys
from spinewright.logbook.keys import Form, Key
from spinewright.units import Kind, System
from spinewright.workflow.benches.examples import example_in
from spinewright.workflow.showing import Json

__all__ = ["SECTIONS", "event_fields", "field_json", "label_of", "sections_json"]

SECTIONS: Mapping[str, str] = MappingProxyType(
    {
        "scope": "What this is about",
        "archer": "The archer",
        "bow": "The bow",
        "bow.rest": "The arrow rest",
        "bow.maker": "What the maker allows",
        "start": "Where things stand now",
        "shaft": "The shaft",
        "arrow": "The arrow as built",
        "arrow.nock": "Nock",
        "arrow.bushing": "Bushing or pin",
        "arrow.wrap": "Wrap",
        "arrow.insert": "Insert",
        "arrow.collar": "Collar",
        "arrow.vanes": "Vanes",
        "arrow.point": "Point",
        "owned": "What lies on the bench",
        "limits": "Limits you looked up",
    }
)
_FORMS: Mapping[Form, str] = MappingProxyType(
    {
        Form.YES_NO: "yes",
        Form.WHOLE: "whole",
        Form.NUMBER: "number",
        Form.DATE: "date",
        Form.MASSES: "masses",
        Form.TABLES: "rows",
    }
)
_KINDS: Mapping[Kind, str] = MappingProxyType(
    {
        Kind.LENGTH: "length",
        Kind.DISTANCE: "distance",
        Kind.MASS: "mass",
        Kind.FORCE: "force",
        Kind.SPEED: "speed",
        Kind.ANGLE: "angle",
        Kind.SPINE: "spine",
        Kind.FRACTION: "fraction",
        Kind.LINEAR_DENSITY: "mass per length",
        Kind.AREA: "area",
    }
)


def label_of(key: str) -> str:
    """A dotted key in words: 'The bow: peak weight'."""
    section, _, name = key.rpartition(".")
    words = name.replace("_", " ")
    return f"{SECTIONS.get(section, section)}: {words}" if section else words


def field_json(
    key: Key, path: str, value: object = None, *, needed: bool | None = None, system: System = System.INCH
) -> Json:
    """One value to fill in; ``value`` as it is written now, its example as ``system`` writes it."""
    form = key.form
    options: list[str] = []
    if isinstance(form, Kind):
        kind = _KINDS.get(form, "text")
    elif isinstance(form, Form):
        kind = _FORMS.get(form, "text")
    else:
        kind = "word"
    if isinstance(form, type) and issubclass(form, StrEnum):
        options = [str(word) for word in form]
    return {
        "key": path,
        "label": key.name.replace("_", " "),
        "what": key.what,
        "kind": kind,
        "example": example_in(form, key.example.strip('"').replace('"', ""), system),
        "value": value,
        "options": options,
        "needed": key.needed if needed is None else needed,
    }


def event_fields(keys: tuple[Key, ...], system: System) -> list[Json]:
    """The plain values of one kind of event."""
    return [field_json(key, key.name, system=system) for key in keys if key.form not in (Form.TABLE, Form.TABLES)]


def sections_json(values: Mapping[str, object], system: System) -> list[Json]:
    """Every section with its fields and its lists of rows, filled in with ``values``."""
    needed = set(needed_keys())
    found: list[Json] = []
    for section, title in SECTIONS.items():
        paths = [path for path in KEYS if path.rpartition(".")[0] == section or path == section]
        plain = [path for path in paths if KEYS[path].form is not Form.TABLES]
        lists = [path for path in paths if KEYS[path].form is Form.TABLES]
        fields = [
            field_json(KEYS[path], path, values.get(path), needed=path in needed, system=system) for path in plain
        ]
        rows = [_list(path, KEYS[path], values.get(path), system) for path in lists]
        found.append({"key": section, "title": title, "fields": fields, "lists": rows})
    return found


def _list(path: str, key: Key, value: object, system: System) -> Json:
    written = value if isinstance(value, list) else []
    names = [one.name for one in key.keys]
    return {
        "key": path,
        "what": key.what,
        "columns": [field_json(one, one.name, system=system) for one in key.keys],
        "rows": [[str(row.get(name, "")) for name in names] for row in written if isinstance(row, Mapping)],
    }
