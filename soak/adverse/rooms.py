"""A small disk that can be filled: a file system of its own where one may be mounted, else a limit on files."""

from __future__ import annotations

import os
import resource
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["Disk", "small_disk", "unwritable"]

_SIZE = 24  # MiB
_NOBODY = 65534


class Disk:
    """A disk at ``folder``; ``real`` = it can be filled, else files of children are kept short instead."""

    def __init__(self, folder: Path, *, real: bool) -> None:
        self.folder = folder
        self.real = real

    def left_with(self, room: int) -> Callable[[], None]:
        """Leave ``room`` bytes free (or to one file); what is given back has to be called in the child."""
        if not self.real:
            return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (room, resource.RLIM_INFINITY))
        known = os.statvfs(self.folder)
        filling = known.f_bavail * known.f_frsize - room
        with (self.folder / "filling").open("wb") as file:
            if filling > 0:
                os.posix_fallocate(file.fileno(), 0, filling)
        return lambda: None

    def freed(self) -> None:
        """Make room again."""
        (self.folder / "filling").unlink(missing_ok=True)


@contextmanager
def small_disk(room: Path) -> Iterator[Disk]:
    """A disk of its own inside ``room``, gone at the end."""
    folder = room / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={_SIZE}m,mode=755", "tmpfs", str(folder)]
    try:
        real = subprocess.run(mount, check=False, capture_output=True).returncode == 0  # noqa: S603 - words of our own
    except OSError:
        real = False
    try:
        yield Disk(folder, real=real)
    finally:
        if real:
            subprocess.run(["umount", str(folder)], check=True, capture_output=True)  # noqa: S603, S607 - as above


@contextmanager
def unwritable(folder: Path) -> Iterator[Callable[[], None]]:
    """``folder`` and all in it may only be read; what is given is called in the child (root may write anyway)."""
    every = [folder, *folder.rglob("*")]
    before = [(one, one.stat().st_mode) for one in every]
    for one in every:
        one.chmod(0o555 if one.is_dir() else 0o444)
    try:
        yield _as_nobody
    finally:
        for one, mode in before:
            if one.exists():
                one.chmod(mode)


def _as_nobody() -> None:
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(_NOBODY)
        os.setuid(_NOBODY)
