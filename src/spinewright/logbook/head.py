"""The head of a session file, all but its events, as flat dotted values and as text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from enum import StrEnum
from typing import Any

from spinewright.errors import Place, SessionFileError
from spinewright.logbook.keys import ROOT, Form, Key
from spinewright.logbook.session import FORMAT
from spinewright.logbook.table import nearest

__all__ = ["KEYS", "Values", "head_text", "keys_below", "needed_keys", "values_of"]

Values = Mapping[str, object]
"""Dotted key to what was written there: a text; for lists of sections a list of such; for masses a list of texts."""

_LEFT_OUT = ("format", "event")
_YES = {"true": True, "yes": True, "false": False, "no": False}


def keys_below(keys: tuple[Key, ...], path: str = "") -> Iterator[tuple[str, Key, bool]]:
    """Dotted path of every value and list below ``keys``, its key, and whether all sections above it are needed."""
    for key in keys:
        yield from _below(key, path, True)


def _below(key: Key, path: str, wanted: bool) -> Iterator[tuple[str, Key, bool]]:
    if not path and key.name in _LEFT_OUT:
        return
    here = f"{path}.{key.name}" if path else key.name
    if key.form is not Form.TABLE:
        yield here, key, wanted
        return
    for one in key.keys:
        yield from _below(one, here, wanted and key.needed)


KEYS: Mapping[str, Key] = {path: key for path, key, _ in keys_below(ROOT)}
"""Every value of a session file's head by its dotted key."""


def needed_keys() -> tuple[str, ...]:
    """Dotted keys that no session file can do without."""
    return tuple(path for path, key, wanted in keys_below(ROOT) if wanted and key.needed)


def values_of(data: Mapping[str, object]) -> dict[str, object]:
    """The flat values of a head that was read as TOML."""
    found: dict[str, object] = {}
    for path, key in KEYS.items():
        value: Any = data
        for name in path.split("."):
            value = value.get(name) if isinstance(value, Mapping) else None
        if value is None or value == "":
            continue
        if key.form is Form.TABLES and isinstance(value, list):
            found[path] = [{name: _said(one) for name, one in row.items()} for row in value if isinstance(row, Mapping)]
        elif key.form is Form.MASSES and isinstance(value, list):
            found[path] = [_said(one) for one in value]
        else:
            found[path] = _said(value)
    return found


def head_text(values: Values) -> str:
    """The text of a head that says ``values``; empty ones are left out. Raises SessionFileError for an unknown key."""
    for path in values:
        if path not in KEYS:
            raise SessionFileError(f"'{path}' is not a key known here", nearest(path, list(KEYS)), Place(field=path))
    lines = [f"format = {FORMAT}"]
    for section in _sections(values):
        inside = [path for path in KEYS if path.rpartition(".")[0] == section and _given(values.get(path))]
        lines += ["", f"[{section}]"]
        lines += [f"{path.rpartition('.')[2]} = {_written(values[path], path, KEYS[path])}" for path in inside]
    for path, key in KEYS.items():
        if "." not in path and _given(values.get(path)):
            rows = values[path]
            for row in rows if isinstance(rows, list) else []:
                lines += ["", f"[[{path}]]"]
                lines += [f"{k.name} = {_written(row[k.name], path, k)}" for k in key.keys if _given(row.get(k.name))]
    return "\n".join(lines) + "\n"


def _written(value: object, path: str, key: Key) -> str:
    from spinewright.logbook.session_file import written

    try:
        return written(_typed(value, key))
    except SessionFileError as error:
        raise error.at(field=path) from error


def _sections(values: Values) -> list[str]:
    """Sections that hold at least one value, in the order of the keys."""
    found = dict.fromkeys(path.rpartition(".")[0] for path in KEYS if "." in path and _given(values.get(path)))
    return list(found)


def _given(value: object) -> bool:
    if isinstance(value, list):
        return any(_given(one) for one in value)
    if isinstance(value, Mapping):
        return any(_given(one) for one in value.values())
    return value is not None and str(value).strip() != ""


def _typed(value: object, key: Key) -> object:
    """``value`` as it stands in a file: numbers, dates and yes or no without quotation marks where they can be read."""
    if key.form is Form.TABLES and isinstance(value, list):
        by_name = {one.name: one for one in key.keys}
        return [
            {name: _typed(one, by_name[name]) if name in by_name else one for name, one in row.items() if _given(one)}
            for row in value
            if _given(row)
        ]
    if isinstance(value, list):
        return [str(one).strip() for one in value if _given(one)]
    text = value.strip() if isinstance(value, str) else value
    if not isinstance(text, str):
        return text
    if key.form is Form.MASSES:
        return [one.strip() for one in text.split(",") if one.strip()]
    return _plain(text, key)


def _plain(text: str, key: Key) -> object:
    try:
        if key.form is Form.WHOLE:
            return int(text)
        if key.form is Form.NUMBER:
            return float(text)
        if key.form is Form.DATE:
            return date.fromisoformat(text)
    except ValueError:
        return text  # the reader says what would be right
    if key.form is Form.YES_NO:
        return _YES.get(text.lower(), text)
    if isinstance(key.form, type) and issubclass(key.form, StrEnum):
        return text.lower()
    return text


def _said(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return value.isoformat()
    return str(value)
