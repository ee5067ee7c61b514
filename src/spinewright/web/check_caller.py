"""One who asks a server over HTTP from an address of this machine, with whatever headers are wanted."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from email.message import Message
from http.client import HTTPConnection, HTTPException

from spinewright.web.guard import COOKIE

__all__ = ["Answer", "Caller", "OpenStream"]

_PATIENCE = 10.0  # s


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back; ``status`` 0 = nothing."""

    status: int = 0
    text: str = ""
    headers: Message = field(default_factory=Message)


class Caller:
    """Asks ``host``:``port`` and comes from ``host`` itself, so from the network when that is its address there."""

    def __init__(self, host: str, port: int) -> None:
        self.host, self.port = host, port

    @property
    def origin(self) -> str:
        """The page's own origin there."""
        return f"http://{self.host}:{self.port}"

    def ask(
        self,
        method: str,
        path: str,
        body: object = None,
        *,
        token: str = "",
        origin: str = "",
        headers: Mapping[str, str] | None = None,
    ) -> Answer:
        """The answer to one request; ``body`` is sent as JSON, ``token`` as a paired device's cookie."""
        connection = self._connection()
        try:
            sent = None if body is None else json.dumps(body)
            connection.request(method, path, sent, _headers(token, origin, sent is not None, headers or {}))
            answer = connection.getresponse()
            return Answer(answer.status, answer.read().decode("utf-8", "replace"), answer.headers)
        except (OSError, HTTPException):
            return Answer()
        finally:
            connection.close()

    def stream(self, bench: str, token: str) -> OpenStream:
        """A device's open stream of messages. Raises OSError, HTTPException."""
        return OpenStream(self._connection(), bench, token)

    def _connection(self) -> HTTPConnection:
        return HTTPConnection(self.host, self.port, timeout=_PATIENCE, source_address=(self.host, 0))


class OpenStream:
    """A stream that was begun; :meth:`ends` waits for its end."""

    def __init__(self, connection: HTTPConnection, bench: str, token: str) -> None:
        self._connection = connection
        connection.request("GET", f"/api/benches/{bench}/stream", headers=_headers(token, "", False, {}))
        self._answer = connection.getresponse()
        self._answer.readline()

    def ends(self) -> bool:
        """Whether it was ended, before the sign of life that it gets every 15 s."""
        try:
            self._answer.read()
        except (OSError, HTTPException):
            return False
        return True

    def close(self) -> None:
        """Let go of it."""
        self._connection.close()


def _headers(token: str, origin: str, json_sent: bool, more: Mapping[str, str]) -> dict[str, str]:
    made = {"content-type": "application/json"} if json_sent else {}
    if token:
        made["cookie"] = f"{COOKIE}={token}"
    if origin:
        made["origin"] = origin
    return {**made, **more}
