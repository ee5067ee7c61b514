"""Replaces a file so that a kill or a power cut at any moment leaves the old or the new one, one writer at a time."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from spinewright.errors import StoreError

__all__ = ["exclusive", "make", "replace_content"]


@contextmanager
def exclusive(path: Path) -> Iterator[Path]:
    """The real path of the existing file ``path``, while this process is the only one that may replace it.

    The lock ends with the process, however that ends. Links are followed, so that the link itself stays a link.
    """
    try:
        real = path.resolve()
        descriptor = _locked(real)
    except OSError as error:
        raise StoreError(f"{path} could not be locked ({error.strerror or error}); nothing was changed.") from error
    try:
        yield real
    finally:
        os.close(descriptor)


def replace_content(path: Path, content: bytes) -> None:
    """Put ``content`` in the place of what ``path`` holds; permissions stay. Call inside :func:`exclusive`.

    Raises :class:`~spinewright.errors.StoreError`; the old file is then untouched.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        if not os.access(path, os.W_OK):
            raise PermissionError(13, "the file may not be written")
        with suppress(FileNotFoundError):
            part.unlink()  # left by a process that was killed
        _write_new(part, content, path.stat().st_mode & 0o7777)
        os.replace(part, path)
        _sync_folder(path.parent)
    except OSError as error:
        with suppress(OSError):
            part.unlink()
        raise StoreError(f"{path} could not be written ({error.strerror or error}); nothing was changed.") from error


def make(path: Path, content: bytes) -> None:
    """Write a new file; one that is there already is never touched (StoreError)."""
    try:
        _write_new(path, content)
        _sync_folder(path.parent)
    except FileExistsError as error:
        raise StoreError(f"{path} is there already; choose another name, nothing was changed.") from error
    except OSError as error:
        raise StoreError(f"{path} could not be written ({error.strerror or error}); nothing was changed.") from error


def _write_new(path: Path, content: bytes, mode: int | None = None) -> None:
    """Write and sync; ``mode`` None = as the person's other new files."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    if mode is not None:
        os.chmod(path, mode)


def _sync_folder(folder: Path) -> None:
    """Make the new name itself last through a power cut."""
    if sys.platform == "win32":
        return  # folders cannot be opened there
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


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

        while True:
            descriptor = os.open(path, os.O_RDONLY)
            fcntl.flock(descriptor, fcntl.LOCK_EX)
            with suppress(FileNotFoundError):
                if os.path.samestat(os.fstat(descriptor), path.stat()):
                    return descriptor
            os.close(descriptor)
