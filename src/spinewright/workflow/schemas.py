"""The JSON Schemas of all results, each complete in itself."""

from __future__ import annotations

import json
from importlib import resources

from spinewright.workflow.showing import Json

__all__ = ["SCHEMAS", "schema"]

SCHEMAS = ("new", "log", "sheet", "next", "map", "doctor", "account", "error", "parts")
"""The schema files in this package; ``parts`` holds what several of them share."""


def schema(name: str) -> Json:
    """The schema of one result (draft 2020-12), with the shared parts carried inside under their own id."""
    if name not in SCHEMAS or name == "parts":
        raise ValueError(f"no schema is called {name!r}; there are {', '.join(SCHEMAS[:-1])}")
    found = _load(name)
    return {**found, "$defs": {"parts": _load("parts")}}


def _load(name: str) -> Json:
    text = (resources.files("spinewright.workflow") / "schema" / f"{name}.json").read_text(encoding="utf-8")
    loaded: Json = json.loads(text)
    return loaded
