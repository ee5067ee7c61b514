"""Settings for every test: property tests are judged by what holds, never by how long a busy machine takes."""

from __future__ import annotations

import os

# The suite runs one process for each core, so that threads inside a process would only fight over them.
for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ.setdefault(threads, "1")

import pytest  # noqa: E402 - numpy, which plugins may load, reads these when it is loaded
from hypothesis import settings  # noqa: E402

settings.register_profile("any machine", deadline=None, derandomize=True)
settings.load_profile("any machine")

from tests.stores import database, place  # noqa: E402 - fixtures of several folders of tests

__all__ = ["database", "place"]


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes long goes first, so that at the end no core waits long for the other."""
    items.sort(key=lambda item: not (item.get_closest_marker("xdist_group") or item.get_closest_marker("slow")))
