"""Kills every act at random moments, judges what is left each time, and counts."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from types import MappingProxyType

from numpy.random import Generator

from soak.figures import Figures
from soak.kills.acts import Act, Judged
from soak.kills.advice import NextThought
from soak.kills.child import Ended
from soak.kills.files import LogToFile, PictureDrawn, StartFile
from soak.kills.page import LogOverPage
from soak.kills.store import AnswersKept, BroughtAlong
from soak.kills.tables import BackedUp, BroughtUp

__all__ = ["ACTS", "Count", "kill_often", "run"]

ACTS: Mapping[str, type[Act]] = MappingProxyType(
    {
        "log": LogToFile,
        "new": StartFile,
        "page": LogOverPage,
        "import": BroughtAlong,
        "tables": BroughtUp,
        "backup": BackedUp,
        "answers": AnswersKept,
        "next": NextThought,
        "picture": PictureDrawn,
    }
)
"""What is killed, by name."""

_MEASURED = 5  # undisturbed runs that say how long an act takes
_MOST_NAMED = 20
_ABOUT = (
    "Processes that write are killed (SIGKILL) at moments drawn evenly over the time that the act takes "
    "undisturbed, each over a fresh copy of what it begins with; then files and stores are read, SQLite checks its "
    "own integrity and keys, and the act is done again to its end. The processes are forked from one that has "
    "everything loaded; their death is that of any other, and no power cut: that what is told was synced to the "
    "disk first is held by tests of its own. Acknowledged is what was printed, answered over HTTP or had returned "
    "with success; kept untold is what stood there whole before anybody had been told so, and is no harm. Wrong is "
    "whatever was acknowledged and lost, anything half-written, a store that is not sound, and an act that cannot "
    "be gone on with."
)
_COLUMNS = (
    "what was killed",
    "kills",
    "before, inside, after it",
    "took undisturbed",
    "acknowledged",
    "lost",
    "half-written",
    "not sound",
    "kept untold",
    "parts left to clear",
    "wrong",
)


@dataclass(slots=True)
class Count:
    """What the kills of one act did; ``seconds`` is how long it takes undisturbed."""

    seconds: float = 0.0
    landed: Counter[str] = field(default_factory=Counter)
    sums: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)

    def add(self, number: int, landed: str, found: Judged) -> None:
        """One more kill."""
        self.landed[landed] += 1
        for name in ("acknowledged", "lost", "half", "unsound", "untold", "left"):
            self.sums[name] += getattr(found, name)
        self.faults += [f"kill {number}: {one}" for one in found.wrong()]


def run(amount: float, rng: Generator) -> Figures:
    """The figures of ``amount`` kills of each act."""
    kills = max(1, int(amount))
    rows, faults = [], []
    for act in ACTS.values():
        made = act()
        try:
            found = kill_often(made, kills, rng)
        except Exception as error:  # the other acts are still killed
            found = Count(faults=[f"it broke off: {type(error).__name__}: {error}"])
        rows.append(_row(made.about, found))
        print(f"  {'; '.join(rows[-1])}", flush=True)  # a long run that is cut off has said something by then
        faults += [f"{made.about}, {one}" for one in found.faults]
    named = faults if len(faults) <= _MOST_NAMED else [*faults[:_MOST_NAMED], f"and {len(faults) - _MOST_NAMED} more"]
    return Figures(_ABOUT, f"{kills} kills of each of {len(rows)} acts", _COLUMNS, tuple(rows), tuple(named))


def kill_often(act: Act, kills: int, rng: Generator) -> Count:
    """``act`` killed so many times."""
    count = Count()
    with TemporaryDirectory(dir=_memory()) as room:
        begin, folder = Path(room) / "begin", Path(room) / "act"
        begin.mkdir()
        act.prepare(begin)
        _fresh(begin, folder)
        act.choose(0, folder)
        act.warm(folder)
        count.seconds = _measured(act, begin, folder)
        for number in range(kills):
            _fresh(begin, folder)
            act.choose(number, folder)
            ended = act.killed(folder, float(rng.uniform(0.0, count.seconds)))
            count.add(number, ended.landed, _judged(act, folder, ended))
    return count


def _memory() -> Path | None:
    """Files in memory where there is such a folder: a process that dies loses nothing that the system has taken over.

    (What a disk keeps when the power goes is another question, which no kill can answer.)
    """
    memory = Path("/dev/shm")  # noqa: S108 - a folder of its own is made inside
    return memory if os.access(memory, os.W_OK) else None


def _judged(act: Act, folder: Path, ended: Ended) -> Judged:
    """What the judge found; what is so broken that it cannot even be looked at is not sound."""
    try:
        return act.judge(folder, ended)
    except (OSError, ValueError, LookupError, sqlite3.Error) as error:
        return Judged(len(ended.told), unsound=1, faults=[f"{type(error).__name__}: {error}"])


def _measured(act: Act, begin: Path, folder: Path) -> float:
    """How long the act takes undisturbed [s], the middle of some runs; RuntimeError when it cannot be done."""
    taken = []
    for number in range(_MEASURED):
        _fresh(begin, folder)
        act.choose(number, folder)
        ended = act.killed(folder, None)
        if ended.broke or not ended.end:
            raise RuntimeError(f"{act.about} cannot be done undisturbed: {ended.broke}")
        taken.append(ended.seconds)
    return median(taken)


def _fresh(begin: Path, folder: Path) -> None:
    """A copy of ``begin`` in the place of ``folder``."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(begin, folder)


def _row(about: str, found: Count) -> tuple[str, ...]:
    where = ", ".join(str(found.landed[name]) for name in ("before", "inside", "after"))
    sums = (str(found.sums[name]) for name in ("acknowledged", "lost", "half", "unsound", "untold", "left"))
    kills = found.landed.total()
    return (about, str(kills), where, f"{1e3 * found.seconds:.0f} ms", *sums, str(len(found.faults)))
