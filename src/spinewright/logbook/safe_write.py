"""Writes a file so that a kill or a power cut at any moment leaves the old or the new one, one writer at a time."""

from __future__ import annotations

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from spinewright.errors import StoreError

__all__ = ["clear_parts", "exclusive", "make", "put", "replace_content", "settle", "settle_new"]

_PATIENCE, _PAUSE = 10.0, 0.02  # s that another who writes is waited for, and between two looks
_OLD = 3600.0  # s; what a killed process was writing that long ago, nobody is writing any more
# what a file system answers that has no second names, and one that syncs no folders
_NO_LINKS = frozenset({errno.EPERM, errno.EACCES, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK})
_LOST = frozenset({errno.EIO, errno.ENOSPC, errno.EDQUOT}) if sys.platform != "win32" else frozenset({errno.EIO})


@contextmanager
def exclusive(path: Path) -> Iterator[Path]:
    """The real path of the existing file ``path``, while this process is the only one that may replace it.

    The lock ends with the process, however that ends. Links are followed, so that the link itself stays a link.
    """
    try:
        real = path.resolve()
        descriptor = _locked(real)
    except BlockingIOError as error:
        raise StoreError(
            f"{path} is held by another program that does not come to its end; nothing was changed. See what it waits "
            "for, and try again."
        ) from error
    except OSError as error:
        raise StoreError(f"{path} could not be locked ({error.strerror or error}); nothing was changed.") from error
    try:
        yield real
    finally:
        os.close(descriptor)


def replace_content(path: Path, content: bytes) -> None:
    """Put ``content`` in the place of what ``path`` holds; permissions stay. Call inside :func:`exclusive`.

    Raises :class:`~spinewright.errors.StoreError`; the old file is then untouched, unless it says otherwise.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        if not os.access(path, os.W_OK):
            raise PermissionError(13, "the file may not be written")
        with suppress(FileNotFoundError):
            part.unlink()  # left by a process that was killed
        _write_new(part, content, path.stat().st_mode & 0o7777)
        os.replace(part, path)
    except OSError as error:
        raise _refused(path, part, error) from error
    _sync_folder(path)


def make(path: Path, content: bytes) -> None:
    """Write a new file, whole or not at all; one that is there already is never touched (StoreError)."""
    part = _own_part(path)
    try:
        if os.path.lexists(path):
            raise FileExistsError
        _write_new(part, content)
        _name_new(part, path)
        part.unlink(missing_ok=True)
    except FileExistsError as error:
        with suppress(OSError):
            part.unlink()
        raise StoreError(f"{path} is there already; choose another name, nothing was changed.") from error
    except OSError as error:
        raise _refused(path, part, error) from error
    _sync_folder(path)


def put(path: Path, content: bytes) -> None:
    """Write a file that was made from others (a picture, a sheet), in the place of one that is there.

    Raises StoreError; what was there is then untouched.
    """
    part = _own_part(path)
    try:
        _write_new(part, content)
        os.replace(part, path)
    except OSError as error:
        raise _refused(path, part, error) from error
    _sync_folder(path)


def settle(part: Path, path: Path) -> None:
    """Give ``part``, which another library has written whole, the name ``path`` once it is on the disk.

    Raises OSError; both files are then as they were.
    """
    descriptor = os.open(part, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    os.replace(part, path)
    _sync_folder(path)


def settle_new(part: Path, path: Path) -> None:
    """:func:`settle` for a name that nobody has yet. Raises FileExistsError, OSError; ``part`` is there still then."""
    descriptor = os.open(part, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    _name_new(part, path)
    part.unlink(missing_ok=True)
    _sync_folder(path)


def clear_parts(folder: Path, pattern: str) -> None:
    """Take away what processes that were killed have left half-written in ``folder``; never what is being written."""
    with suppress(OSError):
        for part in folder.glob(pattern):
            if abs(time.time() - part.stat().st_mtime) > _OLD:
                part.unlink()


def _own_part(path: Path) -> Path:
    """Where this process writes what will be ``path``."""
    clear_parts(path.parent, f".{_literal(path.name)}.*.part")
    return path.with_name(f".{path.name}.{os.getpid()}.part")


def _literal(name: str) -> str:
    """``name`` as a pattern that fits nothing else."""
    return "".join(f"[{one}]" if one in "*?[" else one for one in name)


def _refused(path: Path, part: Path, error: OSError) -> StoreError:
    with suppress(OSError):
        part.unlink()
    return StoreError(f"{path} could not be written ({error.strerror or error}); nothing was changed.")


def _name_new(part: Path, path: Path) -> None:
    """Give ``part`` the name ``path`` in one step, if nobody has it. Raises FileExistsError."""
    try:
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        if os.path.lexists(path):
            raise FileExistsError from error
        os.replace(part, path)  # one who takes the name in this very moment is not seen on such a file system


def _write_new(path: Path, content: bytes, mode: int | None = None) -> None:
    """Write and sync; ``mode`` None = as the person's other new files."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    if mode is not None:
        os.chmod(path, mode)


def _sync_folder(path: Path) -> None:
    """Make the name of the new ``path`` itself last through a power cut.

    A file system that cannot do that is left at it; by now the file is written, so only a disk that fails is said.
    """
    if sys.platform == "win32":
        return  # folders cannot be opened there
    try:
        descriptor = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as error:
        if error.errno in _LOST:
            raise StoreError(
                f"{path} was written, but its disk did not confirm that it keeps it ({error.strerror}); look whether "
                "it is there before it is written again."
            ) from error


if sys.platform == "win32":

    def _locked(path: Path) -> int:
        """A file that is open cannot be replaced there, so a small file beside it is locked instead."""
        import msvcrt

        descriptor = os.open(path.with_name(f".{path.name}.lock"), os.O_RDWR | os.O_CREAT)
        msvcrt.locking(descriptor, msvcrt.LK_LOCK, 1)
        return descriptor

else:

    def _locked(path: Path) -> int:
        """The file itself is locked; if it was replaced while this process waited, the new one is locked instead."""
        import fcntl

        until = time.monotonic() + _PATIENCE
        while True:
            descriptor = os.open(path, os.O_RDONLY)
            with suppress(FileNotFoundError, BlockingIOError):
                fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
                if os.path.samestat(os.fstat(descriptor), path.stat()):
                    return descriptor
            os.close(descriptor)
            if time.monotonic() > until:
                raise BlockingIOError
            time.sleep(_PAUSE)
