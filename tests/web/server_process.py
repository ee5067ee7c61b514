"""A server in a process of its own, as a person starts it, and a client that waits only so long."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

__all__ = ["ServerProcess", "answered", "ask"]

_DEADLINE = 90.0  # s for a start; the waits end with what they wait for, so only a busy machine comes near
_ANSWER = 30.0  # s for an answer
_THINKING = 240.0  # s for one piece of long work, whose process gives way to everything else
_SHOWN = {"next": "meaning", "stroke": "seeing", "paths": "seeing"}
_ADDRESS = re.compile(rb"The bench page is at http://127\.0\.0\.1:(\d+)/")


def ask(port: int, method: str, path: str, body: object = None, **headers: str) -> tuple[int, Any]:
    """Status and parsed answer of the server at ``port``. Raises OSError or HTTPException when it is gone."""
    connection = HTTPConnection("127.0.0.1", port, timeout=_ANSWER)
    try:
        sent = None if body is None else json.dumps(body)
        own = {"content-type": "application/json", "origin": f"http://127.0.0.1:{port}"}
        connection.request(method, path, sent, {**own, **headers})
        answer = connection.getresponse()
        text = answer.read()
        kind = answer.headers.get_content_type()
        return answer.status, json.loads(text) if kind == "application/json" else text.decode()
    finally:
        connection.close()


class ServerProcess:
    """``spinewright serve`` over the store in ``folder``, or at ``address`` with what it says beside ``folder``."""

    def __init__(
        self,
        folder: Path,
        *options: str,
        cwd: Path | None = None,
        python: str = sys.executable,
        address: str = "",
    ) -> None:
        self._said = (folder.parent / f"{folder.name}.err").open("ab")
        self.said = b""
        environment = {**os.environ, "COLUMNS": "80"}
        command = [python, "-m", "spinewright.cli", "serve", "--store", address or str(folder), "--port", "0", *options]
        self.process = subprocess.Popen(  # noqa: S603 - the program under test
            command, stdout=subprocess.PIPE, stderr=self._said, env=environment, cwd=cwd
        )
        self.port = self._wait()

    def __enter__(self) -> ServerProcess:
        return self

    def __exit__(self, *_error: object) -> None:
        self.kill()

    def _wait(self) -> int:
        assert self.process.stdout is not None
        os.set_blocking(self.process.stdout.fileno(), False)
        until = time.monotonic() + _DEADLINE
        while time.monotonic() < until:
            self.said += self.process.stdout.read() or b""
            found = _ADDRESS.search(self.said)
            if found:
                return int(found[1])
            if self.process.poll() is not None:
                break
            time.sleep(0.02)
        self.kill()
        raise AssertionError(f"the server did not start:\n{self.said.decode()}\n{Path(self._said.name).read_text()}")

    def ask(self, method: str, path: str, body: object = None, **headers: str) -> tuple[int, Any]:
        """:func:`ask` this server."""
        return ask(self.port, method, path, body, **headers)

    def children(self) -> list[int]:
        """Processes that this one has started."""
        found = []
        for path in Path("/proc").glob("[0-9]*/stat"):
            try:
                parent = int(path.read_text().rpartition(")")[2].split()[1])
            except (OSError, ValueError, IndexError):
                continue
            if parent == self.process.pid:
                found.append(int(path.parent.name))
        return found

    def kill(self) -> None:
        """kill -9."""
        self.process.kill()
        self.process.wait(10.0)
        if self.process.stdout is not None:
            self.process.stdout.close()
        self._said.close()


def answered(server: ServerProcess, bench: str, what: str, wishes: dict[str, object]) -> Any:  # noqa: ANN401 - JSON
    """What the page shows of ``what`` once it is worked out, which takes as long as a busy machine needs."""
    status, job = server.ask("POST", f"/api/benches/{bench}/ask/{what}", wishes)
    assert status == 200, job
    until = time.monotonic() + _THINKING
    while job["state"] in ("waiting", "running"):
        assert time.monotonic() < until, job
        time.sleep(0.05)
        _, job = server.ask("GET", f"/api/jobs/{job['job']}")
    assert job["state"] == "done", job
    return server.ask("GET", f"/api/benches/{bench}/{_SHOWN.get(what, what)}")[1]
