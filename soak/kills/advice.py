"""The act of thinking: 'next' on a session file, with whatever it keeps between two runs."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from soak.kills.acts import Forked, Judged
from soak.kills.child import Ended, Tell, Work
from soak.kills.files import command

__all__ = ["NextThought"]

_LOOKED = 10  # every so many kills it is asked again, even where nothing is kept between two runs


class NextThought(Forked):
    """``next`` on an invented session file; what it keeps stands in a folder of its own."""

    about = "the belief's update and what it keeps ('next')"

    def prepare(self, folder: Path) -> None:
        """The file, and the answer of a run that nobody disturbed."""
        from spinewright.workflow.benches.invented import invented_session

        path = folder / "s.toml"
        path.write_text(invented_session(), encoding="utf-8")
        self._text = path.read_bytes()
        self._kills = 0
        self.warm(folder)
        self._answer = _said(self.killed(folder, None))
        self._empty = _inside(folder)

    def choose(self, number: int, folder: Path) -> None:
        """Always the same; it is counted."""
        del folder
        self._kills = number

    def work(self, folder: Path) -> Work:
        """Ask for the next move."""

        def work(tell: Tell) -> None:
            with _keeping_in(folder / "cache"):
                command(("next", str(folder / "s.toml"), "--bows", "50", "--json"))
            tell("answered")

        return work

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """The session file is as it was; an answer printed or asked for again is the undisturbed one."""
        found = Judged(acknowledged=len(ended.told))
        if (folder / "s.toml").read_bytes() != self._text:
            found.half += 1
        found.lost = int(bool(ended.told) and _said(ended) != self._answer)
        found.left = len([*folder.rglob("*.part")])
        if self._kills % _LOOKED == 0 or _inside(folder) != self._empty:
            again = self.killed(folder, None)
            if again.broke or _said(again) != self._answer:
                found.faults.append(f"asked again, it answers otherwise: {again.broke}")
        return found


@contextmanager
def _keeping_in(folder: Path) -> Iterator[None]:
    """Whatever the program keeps between two runs stands in ``folder``."""
    before = os.environ.get("XDG_CACHE_HOME")
    os.environ["XDG_CACHE_HOME"] = str(folder)
    try:
        yield
    finally:
        if before is None:
            del os.environ["XDG_CACHE_HOME"]
        else:
            os.environ["XDG_CACHE_HOME"] = before


def _said(ended: Ended) -> str:
    """The printed answer in few characters."""
    return hashlib.sha256(ended.printed.encode()).hexdigest()


def _inside(folder: Path) -> list[str]:
    """Every file in ``folder``."""
    return sorted(str(one.relative_to(folder)) for one in folder.rglob("*") if one.is_file())
