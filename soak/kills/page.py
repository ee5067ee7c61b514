"""The act on the bench page: events and taps sent over HTTP to a server that is killed."""

from __future__ import annotations

import json
import sqlite3
import time
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

from soak.kills.acts import Judged, broken_store
from soak.kills.child import Child, Ended, Tell, fork

__all__ = ["SENT", "LogOverPage", "asked", "request", "serving"]

_STARTS, _ANSWERS = 60.0, 30.0  # s that a busy machine is given
_BENCH = "b1"
SENT = 9
"""How many things are sent."""


def asked(port: int, method: str, path: str, body: object = None) -> tuple[int, Any]:
    """Status and answer of the page at ``port``, asked as the page itself asks. Raises OSError or HTTPException."""
    connection = HTTPConnection("127.0.0.1", port, timeout=_ANSWERS)
    try:
        own = {"content-type": "application/json", "origin": f"http://127.0.0.1:{port}"}
        connection.request(method, path, None if body is None else json.dumps(body), own)
        answer = connection.getresponse()
        text = answer.read()
        return answer.status, json.loads(text) if answer.headers.get_content_type() == "application/json" else text
    finally:
        connection.close()


def serving(folder: Path) -> tuple[Child, int]:
    """The page over the store in ``folder`` in a child, and its port; the solvers are not loaded ahead."""

    def work(tell: Tell) -> None:
        from spinewright.web.jobs import Jobs
        from spinewright.web.serving import serve

        setattr(Jobs, "warm", lambda _self: None)  # noqa: B010 - nothing long is asked for here
        serve(folder, 0, share=False, told=lambda address: tell(str(address.port)))

    server = fork(work)
    while line := server.line(_STARTS):
        if line.isdecimal():
            return server, int(line)
        if line.startswith("@broke"):
            break
    server.kill()
    raise RuntimeError(f"the page did not start: {line or server.ended()}")


def request(number: int) -> tuple[str, str, object]:
    """What is sent ``number``-th: a hole tapped in, another, an event that ends the walk, and so on."""
    if number % 3 == 2:
        return "PUT", f"/api/benches/{_BENCH}/events/k{number}", {"event": {"kind": "settings good"}}
    tap = {"shaft": 1 + number, "state": "bare" if number % 2 else "fletched", "x": 0.01 * number, "y": 0.0}
    walk = {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "when": None}
    return "PUT", f"/api/benches/{_BENCH}/walks/w{number // 3}/taps/k{number}", {"walk": walk, "tap": tap}


class LogOverPage:
    """Nine things sent over HTTP; acknowledged is what was answered with success. Killed is the server."""

    about = "logging to the logbook over HTTP"

    def prepare(self, folder: Path) -> None:
        """A store with one invented bench."""
        from spinewright.units import System
        from spinewright.workflow.benches import served_benches
        from spinewright.workflow.benches.starting import make_bench

        with served_benches(folder) as benches:
            make_bench(benches, _BENCH, {"from": "quick"}, System.INCH)

    def choose(self, number: int, folder: Path) -> None:
        """Always the same."""

    def warm(self, folder: Path) -> None:
        """The server's modules, and everything that an answer needs."""
        import uvicorn.protocols.http.h11_impl  # noqa: F401 - the server loads it when it starts

        from spinewright.evidence import laws
        from spinewright.web.serving import serve

        del serve
        laws.f_tail(1.0, 2, 2)
        _sent_again(folder)

    def killed(self, folder: Path, moment: float | None) -> Ended:
        """Send everything; a thing sent again changes nothing."""
        server, port = serving(folder)

        def send(tell: Tell) -> None:
            for number in range(SENT):
                status, answer = asked(port, *request(number))
                if status != 200:
                    raise RuntimeError(f"thing {number} was answered with {status}: {answer}")
                tell(f"k{number}")
                if number % 4 == 3:
                    status, text = asked(port, "GET", f"/api/benches/{_BENCH}/export")
                    if status != 200 or not text.startswith(b"format"):
                        raise RuntimeError(f"the export was answered with {status}: {text[:80]!r}")

        client = fork(send)
        if moment is None:
            ended = client.ended()
            server.kill()
        else:
            time.sleep(moment)
            server.kill()
            ended = client.ended()
        server.ended()
        return ended

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """The store is sound and holds a first part of what was sent; sent again, everything is there once."""
        found = Judged(acknowledged=len(ended.told))
        gone = ("ConnectionResetError", "ConnectionRefusedError", "RemoteDisconnected", "BrokenPipe", "IncompleteRead")
        if ended.broke and not ended.broke.startswith(gone):
            found.faults.append(ended.broke)
        kept = _kept(folder)
        found.unsound = int(bool(broken_store(folder / "benches.sqlite")))
        found.lost = len(set(ended.told) - set(kept))
        found.untold = len(set(kept) - set(ended.told))
        if kept != [f"k{number}" for number in range(len(kept))] or found.untold > 1:
            found.faults.append(f"{kept} is there after {ended.told} were acknowledged")
        found.faults += _sent_again(folder)
        return found


def _kept(folder: Path) -> list[str]:
    """What was sent and is in the store, in the order of its numbers."""
    with closing(sqlite3.connect(folder / "benches.sqlite")) as connection:
        rows = connection.execute("SELECT id FROM events WHERE id LIKE 'k%' UNION ALL SELECT tap FROM taps").fetchall()
    return sorted((row[0] for row in rows), key=lambda one: int(one[1:]))


def _sent_again(folder: Path) -> list[str]:
    """What is wrong once everything was sent again to the store as the kill left it."""
    from spinewright.errors import SpinewrightError
    from spinewright.units import System
    from spinewright.workflow.benches import served_benches
    from spinewright.workflow.benches.logging_events import log_to_bench

    try:
        with served_benches(folder) as benches:
            for number in range(SENT):
                _method, path, body = request(number)
                assert isinstance(body, dict)  # noqa: S101 - made above
                if "event" in body:
                    log_to_bench(benches, _BENCH, f"k{number}", body["event"], System.INCH)
                else:
                    benches.put_tap(_BENCH, path.split("/")[5], f"k{number}", body)
            events = [event.id for event in benches.bench(_BENCH).bench.session.events]
    except SpinewrightError as error:
        return [f"the store could not be gone on with: {error}"]
    wanted = ["w0", "k2", "w1", "k5", "w2", "k8"]
    kept = _kept(folder)
    if events != wanted or kept != [f"k{number}" for number in range(SENT)]:
        return [f"sent again, {events} with {kept} is there"]
    return []
