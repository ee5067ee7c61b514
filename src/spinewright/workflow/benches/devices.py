"""The devices that joined: each has a token of its own, of which the store keeps a hash, and can be taken off alone.

Where several benches share a store, a device that joined at one may come to all, and one that was taken off at one is
refused by the others after a second at most.

A token is 256 random bits. Nobody can try those out, so one plain SHA-256 is enough to make the store worthless to
whoever reads it; slow, salted hashes are for words that people choose, which can be guessed.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from spinewright.logbook.store import DeviceRow, Store
from spinewright.workflow.benches.refusals import Missing
from spinewright.workflow.showing import Json

__all__ = ["Devices", "device_json"]

_NOTED = timedelta(minutes=1)  # between two notes that a device was here, so that not every look at a page is a write
_STALE = 1.0  # s after which what is held is read again where others may have changed it
_LONGEST = 40  # characters of a name
_BYTES = 32  # of a token


class Devices:
    """All that may come in, held in memory; what a method changed is on the disk when it returns.

    Whoever only asks never waits for the disk; on a shared store it may wait for the server. Raises StoreError then.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._lock = threading.Lock()
        self._changing = threading.Lock()
        self._rows = {row.id: row for row in store.devices()}
        self._looked = time.monotonic()

    def all(self) -> tuple[DeviceRow, ...]:
        """Every device that may come in, the one seen last first."""
        self._look()
        with self._lock:
            return tuple(sorted(self._rows.values(), key=lambda row: row.seen, reverse=True))

    def pair(self, name: str) -> str:
        """Let one more in and say its token, the only time that it is known here. Raises StoreError."""
        token = secrets.token_urlsafe(_BYTES)
        with self._changing:
            plain = " ".join(name.split())[:_LONGEST].strip() or self._plain_name()
            row = self._store.add_device("d" + secrets.token_hex(4), plain, _hash(token))
            with self._lock:
                self._rows[row.id] = row
        return token

    def find(self, token: str) -> DeviceRow | None:
        """The device with this token; it takes as long whichever it is and however much of it is right."""
        self._look()
        digest, found = _hash(token), None
        with self._lock:
            for row in self._rows.values():
                if hmac.compare_digest(row.hash, digest):
                    found = row
        return found

    def may_come(self, device: str) -> bool:
        """Whether it was not taken off."""
        self._look()
        with self._lock:
            return device in self._rows

    def is_due(self, row: DeviceRow) -> bool:
        """Whether it should be noted that this one is here."""
        return datetime.now(UTC) - datetime.fromisoformat(row.seen) >= _NOTED

    def note(self, device: str) -> None:
        """Note that a device is here. Raises StoreError."""
        with self._changing:
            row = self._rows.get(device)
            if row is not None and self.is_due(row):
                seen = self._store.see_device(device)
                with self._lock:
                    self._rows[device] = replace(row, seen=seen)

    def take_off(self, device: str) -> None:
        """Let it in no more from now on. Raises Missing; StoreError when it could not be saved and so still holds."""
        self._look()
        with self._changing:
            if device not in self._rows:
                raise Missing("this device is not paired any more")
            self._store.revoke_device(device)
            with self._lock:
                del self._rows[device]

    def _look(self) -> None:
        """Read the devices again where another bench may have changed them."""
        if not self._store.shared or time.monotonic() - self._looked < _STALE:
            return
        with self._changing:
            rows = {row.id: row for row in self._store.devices()}
            with self._lock:
                self._rows, self._looked = rows, time.monotonic()

    def _plain_name(self) -> str:
        taken = {row.name for row in self._rows.values()}
        return next(name for n in range(1, len(taken) + 2) if (name := f"Phone {n}") not in taken)


def device_json(row: DeviceRow) -> Json:
    """A device as the page shows it; moments in this machine's own time."""
    return {"id": row.id, "name": row.name, "paired": _local(row.paired), "seen": _local(row.seen)}


def _local(moment: str) -> str:
    return datetime.fromisoformat(moment).astimezone().strftime("%Y-%m-%d %H:%M")


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
