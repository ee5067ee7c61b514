"""What a server does once when it starts, done where all quick servers come from: importing, templates, one store."""

from __future__ import annotations

from tempfile import TemporaryDirectory

import uvicorn.protocols.http.h11_impl  # noqa: F401 - uvicorn loads it by name

import spinewright.web.serving  # noqa: F401
from spinewright.logbook.store import open_store
from spinewright.web.pages import read_templates

__all__: list[str] = []

read_templates()
with TemporaryDirectory() as folder:
    open_store(folder).close()  # what brings a store forward is loaded with it
