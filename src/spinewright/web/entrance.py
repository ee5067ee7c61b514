"""How a phone gets in: the code of a few minutes that is good once, and an end to guessing."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from spinewright.errors import SpinewrightError
from spinewright.logbook.store import DeviceRow
from spinewright.workflow.benches.devices import Devices

__all__ = ["MINUTES", "PER_ADDRESS", "WINDOW", "Entrance", "NotPaired", "TooMany"]

MINUTES = 5
"""How long a code is good."""
WINDOW = 300.0
"""Seconds over which wrong tries are counted."""
PER_ADDRESS = 10
"""Wrong tries that one address has in them."""
_IN_ALL = 40
_CODE_BYTES = 16  # of a code: more than can be guessed in its minutes, and short enough for a phone to read it quickly
_FRESH = 0.5  # share of its time that a code still has when it is shown once more


class NotPaired(SpinewrightError):  # noqa: N818 - they read as what happened
    """The token or the code is not one that lets in."""


class TooMany(SpinewrightError):  # noqa: N818
    """Too many wrong ones came lately."""


@dataclass(frozen=True, slots=True)
class _Try:
    when: float
    address: str
    digest: str


class Entrance:
    """The one door for phones; codes and wrong tries are forgotten with the process. ``clock`` counts seconds."""

    def __init__(self, devices: Devices, clock: Callable[[], float] = time.monotonic) -> None:
        self.devices = devices
        self._clock = clock
        self._lock = threading.Lock()
        self._codes: dict[str, float] = {}
        self._wrong: deque[_Try] = deque()

    def code(self) -> str:
        """A code that still has time to be scanned: the same one until it was used or half of its time is over."""
        with self._lock:
            now = self._clock()
            self._forget(now)
            for code, end in self._codes.items():
                if end - now >= _FRESH * MINUTES * 60:
                    return code
            made = secrets.token_urlsafe(_CODE_BYTES)
            self._codes[made] = now + MINUTES * 60
            return made

    def pair(self, code: str, name: str, address: str) -> str:
        """A device's own token for a code, which is used up by it. Raises NotPaired, TooMany, StoreError."""
        with self._lock:
            self._not_too_many(address, code)
            given = code.encode("utf-8", "surrogatepass")
            right = [one for one in self._codes if hmac.compare_digest(one.encode(), given)]
            if not right:
                self._count(address, code)
                raise NotPaired(
                    f"this code was used already, is older than {MINUTES} minutes, or belongs to another bench; scan "
                    "the one that the bench shows now under 'Join with a phone'"
                )
            del self._codes[right[0]]
        return self.devices.pair(name)

    def known(self, token: str, address: str) -> DeviceRow:
        """The device whose token this is. Raises NotPaired, TooMany.

        A right token is let in however many wrong ones came, so that nobody can lock another's phone out.
        """
        found = self.devices.find(token) if token else None
        if found is not None:
            return found
        if token:
            with self._lock:
                self._not_too_many(address, token)
                self._count(address, token)
        raise NotPaired("this device is not paired: scan the code that the bench shows under 'Join with a phone'")

    def _not_too_many(self, address: str, given: str) -> None:
        self._forget(self._clock())
        digest = _digest(given)
        mine = [one for one in self._wrong if one.address == address]
        if any(one.digest == digest for one in mine):
            return  # the same wrong one again is no new guess: an open page of a device that was taken off
        if len(mine) >= PER_ADDRESS or len(self._wrong) >= _IN_ALL:
            raise TooMany(f"too many wrong codes were tried; wait {WINDOW / 60:.0f} minutes, then scan the code again")

    def _count(self, address: str, given: str) -> None:
        digest = _digest(given)
        if not any((one.address, one.digest) == (address, digest) for one in self._wrong):
            self._wrong.append(_Try(self._clock(), address, digest))

    def _forget(self, now: float) -> None:
        while self._wrong and now - self._wrong[0].when >= WINDOW:
            self._wrong.popleft()
        self._codes = {code: end for code, end in self._codes.items() if end > now}


def _digest(given: str) -> str:
    return hashlib.sha256(given.encode("utf-8", "surrogatepass")).hexdigest()
