"""Messages to open pages: a second device hears of a tap at once, and of what it missed after a break."""

from __future__ import annotations

import json
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import pytest

from tests.web.benches_samples import tap
from tests.web.quick_server import QuickServer
from tests.web.server_process import ServerProcess

_LONGEST = 60.0  # s that a message may take on a busy machine; how fast it is is measured where it matters


class Stream:
    """One open page's stream."""

    def __init__(self, port: int, bench: str, after: str = "") -> None:
        self._connection = HTTPConnection("127.0.0.1", port, timeout=_LONGEST)
        headers = {"last-event-id": after} if after else {}
        self._connection.request("GET", f"/api/benches/{bench}/stream", headers=headers)
        self._answer = self._connection.getresponse()
        assert self._answer.headers.get_content_type() == "text/event-stream"
        self.last = ""

    def __enter__(self) -> Stream:
        return self

    def __exit__(self, *_error: object) -> None:
        self._connection.close()

    def next(self) -> tuple[str, Any]:
        """Name and body of the next message."""
        name = body = ""
        while True:
            line = self._answer.readline().decode().rstrip("\n")
            field, _, value = line.partition(": ")
            if field == "id":
                self.last = value
            elif field == "event":
                name = value
            elif field == "data":
                body = value
            elif not line and name:
                return name, json.loads(body)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[QuickServer]:
    made = QuickServer(tmp_path / "store")
    made.ask("PUT", "/api/benches/b1", {"from": "quick"})
    yield made
    made.kill()


def _tap(server: QuickServer, number: int, **headers: str) -> None:
    status, answer = server.ask(
        "PUT", f"/api/benches/b1/walks/w1/taps/t{number}", tap(number, "bare", 0.01, 0.0), **headers
    )
    assert status == 200, answer


def test_a_second_device_sees_a_tap_and_resumes_after_a_break(server: QuickServer) -> None:
    with Stream(server.port, "b1") as stream:
        name, hello = stream.next()
        assert (name, hello["what"], hello["revision"]) == ("changed", "hello", 1)
        _tap(server, 1, **{"x-client": "phone"})
        name, said = stream.next()
        assert (name, said) == ("changed", {"revision": 2, "by": "phone", "what": "tap", "id": "t1"})
        last = stream.last
    _tap(server, 2)
    _tap(server, 3)
    with Stream(server.port, "b1", last) as stream:
        assert stream.next()[1]["revision"] == 4
        assert [stream.next()[1]["id"] for _ in range(2)] == ["t2", "t3"]


def test_messages_of_another_bench_are_not_heard(server: QuickServer) -> None:
    server.ask("PUT", "/api/benches/b2", {"from": "quick"})
    with Stream(server.port, "b2") as stream:
        stream.next()
        _tap(server, 1)
        server.ask("POST", "/api/benches/b2/name", {"name": "other"})
        assert stream.next()[1]["what"] == "name"


def test_a_job_is_followed_to_its_end(tmp_path: Path) -> None:
    with ServerProcess(tmp_path / "store") as server:
        server.ask("PUT", "/api/benches/b1", {"from": "quick"})
        with Stream(server.port, "b1") as stream:
            stream.next()
            _, job = server.ask("POST", "/api/benches/b1/ask/sheet", {})
            states: list[str] = []
            while not states or states[-1] != "done":
                name, said = stream.next()
                assert (name, said["job"]) == ("job", job["job"])
                states.append(said["state"])
        assert states[0] == "waiting"
        assert "running" in states
        assert server.ask("GET", "/api/benches/b1/sheet")[1]["fresh"]


def test_a_stream_of_no_bench_is_refused(server: QuickServer) -> None:
    assert server.ask("GET", "/api/benches/bnone/stream")[0] == 404
