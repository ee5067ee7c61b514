"""The bench page on a disk that fills up while it is served, and answers that cannot be printed."""

from __future__ import annotations

import os
import shutil
import sys
from contextlib import redirect_stderr
from io import StringIO
from pathlib import Path

from numpy.random import Generator

from soak.adverse.refusing import fresh
from soak.adverse.rooms import Disk
from soak.adverse.said import Tries
from soak.kills.child import Ended, Tell, undisturbed
from soak.kills.files import LogToFile, command
from soak.kills.page import SENT, LogOverPage, asked, request, serving

__all__ = ["page_on_full_disk", "unprinted"]

_MOST_ROOM = 160 * 1024  # bytes; all that is sent needs less


def page_on_full_disk(act: LogOverPage, begin: Path, disk: Disk, tries: int, rng: Generator) -> Tries:
    """Things sent until one is refused; all can still be read; with room again, all is sent to the same server."""
    found = Tries("disk full", act.about)
    folder = disk.folder / "act"
    for number in range(tries if disk.real else 0):
        fresh(begin, folder)
        server, port = serving(folder)
        try:
            disk.left_with(int(rng.integers(0, _MOST_ROOM)) if number else 0)
            told = _sent(port, found)
            for path in ("/api/benches/b1/export", "/b/b1/line"):
                if (status := asked(port, "GET", path)[0]) != 200:
                    found.faults.append(f"{path} cannot be read: {status}")
            disk.freed()
            again = _sent(port, found)
            if len(again) != SENT:
                found.faults.append(f"with room again, only {again} was taken")
        finally:
            disk.freed()
            server.kill()
            server.ended()
        found.outcomes["done"] += len(told) == SENT
        found.add(act.judge(folder, Ended((*again,), "", began=True, end=True, broke="", seconds=0.0)))
    shutil.rmtree(folder, ignore_errors=True)
    return found


def _sent(port: int, found: Tries) -> list[str]:
    """What was answered with success before the first refusal."""
    told = []
    for number in range(SENT):
        status, answer = asked(port, *request(number))
        if status != 200:
            if status != 503:
                found.faults.append(f"it was answered with {status}")
            found.refused(answer["error"]["sentence"])
            break
        told.append(f"k{number}")
    return told


def unprinted(act: LogToFile, begin: Path, folder: Path, tries: int) -> Tries:
    """Events logged while standard output takes nothing; the sentence has to say that they are kept."""
    found = Tries("standard output full", "logging to a session file by the command line")
    for _ in range(tries):
        fresh(begin, folder)
        ended = undisturbed(lambda tell: _log_unheard(folder / "s.toml", tell))
        sentence = " ".join(ended.told)
        found.refused(sentence or ended.broke)
        if "is kept" not in sentence:
            found.faults.append(f"it does not say that what was logged is kept: {sentence!r}")
        kept = (folder / "s.toml").read_text(encoding="utf-8").count('note = "k0"')
        found.sums["lost"] += 1 - kept
        found.add(act.judge(folder, Ended(("k0",), "", began=True, end=True, broke="", seconds=0.0)))
    return found


def _log_unheard(path: Path, tell: Tell) -> None:
    """Log the first event with a standard output that is full; the sentence on standard error is told."""
    said = StringIO()
    sys.stdout = open("/dev/full", "w", encoding="utf-8")  # noqa: SIM115 - this child ends at once
    with redirect_stderr(said):
        try:
            command(("log", str(path), "shots", "--distance", "20 yd", "--bare", "7: right 2.1 in", "--note", "k0"))
        except RuntimeError:
            tell(said.getvalue())
    os._exit(0)
