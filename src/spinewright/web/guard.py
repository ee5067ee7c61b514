"""Who may ask: the right host, the page's own origin, a paired device; and the headers that keep a page to itself."""

from __future__ import annotations

import json
import re
from contextlib import suppress
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders

from spinewright.errors import SpinewrightError, StoreError
from spinewright.logbook.store import DeviceRow
from spinewright.web.entrance import WINDOW, Entrance, NotPaired, TooMany
from spinewright.web.hub import CLIENT
from spinewright.web.stranger_page import stranger_page
from spinewright.workflow.benches.refusals import error_object

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["COOKIE", "DEVICE", "POLICY", "Door", "Guard", "is_here"]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
COOKIE = "pair"
"""The cookie that holds a device's token."""
DEVICE = "spinewright.device"
"""Where the scope of a request says which device sent it, '' = this machine."""
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
_READS = ("GET", "HEAD")
_HERE = ("127.0.0.1", "::1")
_JOIN = "/api/pair"
_OPEN = ("/pair", _JOIN, "/api/health")
_OWN = "/api/devices"
_LENGTH = re.compile(r"[0-9]{1,12}")
# a session file, a logbook file, or tables as answers
_HOLDS_FILES = re.compile(r"/api/(benches/[^/]+(/(ask|events)/[^/]+|/read)?|logbook/import)")
_LARGEST = 8_000_000  # bytes of a request that may hold a file; a session file of a lifetime is below
_LARGEST_PLAIN = 256_000  # bytes of any other
_LARGEST_UNPAIRED = 2000  # bytes of what somebody may send who is not let in yet


@dataclass(frozen=True, slots=True)
class Door:
    """``hosts`` that may be asked for, as a browser writes them; ``entrance`` for phones, None = nobody joins."""

    hosts: frozenset[str]
    entrance: Entrance | None = None


@dataclass(frozen=True, slots=True)
class _Refusal:
    status: int
    sentence: str


def is_here(scope: Scope) -> bool:
    """Whether the request comes from this machine's own address; one whose address is not known does not."""
    client = scope.get("client")
    return client is not None and client[0] in _HERE


class Guard:
    """Refuses what comes from elsewhere, and puts the headers on every answer."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self._app = app
        self._door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] == "websocket":  # none is used here, and a page of another site may open one anywhere
            await send({"type": "websocket.close", "code": 1008})
            return
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        CLIENT.set(headers.get("x-client", "")[:40])
        scope[DEVICE] = ""

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                found = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    found[name] = value
                found.setdefault("cache-control", "no-store")
                if message["status"] == 429:
                    found["retry-after"] = f"{WINDOW:.0f}"
            await send(message)

        refusal = self._refusal(scope, headers) or await self._stranger(scope, headers)
        if refusal is not None:
            await _refuse(guarded, refusal, page="text/html" in headers.get("accept", ""))
            return
        await self._app(scope, receive, guarded)

    def _refusal(self, scope: Scope, headers: Headers) -> _Refusal | None:
        """Why nobody at all may ask this."""
        host = headers.get("host", "")
        if host not in self._door.hosts:
            return _Refusal(403, "This address does not belong to spinewright; use the one it printed when it started.")
        reads = scope["method"] in _READS
        # 'none' is an address that was typed in or scanned; a link on another site may lead here, but take nothing home
        elsewhere = headers.get("sec-fetch-site", "none") not in ("none", "same-origin")
        if elsewhere and not (reads and headers.get("sec-fetch-mode") == "navigate"):
            return _Refusal(403, "Another site asked for this; only the bench page itself may.")
        return None if reads else _refused_write(scope, headers, host)

    async def _stranger(self, scope: Scope, headers: Headers) -> _Refusal | None:
        """Why this one may not ask it."""
        path = scope["path"]
        if is_here(scope) or path in _OPEN or path.startswith("/static/"):
            return None
        entrance = self._door.entrance
        try:
            if entrance is None:
                raise NotPaired("the bench page is open to its own machine alone")
            client = scope.get("client")
            # in a thread: on a shared store it may wait for the server
            device = await run_in_threadpool(entrance.known, _token(headers), client[0] if client else "")
        except (NotPaired, TooMany) as error:
            return _Refusal(429 if isinstance(error, TooMany) else 401, _sentence(error))
        except StoreError as error:
            return _Refusal(503, _sentence(error))
        if path == _OWN or path.startswith(f"{_OWN}/"):
            return _Refusal(403, "Who may join is decided on the machine itself.")
        scope[DEVICE] = device.id
        await _note(entrance, device)
        return None


def _refused_write(scope: Scope, headers: Headers, host: str) -> _Refusal | None:
    if headers.get("origin") != f"http://{host}":
        return _Refusal(403, "Only the bench page itself may change something; its address has to stand in 'Origin'.")
    kind = headers.get("content-type", "").partition(";")[0].strip()
    if scope["method"] != "DELETE" and kind != "application/json":
        return _Refusal(403, "Only JSON is taken here.")
    if "transfer-encoding" in headers:
        return _Refusal(411, "What is sent has to say how long it is.")
    size, most = headers.get("content-length", "0"), _most(scope["path"])
    if not _LENGTH.fullmatch(size) or int(size) > most:
        return _Refusal(413, f"That is too large: at most {most // 1000:,} kB can be sent here.")
    return None


def _most(path: str) -> int:
    """Bytes that may be sent to ``path``. JSON takes many times its size while it is read."""
    if path == _JOIN:
        return _LARGEST_UNPAIRED
    return _LARGEST if _HOLDS_FILES.fullmatch(path) else _LARGEST_PLAIN


async def _note(entrance: Entrance, device: DeviceRow) -> None:
    if entrance.devices.is_due(device):
        with suppress(StoreError):  # a disk that is full keeps nobody from reading
            await run_in_threadpool(entrance.devices.note, device.id)


def _token(headers: Headers) -> str:
    cookie: SimpleCookie = SimpleCookie()
    with suppress(CookieError):
        cookie.load(headers.get("cookie", ""))
    return cookie[COOKIE].value if COOKIE in cookie else ""


def _sentence(error: SpinewrightError) -> str:
    return str(error_object(error)["sentence"])


async def _refuse(send: Send, refusal: _Refusal, *, page: bool) -> None:
    sentence = refusal.sentence
    error = {"what": sentence, "right": "", "field": None, "sentence": sentence}
    body = json.dumps({"error": error})
    if page:
        body = stranger_page(refusal.status, sentence)
    kind = b"text/html; charset=utf-8" if page else b"application/json"
    headers = [(b"content-type", kind), (b"content-length", str(len(body.encode())).encode())]
    await send({"type": "http.response.start", "status": refusal.status, "headers": headers})
    await send({"type": "http.response.body", "body": body.encode()})
