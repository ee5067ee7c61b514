"""One Chromium for all tests of the page in a browser, real servers over folders of their own, and a page's tools."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.web.server_process import ServerProcess

if TYPE_CHECKING:
    from playwright.sync_api import Browser

_THINKING = 60.0  # s for one piece of long work
ARGUMENTS = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-gpu",
    "--disable-dev-shm-usage",
)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, started once; each test opens contexts of its own in it."""
    found = shutil.which("chromium")
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
    for what, body in (("next", {"bows": 30}), ("stroke", {}), ("paths", {}), ("map", {"bows": 20})):
        _, job = demo_server.ask("POST", f"/api/benches/{found['demo']}/ask/{what}", body)
        until = time.monotonic() + _THINKING
        while job["state"] in ("waiting", "running") and time.monotonic() < until:
            time.sleep(0.05)
            _, job = demo_server.ask("GET", f"/api/jobs/{job['job']}")
        assert job["state"] == "done", job
    return found
