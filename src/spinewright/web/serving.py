"""Runs the page: the address, the next free port, who may join, and a clean end on Ctrl-C."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import FrameType

import uvicorn

from spinewright.errors import StoreError
from spinewright.web.app import make_app
from spinewright.web.desk import Desk
from spinewright.web.guard import Door
from spinewright.workflow.benches import Benches, served_benches
from spinewright.workflow.benches.starting import bring_along

__all__ = ["Address", "serve"]

_TRIES = 20  # ports that are tried one after the other
_FIRST_PAGE = 1.0  # s that the first page has for itself before the working process is started
_GRACE = 2  # s that open requests are given at the end


class Address:
    """Where the page is: ``local`` for this machine, ``shared`` for a phone ('' = not shared), ``join`` its code."""

    def __init__(self, port: int, lan: str, token: str) -> None:
        self.port = port
        self.local = f"http://127.0.0.1:{port}"
        self.shared = f"http://{lan}:{port}" if lan else ""
        self.join = f"{self.shared}/pair?token={token}" if lan else ""


class _Server(uvicorn.Server):
    """A server that lets go of open streams before it waits for them."""

    def __init__(self, config: uvicorn.Config, desk: Desk) -> None:
        super().__init__(config)
        self._desk = desk

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        self._desk.hub.close()
        super().handle_exit(sig, frame)


def serve(
    folder: Path | None, port: int, *, share: bool, told: Callable[[Address], None], bench: Path | None = None
) -> None:
    """Serve the benches of ``folder`` until interrupted; ``told`` hears where once it listens.

    ``bench`` is a session file that becomes a bench of its own first. Raises StoreError, InputError.
    """
    lan = _lan_address() if share else ""
    if share and not lan:
        raise StoreError("no address on a local network was found; connect to one, or leave --share out.")
    with served_benches(folder) as benches:
        if bench is not None:
            bring_along(benches, bench)
        _run(benches, _listen("0.0.0.0" if share else "127.0.0.1", port), lan, told)  # noqa: S104 - only where asked


def _run(benches: Benches, listening: socket.socket, lan: str, told: Callable[[Address], None]) -> None:
    port = listening.getsockname()[1]
    token = benches.pairing_token() if lan else ""
    names = {"127.0.0.1", "localhost", *([lan] if lan else [])}
    door = Door(frozenset(f"{name}:{port}" for name in names), token)
    address = Address(port, lan, token)
    app = make_app(benches, door, address.shared)
    desk: Desk = app.state.desk
    config = uvicorn.Config(app, log_level="warning", access_log=False, timeout_graceful_shutdown=_GRACE)
    server = _Server(config, desk)
    threading.Thread(target=_once_up, args=(server, address, told, desk), daemon=True).start()
    try:
        with suppress(KeyboardInterrupt):  # Ctrl-C is how one ends it, and no failure
            server.run(sockets=[listening])
    finally:
        desk.hub.close()
        desk.jobs.close()


def _once_up(server: uvicorn.Server, address: Address, told: Callable[[Address], None], desk: Desk) -> None:
    """Say where the page is, then load what the first tap and the first question would otherwise wait for."""
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.01)
    told(address)
    from spinewright.evidence import laws

    laws.f_tail(1.0, 2, 2)  # its library takes a quarter of a second to load, at the first gap otherwise

    time.sleep(_FIRST_PAGE)
    if not server.should_exit:
        desk.jobs.warm()


def _listen(host: str, port: int) -> socket.socket:
    """A socket on ``port`` or the next free one after it."""
    for wanted in range(port, port + _TRIES) if port else (0,):
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((host, wanted))
        except OSError:
            listening.close()
            continue
        return listening
    raise StoreError(f"no port from {port} to {port + _TRIES - 1} is free; name another with --port.")


def _lan_address() -> str:
    """This machine's address on the local network, '' when it has none; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737); a datagram socket sends nothing here
            found: str = probe.getsockname()[0]
        except OSError:
            return ""
    return "" if found.startswith("127.") else found
