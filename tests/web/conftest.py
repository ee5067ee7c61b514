"""One Chromium for all tests of the page in a browser, real servers over folders of their own, and a page's tools."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.web.server_process import ServerProcess, answered

if TYPE_CHECKING:
    from playwright.sync_api import Browser

SHARED = {"chromium", "demo_server", "benches"}
WISHES: dict[str, dict[str, object]] = {
    "next": {"bows": 60},
    "map": {"bows": 20, "level": "expert", "sizes": {"creep": "1/8 in"}},
    "stroke": {},
    "paths": {},
}
"""What the worked demo is asked, and how."""
ARGUMENTS = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    # one renderer for all pages, which are of one site: starting one for each takes a tenth of the tests' time
    "--renderer-process-limit=1",
    "--disable-features=IsolateOrigins,site-per-process,SpareRendererForSitePerProcess",
    "--disable-site-isolation-trials",
)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, started once; each test opens contexts of its own in it.

    Its shell is taken where there is one: to it a context is no window, which costs a third.
    """
    found = shutil.which("chromium-headless-shell") or shutil.which("chromium")
    if found is None:
        if os.environ.get("SPINEWRIGHT_PAGE_TESTS") == "must":
            pytest.fail("Chromium is not installed, and here the tests of the page may not be left out")
        pytest.skip("Chromium is not installed: the tests of the page in a browser are left out")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=found, args=list(ARGUMENTS), timeout=20_000)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def demo_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServerProcess]:
    """A server that is only looked at and added to; no test stops it."""
    server = ServerProcess(tmp_path_factory.mktemp("page") / "store")
    yield server
    server.kill()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[ServerProcess]:
    """A server over an empty store, for one test alone."""
    made = ServerProcess(tmp_path / "store")
    yield made
    made.kill()


@pytest.fixture(scope="session")
def benches(demo_server: ServerProcess) -> dict[str, str]:
    """The worked demo with an answer to everything it can be asked for, and a left-hander's empty bench."""
    found = {"demo": "bseenseen", "empty": "bleftleft"}
    demo_server.ask("PUT", f"/api/benches/{found['demo']}", {"from": "demo"})
    demo_server.ask("PUT", f"/api/benches/{found['empty']}", {"from": "quick", "values": {"scope.hand": "left"}})
    for what, wishes in WISHES.items():
        answered(demo_server, found["demo"], what, dict(wishes))
    return found


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All tests that look at the one worked demo come first; they run in one process (``tests/conftest.py``)."""
    together = [item for item in items if SHARED & set(getattr(item, "fixturenames", ()))]
    chosen = {id(item) for item in together}
    items[:] = together + [item for item in items if id(item) not in chosen]
