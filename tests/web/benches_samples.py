"""A server in this process over an empty store, and what a page sends to it."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response

from spinewright.web.app import make_app
from spinewright.web.entrance import Entrance
from spinewright.web.guard import Door
from spinewright.workflow.benches import open_benches

T = TypeVar("T")
HOST = "testserver"
HERE = "127.0.0.1"
SHOTS = (("fletched", 0.004, 0.002), ("fletched", -0.006, 0.005), ("bare", 0.051, -0.012), ("bare", 0.046, -0.02))


@contextmanager
def served(folder: Path | str, *, shared: bool = False, client: str = HERE) -> Iterator[TestClient]:
    """A client of the page over the store in (or at) ``folder``; ``client`` is the address it comes from."""
    benches = open_benches(folder)
    door = Door(frozenset({HOST}), Entrance(benches.devices) if shared else None)
    app = make_app(benches, door, f"http://{HOST}" if shared else "")
    try:
        with asking(app, client) as made:
            yield made
    finally:
        benches.close()


def in_a_loop(coroutine: Coroutine[Any, Any, T]) -> T:
    """Run ``coroutine`` in a thread of its own: the thread of a test may have a browser's loop already."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, coroutine).result()


def asking(app: FastAPI, client: str) -> TestClient:
    """One who asks ``app`` from the address ``client`` with the page's own origin, as a browser on the page does."""
    headers = {"origin": f"http://{HOST}"}
    return TestClient(app, base_url=f"http://{HOST}", client=(client, 50_000), headers=headers)


def tap(shaft: int, state: str, x: float, y: float, **more: object) -> dict[str, Any]:
    """What a page sends for one hole."""
    walk = {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "when": more.pop("when", None)}
    return {"walk": walk, "tap": {"shaft": shaft, "state": state, "x": x, "y": y, **more}}


def make(client: TestClient, bench: str, **body: object) -> dict[str, Any]:
    """A bench made by the page."""
    answer = client.put(f"/api/benches/{bench}", json=body)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()["bench"]
    return found


def shoot(client: TestClient, bench: str, walk: str = "ewalk") -> dict[str, Any]:
    """One walk of two fletched and two bare, tapped in; the last answer."""
    found: dict[str, Any] = {}
    for number, (state, x, y) in enumerate(SHOTS, 1):
        sent = tap(number, state, x, y)
        answer = client.put(f"/api/benches/{bench}/walks/{walk}/taps/t{number}", json=sent)
        assert answer.status_code == 200, answer.text
        found = answer.json()
    return found


def log(client: TestClient, bench: str, event: str, **keys: object) -> Response:
    """The answer to an event that was sent."""
    sure = keys.pop("sure", False)
    return client.put(f"/api/benches/{bench}/events/{event}", json={"event": keys, "sure": sure})
