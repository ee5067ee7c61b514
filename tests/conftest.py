"""Settings for every test: property tests are judged by what holds, never by how long a busy machine takes."""

from __future__ import annotations

import gc
import os
from functools import cache
from typing import Any

# The suite runs one process for each core, so that threads inside a process would only fight over them.
for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ.setdefault(threads, "1")

import pytest  # noqa: E402 - numpy, which plugins may load, reads these when it is loaded
import typer.testing  # noqa: E402
from hypothesis import settings  # noqa: E402
from xdist.scheduler.loadscope import LoadScopeScheduling  # noqa: E402

settings.register_profile("any machine", deadline=None, derandomize=True)
settings.load_profile("any machine")

# typer makes all commands anew for each one that is run, which a process of a person does once and a test many times.
vars(typer.testing)["_get_command"] = cache(typer.main.get_command)

from tests.stores import database, place  # noqa: E402 - fixtures of several folders of tests

__all__ = ["database", "place"]

#: What takes long goes first, and all of one name to one process, which makes once what they look at.
_ONE_PROCESS = {
    "tests/cli/test_cli_answers.py": "answers of the command line",
    "tests/range/test_range_campaign.py": "campaign",
    "tests/unit/test_outlook_maps.py": "maps",
    "tests/unit/test_report.py": "pictures",
    "tests/web/test_compare_with_command_line.py::test_the_demo_bench": "page",
    "tests/web/test_page_": "page",
    "tests/web/test_routes_around.py": "tasks around the tune",
    "tests/web/test_store_on_a_server.py": "database",
    "tests/web/test_worked_demo.py": "page",
}


def _together(nodeid: str) -> str:
    """Which tests go to one process with this one; '' = it may go anywhere."""
    if "[server" in nodeid:
        return "database"
    return next((group for start, group in _ONE_PROCESS.items() if nodeid.startswith(start)), "")


class _Sharing(LoadScopeScheduling):  # type: ignore[misc]  # xdist is not typed
    """File by file, so that what a file makes is made once, but for what belongs together over several."""

    def _split_scope(self, nodeid: str) -> str:
        return _together(nodeid) or nodeid.partition("::")[0]


def pytest_collection_finish() -> None:
    """Modules and tests stay to the end, so they need not be looked through for what may go, again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> _Sharing:  # noqa: ANN401 - xdist's own
    """How tests are shared out. xdist's groups by mark are not asked: newer pytests do not pass them on to it."""
    return _Sharing(config, log)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes long goes first, so that at the end no core waits long for the other."""
    items.sort(key=lambda item: not (_together(item.nodeid) or item.get_closest_marker("slow")))
