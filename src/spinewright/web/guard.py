"""Who may ask: the right host, the page's own origin, a paired device; and the headers that keep a page to itself."""

from __future__ import annotations

import hmac
import json
from dataclasses import dataclass
from http.cookies import SimpleCookie
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders

from spinewright.web.hub import CLIENT
from spinewright.web.stranger_page import stranger_page

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["POLICY", "Door", "Guard"]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
_WRITES = ("PUT", "POST", "DELETE", "PATCH")
_HERE = ("127.0.0.1", "::1", "testclient")
_OPEN = ("/pair", "/static/", "/api/health")
_LARGEST = 16 * 1024 * 1024  # bytes of a request; a session file of a lifetime is below


@dataclass(frozen=True, slots=True)
class Door:
    """``hosts`` that may be asked for, as a browser writes them; ``token`` that pairs a phone, '' = nobody joins."""

    hosts: frozenset[str]
    token: str = ""


class Guard:
    """Refuses what comes from elsewhere, and puts the headers on every answer."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self._app = app
        self._door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope, headers)
        CLIENT.set(headers.get("x-client", "")[:40])

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                found = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    found[name] = value
                found.setdefault("cache-control", "no-store")
            await send(message)

        if refusal is not None:
            await _refuse(guarded, *refusal, page="text/html" in headers.get("accept", ""))
            return
        await self._app(scope, receive, guarded)

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        host = headers.get("host", "")
        if host not in self._door.hosts:
            return 403, "This address does not belong to spinewright; use the one it printed when it started."
        if scope["method"] in _WRITES:
            origin = headers.get("origin")
            if origin is not None and origin != f"http://{host}":
                return 403, "Another site asked for this; only the bench page itself may change something."
            kind = headers.get("content-type", "").partition(";")[0].strip()
            if scope["method"] != "DELETE" and kind != "application/json":
                return 403, "Only JSON is taken here."
            size = headers.get("content-length", "0")
            if not size.isdigit() or int(size) > _LARGEST:
                return 413, "That is too large."
        if not self._paired(scope, headers):
            return 401, "This device is not paired: scan the code that the bench shows under 'Join with a phone'."
        return None

    def _paired(self, scope: Scope, headers: Headers) -> bool:
        client = scope.get("client")
        if client is None or client[0] in _HERE or scope["path"].startswith(_OPEN):
            return True
        cookie: SimpleCookie = SimpleCookie()
        cookie.load(headers.get("cookie", ""))
        given = cookie["pair"].value if "pair" in cookie else ""
        return bool(self._door.token) and hmac.compare_digest(given.encode(), self._door.token.encode())


async def _refuse(send: Send, status: int, sentence: str, *, page: bool) -> None:
    error = {"what": sentence, "right": "", "field": None, "sentence": sentence}
    body = json.dumps({"error": error})
    if page:
        body = stranger_page(status, sentence)
    kind = b"text/html; charset=utf-8" if page else b"application/json"
    headers = [(b"content-type", kind), (b"content-length", str(len(body.encode())).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body.encode()})
