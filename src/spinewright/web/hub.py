"""Messages to open pages: who listens to which bench, what was said lately, and the stream each page reads."""

from __future__ import annotations

import asyncio
import json
import threading
from collections import deque
from collections.abc import AsyncIterator, Callable
from contextvars import ContextVar
from dataclasses import dataclass

from spinewright.web.jobs import Job
from spinewright.workflow.showing import Json

__all__ = ["CLIENT", "Hub"]

CLIENT: ContextVar[str] = ContextVar("client", default="")
"""The page that sent the request which is being answered, as it calls itself."""

_KEPT = 256
_STILL_HERE = 15.0  # s between signs of life, so that a lost connection is noticed


_Queue = asyncio.Queue["_Message | None"]


@dataclass(frozen=True, slots=True)
class _Reader:
    bench: str
    device: str
    queue: _Queue
    loop: asyncio.AbstractEventLoop

    def put(self, message: _Message | None) -> None:
        if not self.loop.is_closed():
            self.loop.call_soon_threadsafe(self.queue.put_nowait, message)


@dataclass(frozen=True, slots=True)
class _Message:
    number: int
    bench: str
    name: str
    body: str

    @property
    def text(self) -> str:
        return f"id: {self.number}\nevent: {self.name}\ndata: {self.body}\n\n"


class Hub:
    """Takes messages from any thread and hands them to the pages that are open."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._said: deque[_Message] = deque(maxlen=_KEPT)
        self._number = 0
        self._readers: list[_Reader] = []
        self._closed = False

    def changed(self, bench: str, revision: int, what: str, changed: str) -> None:
        """A change was saved."""
        self._say(bench, "changed", {"revision": revision, "by": CLIENT.get(), "what": what, "id": changed})

    def job(self, job: Job) -> None:
        """A job went on."""
        self._say(job.kept.row.id, "job", job.to_json())

    def close(self) -> None:
        """End every stream; a page finds the server again by itself."""
        with self._lock:
            self._closed = True
            for reader in self._readers:
                reader.put(None)

    def leave(self, device: str) -> None:
        """End the streams of a device that was taken off."""
        with self._lock:
            for reader in self._readers:
                if reader.device == device:
                    reader.put(None)

    async def stream(
        self, bench: str, revision: int, after: str, device: str = "", may_come: Callable[[], bool] = lambda: True
    ) -> AsyncIterator[str]:
        """What one page reads: where the bench stands, what it missed ``after`` the message it saw last, what comes.

        It is the page of ``device``, '' = of this machine; it hears nothing more once that ``may_come`` no longer.
        """
        queue: _Queue = asyncio.Queue()
        entry = _Reader(bench, device, queue, asyncio.get_running_loop())
        with self._lock:
            if self._closed:
                return
            known = int(after) if after.isdigit() else self._number
            missed = [one for one in self._said if one.bench == bench and one.number > known]
            self._readers.append(entry)
        try:
            if not await asyncio.to_thread(may_come):  # taken off between its question and this
                return
            hello = {"revision": revision, "by": "", "what": "hello", "id": bench}
            yield f"retry: 1000\nevent: changed\ndata: {json.dumps(hello)}\n\n"
            for one in missed:
                yield one.text
            while True:
                try:
                    message = await asyncio.wait_for(queue.get(), _STILL_HERE)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                if message is None or not await asyncio.to_thread(may_come):
                    return
                yield message.text
        finally:
            with self._lock:
                self._readers.remove(entry)

    def _say(self, bench: str, name: str, body: Json) -> None:
        with self._lock:
            self._number += 1
            message = _Message(self._number, bench, name, json.dumps(body))
            self._said.append(message)
            for reader in self._readers:
                if reader.bench == bench:
                    reader.put(message)
