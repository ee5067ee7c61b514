"""Every act that is killed elsewhere, on a disk with little room left and in a folder that may only be read."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

from numpy.random import Generator

from soak.adverse.rooms import Disk, unwritable
from soak.adverse.said import Tries, said_by
from soak.kills.acts import ForkedAct
from soak.kills.child import Ended, Tell, undisturbed

__all__ = ["fresh", "on_full_disk", "read_only"]

_SPARE = 2 * 4096  # bytes beyond what an act needs, so that some tries go through


def on_full_disk(act: ForkedAct, begin: Path, disk: Disk, tries: int, rng: Generator) -> Tries:
    """``act`` on ``disk`` with random amounts of room left, none of it first; freed, it is judged and done again."""
    found = Tries("disk full" if disk.real else "files kept short", act.about)
    folder = disk.folder / "act"
    needs = _needs(act, begin, folder)
    for number in range(tries):
        fresh(begin, folder)
        act.choose(number, folder)
        cramped = disk.left_with(int(rng.integers(0, needs + _SPARE)) if number else 0)
        try:
            ended = _done(act, folder, cramped)
        finally:
            disk.freed()
        _note(act, folder, ended, found)
    shutil.rmtree(folder)
    return found


def read_only(act: ForkedAct, begin: Path, folder: Path, tries: int) -> Tries:
    """``act`` in ``folder``, which may only be read; then it may be written, is judged and done again."""
    found = Tries("folder that may only be read", act.about)
    for number in range(tries):
        fresh(begin, folder)
        act.choose(number, folder)
        with unwritable(folder) as as_reader:
            ended = _done(act, folder, as_reader)
        _note(act, folder, ended, found)
    shutil.rmtree(folder)
    return found


def _needs(act: ForkedAct, begin: Path, folder: Path) -> int:
    """By how much the folder grows when the act is done with room enough [bytes]; parts of files count twice."""
    fresh(begin, folder)
    act.choose(0, folder)
    before = _size(folder)
    ended = undisturbed(act.work(folder))
    if ended.broke:
        raise RuntimeError(f"{act.about} cannot be done with room enough: {ended.broke}")
    return max(4096, 2 * (_size(folder) - before), *(one.stat().st_size for one in folder.rglob("*") if one.is_file()))


def _done(act: ForkedAct, folder: Path, enter: Callable[[], None]) -> Ended:
    """The act in a child that enters the circumstance first; what it says on standard error is read too."""
    work = act.work(folder)

    def inside(tell: Tell) -> None:
        os.dup2(1, 2)
        sys.stderr = sys.stdout
        enter()
        work(tell)

    return undisturbed(inside)


def _note(act: ForkedAct, folder: Path, ended: Ended, found: Tries) -> None:
    if sentence := said_by(ended):
        found.refused(sentence)
    else:
        found.outcomes["done"] += 1
    found.add(act.judge(folder, ended))


def fresh(begin: Path, folder: Path) -> None:
    """A copy of ``begin`` in the place of ``folder``."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(begin, folder)


def _size(folder: Path) -> int:
    return sum(one.stat().st_blocks * 512 for one in folder.rglob("*") if one.is_file())
