"""Tries who gets in: asks a running server over HTTP as this machine, as a stranger on the network, and as a phone."""

from __future__ import annotations

import multiprocessing
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

from spinewright.errors import StoreError
from spinewright.web.check_caller import Caller
from spinewright.web.check_tries import Attempt, try_all, try_unshared
from spinewright.web.serving import Address, lan_address, serve

__all__ = ["Report", "check_door"]

_START = 60.0  # s
_END = 10.0  # s


@dataclass(frozen=True, slots=True)
class Report:
    """``about`` says in a sentence what was asked, ``attempts`` are what was tried, in order."""

    about: str
    attempts: tuple[Attempt, ...]


def check_door(port: int, lan: str = "") -> Report:
    """Try the server at ``port``, or one over an empty store that is started for it when none is there.

    ``lan`` is this machine's address on the network, '' = it is looked up. A phone joins and is taken off again, and
    nothing else is changed. Raises StoreError when there is no network, no server to ask, or it was tried just before.
    """
    lan = lan or lan_address()
    if not lan:
        raise StoreError("no address on a local network was found; connect to one to try who gets in from there.")
    here = Caller("127.0.0.1", port)
    if port and '"version"' in here.ask("GET", "/api/health").text:
        where = f"Asked the bench page that runs at 127.0.0.1:{port}"
        if not Caller(lan, port).ask("GET", "/api/health").status:
            return Report(f"{where}, which is not shared.", tuple(try_unshared(here, lan)))
        return Report(f"{where} and is shared at {lan}.", tuple(try_all(here, Caller(lan, port))))
    with _own_server(lan) as own:
        attempts = tuple(try_all(Caller("127.0.0.1", own), Caller(lan, own)))
    return Report(f"No bench page runs at port {port}; asked one over an empty store, shared at {lan}.", attempts)


@contextmanager
def _own_server(lan: str) -> Iterator[int]:
    """The port of a server of its own, with one bench."""
    context = multiprocessing.get_context("spawn")
    mine, other = context.Pipe()
    with tempfile.TemporaryDirectory(prefix="spinewright-check-") as folder:
        process = context.Process(target=_serve, args=(Path(folder), lan, other), name="spinewright-check")
        process.start()
        other.close()
        try:
            port: int = mine.recv() if mine.poll(_START) else 0
            if not port:
                raise StoreError("the server to be tried did not start.")
            body = {"from": "quick"}
            Caller("127.0.0.1", port).ask("PUT", "/api/benches/bcheck", body, origin=f"http://127.0.0.1:{port}")
            yield port
        except EOFError as error:
            raise StoreError("the server to be tried did not start.") from error
        finally:
            process.terminate()
            process.join(_END)
            process.kill()
            process.join(_END)


def _serve(folder: Path, lan: str, told: Connection) -> None:
    def up(address: Address) -> None:
        told.send(address.port)

    serve(folder, 0, share=True, told=up, lan=lan)
