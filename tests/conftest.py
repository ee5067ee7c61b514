"""Settings for every test: property tests are judged by what holds, never by how long a busy machine takes."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("any machine", deadline=None, derandomize=True)
settings.load_profile("any machine")
