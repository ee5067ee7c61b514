"""Looks at every page of a long logbook as a browser does, and at how long `next` takes on it."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import httpx2
from numpy.random import Generator

from soak.served import HERE
from soak.ten_years import Bow
from spinewright.web.pages import PLACES

__all__ = ["FIRST", "LIST", "Looked", "look", "thought"]

LIST = "the list of benches after the start"
FIRST = "the first page of a bow after the start"
_PATIENCE = 120.0  # s
_TAPS = 3


@dataclass(slots=True)
class Looked:
    """Seconds each page took, by its name, and what was answered otherwise than it should be."""

    times: dict[str, list[float]] = field(default_factory=dict)
    errors: list[str] = field(default_factory=list)


def look(port: int, bows: Sequence[Bow], rng: Generator) -> Looked:
    """Every page of each of ``bows``, one after the other, the list of all after each of them, and a few taps."""
    found = Looked()
    base = f"http://{HERE}:{port}"
    with httpx2.Client(base_url=base, headers={"origin": base}, timeout=_PATIENCE) as client:
        _asked(client, found, LIST, "/")
        for bow in bows:
            pages = {page: f"/b/{bow.id}" if page == "bench" else f"/b/{bow.id}/{page}" for page in PLACES}
            pages["story, an earlier page"] = f"/b/{bow.id}/story?upto={max(1, bow.walks // 2)}"
            pages["export"] = f"/api/benches/{bow.id}/export"
            pages["the bench object"] = f"/api/benches/{bow.id}"
            for number, at in enumerate(rng.permutation(len(pages))):
                name = list(pages)[int(at)]
                _asked(client, found, FIRST if number == 0 else name, pages[name])
            for number in range(_TAPS):
                walk = {"kind": "shots", "distance": "20 yd", "target": "fresh foam"}
                hole = {"shaft": number + 1, "state": "fletched", "x": 0.01 * number, "y": 0.02}
                path = f"/api/benches/{bow.id}/walks/wlook/taps/tlook{number}"
                _asked(client, found, "a tap", path, {"walk": walk, "tap": hole})
            _asked(client, found, "the list of benches", "/")
    return found


def thought(port: int, bench: str, bows: int) -> float:
    """Seconds until `next` of ``bows`` plausible bows is there. Raises RuntimeError when it was not worked out."""
    base = f"http://{HERE}:{port}"
    with httpx2.Client(base_url=base, headers={"origin": base}, timeout=_PATIENCE) as client:
        began = time.perf_counter()
        job = _json(client.post(f"/api/benches/{bench}/ask/next", json={"bows": bows}))
        while job["state"] in ("waiting", "running"):
            time.sleep(0.02)
            job = _json(client.get(f"/api/jobs/{job['job']}"))
        if job["state"] != "done":
            raise RuntimeError(f"next: {job['state']}, {job['error']}")
        return time.perf_counter() - began


def _asked(client: httpx2.Client, found: Looked, name: str, path: str, body: object = None) -> None:
    began = time.perf_counter()
    answer = client.get(path) if body is None else client.put(path, json=body)
    found.times.setdefault(name, []).append(time.perf_counter() - began)
    if answer.status_code != 200:
        found.errors.append(f"{path}: {answer.status_code} {answer.text[:200]}")


def _json(answer: httpx2.Response) -> Any:  # noqa: ANN401 - JSON
    if answer.status_code != 200:
        raise RuntimeError(f"{answer.request.url.path}: {answer.status_code} {answer.text[:200]}")
    return answer.json()
