"""A server that starts in a moment, because another process has its modules loaded already; for killing it often."""

from __future__ import annotations

import multiprocessing
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from tests.web.server_process import ask

__all__ = ["QuickServer"]

_START = 90.0  # s for a start
_CONTEXT = multiprocessing.get_context("forkserver")
_CONTEXT.set_forkserver_preload(["tests.web.ready_server"])


class QuickServer:
    """The server itself over the store in ``folder``, in a process of its own; the solvers are not loaded ahead.

    It is shared at ``lan`` when that is given.
    """

    def __init__(self, folder: Path, port: int = 0, lan: str = "") -> None:
        mine, other = _CONTEXT.Pipe()
        self.process: BaseProcess = _CONTEXT.Process(target=_serve, args=(folder, port, lan, other), daemon=True)
        self.process.start()
        other.close()
        assert mine.poll(_START), "the server did not start"
        self.port: int = mine.recv()
        mine.close()

    def ask(self, method: str, path: str, body: object = None, **headers: str) -> tuple[int, Any]:
        """:func:`~tests.web.server_process.ask` this server."""
        return ask(self.port, method, path, body, **headers)

    def kill(self) -> None:
        """kill -9."""
        self.process.kill()
        self.process.join(10.0)


def _serve(folder: Path, port: int, lan: str, told: Connection) -> None:
    from spinewright.web.jobs import Jobs
    from spinewright.web.serving import serve

    setattr(Jobs, "warm", lambda _self: None)  # noqa: B010 - nothing is asked of the solvers here
    serve(folder, port, share=bool(lan), told=lambda address: told.send(address.port), lan=lan)
