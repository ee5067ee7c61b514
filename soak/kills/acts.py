"""What an act that is killed has to say of itself, and what its judge finds after each kill."""

from __future__ import annotations

import sqlite3
from abc import ABC, abstractmethod
from contextlib import closing, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path
from typing import Protocol

from soak.kills.child import Ended, Work, killed, undisturbed

__all__ = ["Act", "Forked", "ForkedAct", "Judged", "broken_store", "dump", "rows_of"]


@dataclass(slots=True)
class Judged:
    """What one kill did.

    acknowledged  things whose success had been printed, answered or returned
    lost          how many of them are gone
    half          things that are there in part
    unsound       stores whose integrity check fails
    untold        things that are there whole although nobody had been told so yet: no harm
    left          parts of files that the next writing clears away
    faults        a sentence for each thing wrong, beside those counted above
    """

    acknowledged: int = 0
    lost: int = 0
    half: int = 0
    unsound: int = 0
    untold: int = 0
    left: int = 0
    faults: list[str] = field(default_factory=list)

    def wrong(self) -> list[str]:
        """Every fault as a sentence."""
        counted = (
            (self.lost, "acknowledged and lost"),
            (self.half, "half-written"),
            (self.unsound, "not sound"),
        )
        return [*self.faults, *(f"{number} {what}" for number, what in counted if number)]


class Act(Protocol):
    """Something that writes. Every kill is made over a fresh copy of what :meth:`prepare` has put into a folder."""

    about: str

    def prepare(self, folder: Path) -> None:
        """Put into ``folder`` what the act begins with, and load what the act needs."""

    def choose(self, number: int, folder: Path) -> None:
        """Make the copy in ``folder`` the one for the kill of this number (for acts that begin in different ways)."""

    def warm(self, folder: Path) -> None:
        """Do the act once in this process over a copy that is thrown away, so that children find everything loaded."""

    def killed(self, folder: Path, moment: float | None) -> Ended:
        """Do the act in a child; it is killed after ``moment`` [s], or not at all."""

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """What is there after the kill, and once the act was done again to its end."""


class ForkedAct(Act, Protocol):
    """An act that is done in one child."""

    def work(self, folder: Path) -> Work:
        """What the child does."""


class Forked(ABC):
    """What the acts share that are done and killed in one child."""

    @abstractmethod
    def work(self, folder: Path) -> Work:
        """What the child does."""

    def choose(self, number: int, folder: Path) -> None:
        """Always the same, unless an act says otherwise."""
        del number, folder

    def warm(self, folder: Path) -> None:
        """See :class:`Act`."""
        with redirect_stdout(StringIO()), redirect_stderr(StringIO()):
            self.work(folder)(lambda _what: None)

    def killed(self, folder: Path, moment: float | None) -> Ended:
        """See :class:`Act`."""
        work = self.work(folder)
        return undisturbed(work) if moment is None else killed(work, moment)


def broken_store(path: Path) -> str:
    """What SQLite's own checks say of the store at ``path`` ('' = it is sound); none is sound."""
    if not path.exists() or not path.stat().st_size:
        return ""
    try:
        with closing(sqlite3.connect(path)) as connection:
            integrity = [row[0] for row in connection.execute("PRAGMA integrity_check")]
            keys = connection.execute("PRAGMA foreign_key_check").fetchall()
    except sqlite3.DatabaseError as error:
        return str(error)
    return "" if integrity == ["ok"] and not keys else f"{integrity[:3]} {keys[:3]}"


def dump(path: Path) -> str:
    """Everything in the store at ``path`` as SQL, '' when there is none."""
    if not path.exists() or not path.stat().st_size:
        return ""
    with closing(sqlite3.connect(path)) as connection:
        return "\n".join(connection.iterdump())


def rows_of(path: Path, table: str, columns: str = "*") -> list[tuple[object, ...]]:
    """Every row of ``table`` in the store at ``path``, by its first column."""
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(f"SELECT {columns} FROM {table} ORDER BY 1").fetchall()  # noqa: S608 - our own names
