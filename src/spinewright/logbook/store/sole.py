"""One server over one store, since what it holds in memory would be stale if another wrote; and its phones' token."""

from __future__ import annotations

import os
import secrets
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from spinewright.errors import StoreError

__all__ = ["pairing_token", "sole_keeper"]

_SHORTEST = 16  # characters; a shorter one was half written


@contextmanager
def sole_keeper(folder: Path) -> Iterator[None]:
    """Be the only process that serves the store in ``folder``; StoreError when another does. Ends with the process."""
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        descriptor = os.open(folder / "serving.lock", os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise StoreError(f"the benches in {folder} could not be opened ({error.strerror or error}).") from error
    try:
        if not _lock(descriptor):
            raise StoreError(
                f"the benches in {folder} are open already in another spinewright; use that page, or name another "
                "folder with --store."
            )
        yield
    finally:
        os.close(descriptor)


def pairing_token(folder: Path) -> str:
    """The token that pairs phones with the store in ``folder``, made on first use and kept.

    A phone that still has taps to send may come back after a restart. Taking the file away unpairs all. Raises
    StoreError.
    """
    path = folder / "pairing"
    try:
        with suppress(FileNotFoundError):
            known = path.read_text(encoding="ascii").strip()
            if len(known) >= _SHORTEST:
                return known
        made = secrets.token_urlsafe(16)
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(descriptor, "w", encoding="ascii") as file:
            file.write(made)
    except (OSError, UnicodeDecodeError) as error:
        raise StoreError(f"the code that pairs phones could not be kept in {path} ({error}).") from error
    return made


if sys.platform == "win32":  # pragma: no cover

    def _lock(descriptor: int) -> bool:
        import msvcrt

        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:

    def _lock(descriptor: int) -> bool:
        import fcntl

        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
