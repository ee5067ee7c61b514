"""The store's dated backup: one copy a day, whole or not at all, and only so many of them."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path

from spinewright.logbook.safe_write import clear_parts, settle

__all__ = ["back_up"]

_BACKUPS = 14  # dated copies that are kept
_WAIT = 10.0  # s that another process may hold the file
_PAGE = 4096  # bytes


def back_up(path: Path, folder: Path) -> None:
    """Copy the store at ``path`` into ``folder`` unless today's copy is there already. Raises OSError, sqlite3.Error.

    VACUUM INTO makes it whole (a plain copy would lose what still stands in the write-ahead log), but leaves it to the
    caller to see it on the disk, and its part behind where the disk is full.
    """
    folder.mkdir(exist_ok=True, mode=0o700)
    wanted = folder / f"benches-{datetime.now(UTC):%Y-%m-%d}.sqlite"
    if wanted.exists():
        return
    clear_parts(folder, ".benches-*.part")
    part = folder / f".{wanted.name}.{os.getpid()}.part"
    part.unlink(missing_ok=True)
    try:
        with closing(sqlite3.connect(path, timeout=_WAIT)) as connection:
            connection.execute("VACUUM INTO ?", (str(part),))
        settle(part, wanted)
    except (OSError, sqlite3.Error) as error:
        full = isinstance(error, sqlite3.Error) and _is_full(folder)  # SQLite calls that an I/O error at times
        with suppress(OSError):
            part.unlink(missing_ok=True)
        if full:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) from error
        raise
    others = sorted(one for one in folder.glob("benches-*.sqlite") if one != wanted)
    for old in others[: 1 - _BACKUPS]:  # the one just made stays, also where the clock has gone back
        old.unlink(missing_ok=True)


def _is_full(folder: Path) -> bool:
    """Whether its disk has no room for another page of a store."""
    try:
        return shutil.disk_usage(folder).free < _PAGE
    except OSError:
        return False
