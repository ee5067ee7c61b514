"""Runs the page: the address, the next free port, who may join, and a clean end on Ctrl-C."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from types import FrameType

import uvicorn
from fastapi import FastAPI

from spinewright.errors import StoreError
from spinewright.web.app import make_app
from spinewright.web.desk import Desk
from spinewright.web.entrance import Entrance
from spinewright.web.guard import Door
from spinewright.web.pages import read_templates
from spinewright.workflow.benches import Benches, served_benches
from spinewright.workflow.benches.listing import keep_said, read_ahead
from spinewright.workflow.benches.long_held import hold_all
from spinewright.workflow.benches.starting import bring_along

__all__ = ["Address", "lan_address", "serve"]

_TRIES = 20  # ports that are tried one after the other
_FIRST_PAGE = 1.0  # s that the first page has for itself before anything else is loaded
_BREATH = 0.01  # s between two benches that are read ahead, in which others get to theirs
_BETWEEN_TAPS = 75  # s that a connection waits for the next: closed sooner, it ends just as an archer taps again
_GRACE = 2  # s that open requests are given at the end


class Address:
    """Where the page is: ``local`` for this machine, ``shared`` for phones ('' = not shared), ``join`` for the next."""

    def __init__(self, port: int, lan: str, code: str) -> None:
        self.port = port
        self.local = f"http://127.0.0.1:{port}"
        self.shared = f"http://{lan}:{port}" if lan else ""
        self.join = f"{self.shared}/pair#{code}" if lan else ""


class _Server(uvicorn.Server):
    """A server that lets go of open streams before it waits for them."""

    def __init__(self, config: uvicorn.Config, desk: Desk) -> None:
        super().__init__(config)
        self._desk = desk

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        self._desk.hub.close()
        super().handle_exit(sig, frame)


def serve(
    store: Path | str | None,
    port: int,
    *,
    share: bool,
    told: Callable[[Address], None],
    bench: Path | None = None,
    lan: str = "",
) -> None:
    """Serve the benches in the folder or at the address ``store`` until interrupted; ``told`` hears where it listens.

    ``bench`` is a session file that becomes a bench of its own first; ``lan`` is the address to share at, '' = it is
    looked up. Raises StoreError, InputError.
    """
    lan = (lan or lan_address()) if share else ""
    if share and not lan:
        raise StoreError("no address on a local network was found; connect to one, or leave --share out.")
    with served_benches(store) as benches:
        if bench is not None:
            bring_along(benches, bench)
        # on the one address that phones are told, and on no other network that this machine may be part of
        _run(benches, _listen(("127.0.0.1", lan) if lan else ("127.0.0.1",), port), lan, told)


def _run(benches: Benches, listening: Sequence[socket.socket], lan: str, told: Callable[[Address], None]) -> None:
    port = listening[0].getsockname()[1]
    entrance = Entrance(benches.devices) if lan else None
    names = {"127.0.0.1", "localhost", *([lan] if lan else [])}
    door = Door(frozenset(f"{name}:{port}" for name in names), entrance)
    address = Address(port, lan, entrance.code() if entrance else "")
    app = make_app(benches, door, address.shared)
    desk: Desk = app.state.desk
    config = page_config(app)
    server = _Server(config, desk)
    threading.Thread(target=_once_up, args=(server, address, told, desk), daemon=True).start()
    try:
        with suppress(KeyboardInterrupt):  # Ctrl-C is how one ends it, and no failure
            server.run(sockets=list(listening))
    finally:
        desk.hub.close()
        desk.jobs.close()
        keep_said(benches)


def page_config(app: FastAPI) -> uvicorn.Config:
    """How the page is served: an address that a request itself says it came from is not believed."""
    return uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        timeout_keep_alive=_BETWEEN_TAPS,
        timeout_graceful_shutdown=_GRACE,
        proxy_headers=False,
        ws="none",
    )


def _once_up(server: uvicorn.Server, address: Address, told: Callable[[Address], None], desk: Desk) -> None:
    """Say where the page is, then load what the first tap and the first question would otherwise wait for."""
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.01)
    read_templates()
    hold_all()  # the program itself
    told(address)
    time.sleep(_FIRST_PAGE)
    if server.should_exit:
        return
    from spinewright.evidence import laws

    laws.f_tail(1.0, 2, 2)  # its library takes a quarter of a second to load, at the first gap otherwise

    with suppress(StoreError):
        for _ in read_ahead(desk.benches):
            if server.should_exit:
                return
            time.sleep(_BREATH)
    if not server.should_exit:
        desk.jobs.warm()
        import spinewright.mechanics  # noqa: F401 - a second, at the first drawing of a setup otherwise

        hold_all()


def _listen(hosts: Sequence[str], port: int) -> tuple[socket.socket, ...]:
    """A socket on each of ``hosts``, all at ``port`` or the next one after it that is free; 0 = any."""
    for wanted in range(port, port + _TRIES) if port else (0,) * _TRIES:
        made: list[socket.socket] = []
        try:
            for host in hosts:
                # asyncio sends answers at once only where the protocol is named; they wait 40 ms otherwise (Nagle)
                listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
                made.append(listening)
                listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                listening.bind((host, wanted or made[0].getsockname()[1]))
        except OSError:
            for one in made:
                one.close()
            continue
        return tuple(made)
    raise StoreError(f"no port from {port} to {port + _TRIES - 1} is free; name another with --port.")


def lan_address() -> str:
    """This machine's address on the local network, '' when it has none; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737); a datagram socket sends nothing here
            found: str = probe.getsockname()[0]
        except OSError:
            return ""
    return "" if found.startswith("127.") else found
