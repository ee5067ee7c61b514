"""A server that is killed while one taps loses nothing, leaves no process behind, and ends cleanly when asked to."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from http.client import HTTPException
from pathlib import Path

import numpy as np
import pytest

from spinewright import logbook
from tests.web.benches_samples import tap
from tests.web.quick_server import QuickServer
from tests.web.server_process import ServerProcess, ask

ROOT = Path(__file__).parents[2]


@pytest.mark.endurance  # a few kills, with the page itself before the server, are in test_page_kept
def test_kills_while_tapping_lose_nothing_acknowledged_or_queued(tmp_path: Path) -> None:
    kills = 20
    chance = np.random.default_rng(7)
    folder = tmp_path / "store"
    server = QuickServer(folder)
    ask(server.port, "PUT", "/api/benches/b1", {"from": "quick"})
    outbox: list[int] = []
    acknowledged: set[int] = set()
    tapped = 0
    for _ in range(kills):
        pid = server.process.pid
        killer = threading.Timer(chance.uniform(0.0, 0.11), os.kill, (pid, signal.SIGKILL))
        while True:
            if len(outbox) < 2:
                tapped += 1
                outbox.append(tapped)
            try:
                status, answer = ask(server.port, "PUT", _path(outbox[0]), _tap(outbox[0]))
            except (OSError, HTTPException):
                break
            assert status == 200, answer
            acknowledged.add(outbox.pop(0))
            if killer.ident is None:  # from the first that is kept, however busy the machine is
                killer.start()
        killer.join()
        server.kill()
        server = QuickServer(folder)
        _, answer = ask(server.port, "GET", "/api/benches/b1")
        kept = {one["id"] for one in answer["walk"]["taps"]} if answer["walk"] else set()
        assert {f"t{number}" for number in acknowledged} <= kept
    for number in outbox:  # what the page had still to send
        assert ask(server.port, "PUT", _path(number), _tap(number))[0] == 200
    _, text = ask(server.port, "GET", "/api/benches/b1/export")
    server.kill()
    [shots] = logbook.parse(text).events
    shafts = [hit.impact.shaft for hit in shots.hits]  # type: ignore[attr-defined]
    assert sorted(shafts) == list(range(1, tapped + 1))
    assert len(acknowledged) >= kills


def _path(number: int) -> str:
    return f"/api/benches/b1/walks/w1/taps/t{number}"


def _tap(number: int) -> dict[str, object]:
    return tap(number, "bare" if number % 2 else "fletched", 0.001 * (number % 50), 0.0)


@pytest.mark.endurance
def test_the_working_process_ends_with_a_server_that_was_killed(tmp_path: Path) -> None:
    with ServerProcess(tmp_path / "store") as server:
        server.ask("PUT", "/api/benches/bdemo", {"from": "demo"})
        _, job = server.ask("POST", "/api/benches/bdemo/ask/next", {"bows": 5000})
        _until(lambda: server.ask("GET", f"/api/jobs/{job['job']}")[1]["state"] == "running")
        children = server.children()
        assert children
        server.kill()
        _until(lambda: not any(Path(f"/proc/{child}").exists() for child in children))


@pytest.mark.endurance
def test_long_work_shows_progress_is_cancelled_and_taps_go_on(tmp_path: Path) -> None:
    with ServerProcess(tmp_path / "store") as server:
        server.ask("PUT", "/api/benches/bdemo", {"from": "demo"})
        _, job = server.ask("POST", "/api/benches/bdemo/ask/next", {"bows": 5000})
        path = f"/api/jobs/{job['job']}"
        _until(lambda: server.ask("GET", path)[1]["share"] > 0.0)
        assert server.ask("PUT", "/api/benches/bdemo/walks/w1/taps/t1", _tap(1))[0] == 200
        # another question of the same kind takes its place; the same question finds it
        assert server.ask("POST", "/api/benches/bdemo/ask/next", {"bows": 4000})[1]["job"] != job["job"]
        assert server.ask("GET", path)[1]["state"] == "cancelled"
        again = server.ask("POST", "/api/benches/bdemo/ask/next", {"bows": 4000})[1]["job"]
        assert server.ask("DELETE", f"/api/jobs/{again}")[1]["state"] == "cancelled"
        # and a fresh process answers the next one
        _, small = server.ask("POST", "/api/benches/bdemo/ask/sheet", {})
        _until(lambda: server.ask("GET", f"/api/jobs/{small['job']}")[1]["state"] == "done")
        assert server.ask("GET", "/api/benches/bdemo/sheet")[1]["fresh"]


def test_ctrl_c_ends_it_although_a_page_is_open(tmp_path: Path) -> None:
    with ServerProcess(tmp_path / "store") as server:
        server.ask("PUT", "/api/benches/b1", {"from": "quick"})
        from tests.web.test_routes_messages import Stream

        with Stream(server.port, "b1") as stream:
            assert stream.next()[0] == "changed"
            server.process.send_signal(signal.SIGINT)
            assert server.process.wait(10.0) == 0


def test_tapping_loads_no_solver(tmp_path: Path) -> None:
    script = """
import sys
from pathlib import Path
from tests.web.benches_samples import log, make, served, shoot
with served(Path(sys.argv[1])) as client:
    make(client, "b1", **{"from": "demo"})
    shoot(client, "b1")
    assert log(client, "b1", "e1", kind="rest moved", clicks="left 2").status_code == 200
    assert client.get("/api/benches/b1/line").status_code == 200
    assert client.get("/api/benches/b1/meaning").status_code == 200
print(sorted(name for name in sys.modules if name in ("numba", "matplotlib", "spinewright.mechanics")))
"""
    command = [sys.executable, "-c", script, str(tmp_path / "store")]
    found = subprocess.run(  # noqa: S603 - this very script
        command, cwd=ROOT, check=True, timeout=60, capture_output=True, text=True
    )
    assert found.stdout.strip() == "[]"


@pytest.mark.endurance
def test_a_second_server_does_not_write_over_the_first(tmp_path: Path) -> None:
    with ServerProcess(tmp_path / "store"), pytest.raises(AssertionError, match="open already"):
        ServerProcess(tmp_path / "store")


def _until(happened: object, seconds: float = 60.0) -> None:
    assert callable(happened)
    until = time.monotonic() + seconds
    while not happened():
        assert time.monotonic() < until, "it did not happen in time"
        time.sleep(0.05)
