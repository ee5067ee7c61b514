"""Acts on files: logging to a session file by the command line, starting one, and drawing a picture."""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import redirect_stdout
from functools import lru_cache
from io import StringIO
from pathlib import Path
from typing import Any

from soak.kills.acts import Forked, Judged
from soak.kills.child import Ended, Tell, Work

__all__ = ["LogToFile", "PictureDrawn", "StartFile", "command"]

_NOTE = re.compile(r'^note = "k(\d+)"$', re.MULTILINE)
_SHOTS = ("--distance", "20 yd", "--fletched", "1: left 0.4 in, high 0.2 in", "--bare", "7: right 2.1 in, low 0.6 in")
_LOGGED: tuple[tuple[str, ...], ...] = (
    ("shots", *_SHOTS),
    ("good",),
    ("tear", "--distance", "6 ft", "--tail", "right 0.5 in", "--shaft", "3", "--bare"),
    ("flex-check", "--shaft", "3", "--sound"),
)


def command(words: Sequence[str]) -> None:
    """One command of the command line in this process. Raises RuntimeError when it does not end with success."""
    code = _face().main(list(words), prog_name="spinewright", standalone_mode=False)
    if code:
        raise RuntimeError(f"'{' '.join(words[:3])} ...' ended with {code}")


@lru_cache(maxsize=1)
def _face() -> Any:  # noqa: ANN401 - typer's own commands have no public type
    """The command line, built once as a process builds it."""
    import typer.main

    from spinewright.cli import app

    return typer.main.get_command(app)


class LogToFile(Forked):
    """Four events logged one after the other; acknowledged is what was printed or had ended with success."""

    about = "logging to a session file by the command line"

    def prepare(self, folder: Path) -> None:
        """A session file with an invented bow."""
        with redirect_stdout(StringIO()):
            command(("new", str(folder / "s.toml"), "--example"))

    def work(self, folder: Path) -> Work:
        """Log what is still to be logged."""
        path = folder / "s.toml"

        def work(tell: Tell) -> None:
            for number in range(len(_NOTE.findall(path.read_text(encoding="utf-8"))), len(_LOGGED)):
                name, *options = _LOGGED[number]
                command(("log", str(path), name, *options, "--note", f"k{number}"))
                tell(f"k{number}")

        return work

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """The file reads, holds the old text and a first part of the events, the acknowledged ones among them."""
        from spinewright import logbook
        from spinewright.errors import SpinewrightError

        path = folder / "s.toml"
        told = max(len(ended.told), ended.printed.count("Logged ("))
        found = Judged(acknowledged=told)
        try:
            logbook.read(path)
        except SpinewrightError as error:
            found.half += 1
            found.faults.append(str(error))
        kept = [int(number) for number in _NOTE.findall(path.read_text(encoding="utf-8"))]
        if kept != list(range(len(kept))) or len(kept) > told + 1:
            found.faults.append(f"events {kept} are there after {told} were acknowledged")
        found.lost = max(0, told - len(kept))
        found.untold = max(0, len(kept) - told)
        found.left = _left(folder, {"s.toml"}, found)
        again = self.killed(folder, None)
        kept = [int(number) for number in _NOTE.findall(path.read_text(encoding="utf-8"))]
        if again.broke or kept != list(range(len(_LOGGED))) or len(list(folder.iterdir())) != 1:
            left = [one.name for one in folder.iterdir()]
            found.faults.append(f"logged on, {kept} are there beside {left}: {again.broke}")
        return found


class StartFile(Forked):
    """A session file that is started."""

    about = "starting a session file"

    def prepare(self, folder: Path) -> None:
        """Nothing is there yet; the file is started once elsewhere, which says how it is."""
        path = folder / "elsewhere.toml"
        with redirect_stdout(StringIO()):
            command(("new", str(path), "--example"))
        self._whole = path.read_bytes()
        path.unlink()

    def work(self, folder: Path) -> Work:
        """Start it."""

        def work(tell: Tell) -> None:
            command(("new", str(folder / "s.toml"), "--example"))
            tell("new")

        return work

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """It is there whole or not at all."""
        path = folder / "s.toml"
        told = int(bool(ended.told) or "Started" in ended.printed)
        found = Judged(acknowledged=told)
        there = path.exists()
        found.lost = int(told and not there)
        found.half = int(there and path.read_bytes() != self._whole)
        found.untold = int(there and not told)
        found.left = _left(folder, {"s.toml"}, found)
        if not there and (self.killed(folder, None).broke or path.read_bytes() != self._whole):
            found.faults.append("it could not be started after the kill")
        return found


class PictureDrawn(Forked):
    """A picture drawn over an older one, as 'sheet --picture' draws it."""

    about = "a picture drawn over an older one"

    def prepare(self, folder: Path) -> None:
        """The older picture."""
        from matplotlib.figure import Figure

        from spinewright.report.saving import save_page

        for name, words in (("old", "the older one"), ("new", "the new one")):
            page = Figure(figsize=(4.0, 3.0))
            page.text(0.1, 0.5, words)
            save_page(page, folder / "p.png")
            setattr(self, f"_{name}", (folder / "p.png").read_bytes())
            self._page = page
        (folder / "p.png").write_bytes(self._old)

    _old: bytes = b""
    _new: bytes = b""

    def work(self, folder: Path) -> Work:
        """Draw the new one."""
        from spinewright.report.saving import save_page

        def work(tell: Tell) -> None:
            save_page(self._page, folder / "p.png")
            tell("drawn")

        return work

    def judge(self, folder: Path, ended: Ended) -> Judged:
        """The old or the new one is there."""
        found = Judged(acknowledged=len(ended.told))
        there = (folder / "p.png").read_bytes()
        found.half = int(there not in (self._old, self._new))
        found.lost = int(bool(ended.told) and there != self._new)
        found.untold = int(not ended.told and there == self._new)
        found.left = _left(folder, {"p.png"}, found)
        if self.killed(folder, None).broke or (folder / "p.png").read_bytes() != self._new:
            found.faults.append("it could not be drawn after the kill")
        return found


def _left(folder: Path, known: set[str], found: Judged) -> int:
    """How many parts of files are left; anything else that is not ``known`` is a fault."""
    others = [one.name for one in folder.iterdir() if one.name not in known]
    strange = [name for name in others if not (name.startswith(".") and name.endswith(".part"))]
    if strange:
        found.faults.append(f"{strange} was left behind")
    return len(others) - len(strange)
