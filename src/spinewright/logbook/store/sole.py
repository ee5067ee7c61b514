"""One server over one store, since what it holds in memory would be stale if another wrote."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from spinewright.errors import StoreError

__all__ = ["sole_keeper"]


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
