"""Copies a store whole while others write to it, out to a file and back into a folder; never over anything."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

from spinewright.errors import StoreError
from spinewright.logbook.places import STORE_NAME
from spinewright.logbook.safe_write import settle_new
from spinewright.logbook.store.tables import HEAD

__all__ = ["Copied", "copy_back", "copy_out"]

_WAIT = 10.0  # s that another process may hold the file
_COUNTED = ("benches", "events", "taps")


@dataclass(frozen=True, slots=True)
class Copied:
    """What a copy holds: benches, events that were ended, sayings of taps; and its size in bytes."""

    benches: int
    events: int
    taps: int
    size: int


def copy_out(folder: Path, copy: Path) -> Copied:
    """A copy of the store in ``folder`` as it is at one moment, in one new file ``copy``. Raises StoreError.

    SQLite's own online backup, all in one step: it holds what stands in the write-ahead log, and a server goes on
    writing meanwhile.
    """
    path = folder / STORE_NAME
    if not path.is_file():
        raise StoreError(
            f"there are no benches in {folder} yet, so nothing was copied; name their folder with --store."
        )
    return _copied(path, copy, "rw")


def copy_back(copy: Path, folder: Path) -> Copied:
    """The copy in the file ``copy`` as the store in ``folder``, where there is none yet. Raises StoreError."""
    if not copy.is_file():
        raise StoreError(f"there is no file {copy}; nothing was changed.")
    path = folder / STORE_NAME
    there = [one.name for one in (path, *_beside(path)) if os.path.lexists(one)]
    if there:
        raise StoreError(
            f"there is {' and '.join(there)} in {folder} already, and nothing is ever written over; name another "
            f"folder with --store, or end the page and first move all that begins with {STORE_NAME} out of the way."
        )
    return _copied(copy, path, "ro")


def _copied(source: Path, target: Path, mode: str) -> Copied:
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        if os.path.lexists(target):
            raise FileExistsError
        with suppress(FileNotFoundError):
            part.unlink()
        with closing(_opened(source, mode)) as old, closing(sqlite3.connect(part)) as new:
            os.chmod(part, 0o600)  # like the folder it comes from, nobody else's business
            old.backup(new)
            new.execute("PRAGMA journal_mode=DELETE")  # the whole copy in the one file
            found = _looked_at(new, source)
        size = part.stat().st_size
        settle_new(part, target)
    except FileExistsError as error:
        _cleared(part)
        raise StoreError(f"{target} is there already; choose another name, nothing was changed.") from error
    except sqlite3.Error as error:
        _cleared(part)
        raise StoreError(f"{source} could not be copied to {target} ({error}); nothing was changed.") from error
    except OSError as error:
        _cleared(part)
        raise StoreError(f"{target} could not be written ({error.strerror or error}); nothing was changed.") from error
    except StoreError:
        _cleared(part)
        raise
    return Copied(*found, size)


def _opened(path: Path, mode: str) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode={mode}", uri=True, timeout=_WAIT)


def _looked_at(copy: sqlite3.Connection, source: Path) -> tuple[int, int, int]:
    """How much is in a copy that is sound and of tables that are known. Raises StoreError."""
    said = [str(row[0]) for row in copy.execute("PRAGMA integrity_check(1)")]
    if said != ["ok"] or copy.execute("PRAGMA foreign_key_check").fetchone() is not None:
        raise StoreError(f"{source} is damaged ({'; '.join(said)}); nothing was changed. Try an older copy.")
    names = {str(row[0]) for row in copy.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    version = copy.execute("SELECT version_num FROM alembic_version").fetchone() if "alembic_version" in names else None
    if version is None or "benches" not in names:
        raise StoreError(f"{source} holds no benches of spinewright; nothing was changed.")
    if str(version[0]) > HEAD:
        raise StoreError(
            f"{source} was written by a later version of spinewright (tables {version[0]}, known here {HEAD}); "
            "use that version, nothing was changed."
        )
    many = [_count(copy, name) if name in names else 0 for name in _COUNTED]
    return many[0], many[1], many[2]


def _count(copy: sqlite3.Connection, table: str) -> int:
    return int(copy.execute(f"SELECT count(*) FROM {table}").fetchone()[0])  # noqa: S608 - one of our own names


def _beside(path: Path) -> tuple[Path, ...]:
    """What SQLite keeps beside a store; put beside another one it would be taken for that one's."""
    return tuple(path.with_name(path.name + end) for end in ("-wal", "-shm", "-journal"))


def _cleared(part: Path) -> None:
    for one in (part, *_beside(part)):
        with suppress(OSError):
            one.unlink(missing_ok=True)
