"""Phones at the line, as the page makes them: each paired, watching its bow's messages, tapping, and looking anew."""

from __future__ import annotations

import asyncio
import json
import re
import time
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass, field
from typing import Any

import httpx2
from numpy.random import Generator

from soak.served import HERE, SHARED

__all__ = ["Crowd", "Seen", "crowd"]

_CODE = re.compile(r"/pair#([A-Za-z0-9_-]+)")
_WALK = 12  # arrows after which somebody ends the walk
_PATIENCE = 30.0  # s for an answer
_LOOK = 2.0  # s between two looks at long work, as the page has it
_SETTLE = 5.0  # s that messages are still waited for at the end


@dataclass(frozen=True, slots=True)
class Crowd:
    """So many devices at so many bows for so many seconds, each tapping every ``pace`` seconds; ``bows`` of belief."""

    devices: int = 20
    benches: int = 4
    seconds: float = 300.0
    pace: float = 4.0
    bows: int = 500


@dataclass(slots=True)
class Seen:
    """What happened: times [s] of taps, and what went wrong in sentences.

    answered   from a tap to its acknowledgement
    told       from a tap to the message of it on another device
    shown      from a tap to the answer with it that another device draws
    tapped     how many taps were sent
    thought    how many pieces of long work came to their end
    lost       taps that were acknowledged and are not kept; unseen: that another device was never told of
    """

    answered: list[float] = field(default_factory=list)
    told: list[float] = field(default_factory=list)
    shown: list[float] = field(default_factory=list)
    tapped: int = 0
    thought: int = 0
    errors: list[str] = field(default_factory=list)
    lost: int = 0
    unseen: int = 0


@dataclass(slots=True)
class _Tap:
    by: str
    bench: str
    walk: str
    began: float
    kept: bool = False
    told: set[str] = field(default_factory=set)
    shown: set[str] = field(default_factory=set)


async def crowd(port: int, wanted: Crowd, rng: Generator) -> Seen:
    """``wanted`` against the server at ``port``."""
    seen, taps = Seen(), dict[str, _Tap]()
    async with AsyncExitStack() as stack:
        here = await stack.enter_async_context(_client(HERE, port, "here"))
        benches = [f"bcrowd{n}" for n in range(wanted.benches)]
        for n, bench in enumerate(benches):
            values = {"scope.hand": ("right", "left")[n % 2], "bow.name": f"invented bow {n}"}
            _right(await here.put(f"/api/benches/{bench}", json={"from": "quick", "values": values}))
        phones = []
        for n in range(wanted.devices):
            client = await stack.enter_async_context(_client(SHARED, port, f"c{n}"))
            code = _CODE.search((await here.get("/join")).text)
            assert code is not None  # noqa: S101 - this machine is always shown one
            _right(await client.post("/api/pair", json={"code": code[1], "name": f"Phone {n}"}))
            phones.append(_Phone(f"c{n}", client, benches[n % len(benches)], rng.spawn(1)[0], seen, taps))
        watching = [asyncio.create_task(phone.watch()) for phone in phones]
        await asyncio.gather(*(phone.ready.wait() for phone in phones))
        thinking = asyncio.create_task(_think(here, benches, wanted.bows, seen))
        until = time.perf_counter() + wanted.seconds
        await asyncio.gather(*(phone.shoot(until, wanted.pace) for phone in phones))
        await _settled(taps, phones)
        for task in (*watching, thinking):
            task.cancel()
        await asyncio.gather(*watching, thinking, return_exceptions=True)
        await _counted(here, taps, phones, seen)
    return seen


@asynccontextmanager
async def _client(address: str, port: int, name: str) -> AsyncIterator[httpx2.AsyncClient]:
    base = f"http://{address}:{port}"
    transport = httpx2.AsyncHTTPTransport(local_address=address)
    headers = {"origin": base, "x-client": name}
    async with httpx2.AsyncClient(base_url=base, transport=transport, headers=headers, timeout=_PATIENCE) as made:
        yield made


class _Phone:
    """One device at one bow."""

    def __init__(
        self, name: str, client: httpx2.AsyncClient, bench: str, rng: Generator, seen: Seen, taps: dict[str, _Tap]
    ) -> None:
        self.name, self.bench = name, bench
        self.ready = asyncio.Event()
        self._client, self._rng, self._seen, self._taps = client, rng, seen, taps
        self._api = f"/api/benches/{bench}"
        self._walk: dict[str, Any] | None = None
        self._number = 0
        self._looking = self._news = False

    async def watch(self) -> None:
        """Read messages as long as the page is open, and look anew when another device did something."""
        looks: set[asyncio.Task[None]] = set()
        try:
            async with self._client.stream("GET", f"{self._api}/stream", timeout=None) as messages:
                if messages.status_code != 200:
                    raise RuntimeError(f"the stream was answered with {messages.status_code}")
                name = ""
                async for line in messages.aiter_lines():
                    if line.startswith("event: "):
                        name = line.removeprefix("event: ")
                    elif line.startswith("data: ") and name == "changed":
                        self.ready.set()
                        if self._heard(json.loads(line.removeprefix("data: "))):
                            look = asyncio.create_task(self._look())
                            looks.add(look)
                            look.add_done_callback(looks.discard)
            raise RuntimeError("the stream ended by itself")
        except asyncio.CancelledError:
            for look in looks:
                look.cancel()
            raise
        except Exception as error:
            self._wrong("watching", error)
            self.ready.set()

    def _heard(self, message: dict[str, Any]) -> bool:
        """Whether it is news to this device."""
        tap = self._taps.get(str(message["id"]))
        if tap is not None and tap.by != self.name and self.name not in tap.told:
            tap.told.add(self.name)
            self._seen.told.append(time.perf_counter() - tap.began)
        return message["what"] != "hello" and not (message["by"] == self.name and message["what"] == "tap")

    async def _look(self) -> None:
        """One look at a time, and one more after it when there was news meanwhile."""
        self._news = True
        if self._looking:
            return
        self._looking = True
        try:
            while self._news:
                self._news = False
                self._drawn(_right(await self._client.get(f"{self._api}/line")))
        except Exception as error:
            self._wrong("looking", error)
        finally:
            self._looking = False

    def _drawn(self, answer: Any) -> None:  # noqa: ANN401 - JSON
        now, walk = time.perf_counter(), answer["walk"]
        self._walk = walk if walk is not None and walk["open"] else None
        for one in [*answer["walks"], *([] if walk is None else [walk])]:
            for hole in one["taps"]:
                tap = self._taps.get(hole["id"])
                if tap is not None and tap.by != self.name and self.name not in tap.shown:
                    tap.shown.add(self.name)
                    self._seen.shown.append(now - tap.began)

    async def shoot(self, until: float, pace: float) -> None:
        """Tap at the page's own pace until the moment ``until``; a walk that has its arrows is ended."""
        await asyncio.sleep(float(self._rng.uniform(0.0, pace)))
        while time.perf_counter() < until:
            try:
                await self._tap()
            except Exception as error:
                self._wrong("tapping", error)
            await asyncio.sleep(float(self._rng.uniform(0.5, 1.5)) * pace)

    async def _tap(self) -> None:
        self._number += 1
        tap = f"t{self.name}-{self._number}"
        walk = f"w{self.name}-{self._number}" if self._walk is None else str(self._walk["id"])
        x, y = (round(float(one), 4) for one in self._rng.normal(0.0, 0.03, 2))
        about = {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "square": True, "purpose": None}
        shaft = int(self._rng.integers(1, 7))
        hole = {
            "shaft": shaft,
            "state": "bare" if shaft > 3 else "fletched",
            "x": x,
            "y": y,
            "bad": False,
            "gone": False,
        }
        self._seen.tapped += 1
        self._taps[tap] = made = _Tap(self.name, self.bench, walk, time.perf_counter())
        answer = _right(
            await self._client.put(f"{self._api}/walks/{walk}/taps/{tap}", json={"walk": about, "tap": hole})
        )
        self._seen.answered.append(time.perf_counter() - made.began)
        made.kept = True
        self._walk = answer["walk"] if answer["walk"] is not None and answer["walk"]["open"] else None
        if self._walk is not None and len(self._walk["taps"]) >= _WALK:
            _right(await self._client.post(f"{self._api}/walks/{self._walk['id']}/close", json={}))
            self._walk = None

    def _wrong(self, doing: str, error: Exception) -> None:
        self._seen.errors.append(f"{self.name} {doing}: {type(error).__name__}: {error}")


async def _think(here: httpx2.AsyncClient, benches: list[str], bows: int, seen: Seen) -> None:
    """Keep one bow after another being thought through, as long as this is not cancelled."""
    turn = 0
    while True:
        bench = benches[turn % len(benches)]
        turn += 1
        try:
            job = _right(await here.post(f"/api/benches/{bench}/ask/next", json={"bows": bows}))
            while job["state"] in ("waiting", "running"):
                await asyncio.sleep(_LOOK)
                job = _right(await here.get(f"/api/jobs/{job['job']}"))
            if job["state"] == "done":
                seen.thought += 1
            else:
                seen.errors.append(f"thinking: {job['state']}, {job['error']}")
                await asyncio.sleep(_LOOK)
        except httpx2.HTTPError as error:
            seen.errors.append(f"thinking: {type(error).__name__}: {error}")
            await asyncio.sleep(_LOOK)


async def _settled(taps: dict[str, _Tap], phones: list[_Phone]) -> None:
    """Wait until every device was shown what came last, but not for ever."""
    until = time.perf_counter() + _SETTLE
    while time.perf_counter() < until and any(_unshown(tap, phones) for tap in taps.values() if tap.kept):
        await asyncio.sleep(0.05)


def _unshown(tap: _Tap, phones: list[_Phone]) -> int:
    return sum(phone.bench == tap.bench for phone in phones) - 1 - len(tap.shown)


async def _counted(here: httpx2.AsyncClient, taps: dict[str, _Tap], phones: list[_Phone], seen: Seen) -> None:
    """Hold what is kept against what was acknowledged, and what was told against who watched."""
    kept: dict[tuple[str, str], set[str]] = {}
    for name, tap in taps.items():
        if not tap.kept:
            continue
        at = (tap.bench, tap.walk)
        if at not in kept:
            found = _right(await here.get(f"/api/benches/{tap.bench}/walks/{tap.walk}"))
            kept[at] = {one["id"] for one in found["walk"]["taps"]}
        seen.lost += name not in kept[at]
        seen.unseen += sum(phone.bench == tap.bench for phone in phones) - 1 - len(tap.told)


def _right(answer: httpx2.Response) -> Any:  # noqa: ANN401 - JSON
    """What was answered. Raises RuntimeError when it was refused."""
    if answer.status_code != 200:
        raise RuntimeError(
            f"{answer.request.method} {answer.request.url.path}: {answer.status_code} {answer.text[:200]}"
        )
    return answer.json()
