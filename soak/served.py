"""The page's server in a process of its own, shared at a second address of this machine, as phones meet it."""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path

__all__ = ["HERE", "SHARED", "served"]

HERE = "127.0.0.1"
"""The address of the machine itself, which needs no pairing."""
SHARED = "127.0.0.2"
"""Another address of this machine, there without any network; who comes from it has to be paired."""

_START = 120.0  # s
_END = 15.0  # s


@contextmanager
def served(folder: Path) -> Iterator[int]:
    """The port of a server over the store in ``folder``; it has ended when this ends."""
    context = multiprocessing.get_context("spawn")
    mine, other = context.Pipe()
    process = context.Process(target=_serve, args=(folder, other))  # no daemon: it starts the working process itself
    process.start()
    other.close()
    try:
        if not mine.poll(_START):
            raise TimeoutError("the server did not start")
        yield int(mine.recv())
    finally:
        process.terminate()
        process.join(_END)
        if process.is_alive():
            process.kill()
            process.join()
        mine.close()


def _serve(folder: Path, told: Connection) -> None:
    from spinewright.web.serving import serve

    serve(folder, 0, share=True, told=lambda address: told.send(address.port), lan=SHARED)
