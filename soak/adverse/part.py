"""Tries every circumstance and counts what was done, refused and damaged."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from numpy.random import Generator

from soak.adverse.clocks import dated_earlier, machine_set_back, sent_earlier
from soak.adverse.page_full import page_on_full_disk, unprinted
from soak.adverse.refusing import fresh, on_full_disk, read_only
from soak.adverse.rooms import Disk, small_disk
from soak.adverse.said import Tries
from soak.adverse.together import one_file, one_logbook, one_opening, one_start, second_server
from soak.figures import Figures
from soak.kills.acts import Act, ForkedAct
from soak.kills.advice import NextThought
from soak.kills.files import LogToFile, PictureDrawn, StartFile
from soak.kills.page import LogOverPage
from soak.kills.store import AnswersKept, BroughtAlong
from soak.kills.tables import BackedUp, BroughtUp

__all__ = ["run", "tried"]

_MOST_NAMED = 20
_ABOUT = (
    "What does not kill the program but refuses it: a disk with little room left or none (a file system of its own, "
    "filled to a random byte; where none may be mounted, files are kept short), a folder that may only be read (by "
    "a user who is not root), standard output that takes nothing, clocks that go back, and two or three processes "
    "that write at the same moment. Every refusal has to be one line that ends as a sentence and shows nothing of "
    "the program's inside; afterwards, with the circumstance gone, the judges of the kills look at what is there "
    "and do the act again to its end. Wrong is a refusal that is none of that, and any damage."
)
_COLUMNS = (
    "circumstance",
    "what was done",
    "tries",
    "done",
    "refused in one sentence",
    "lost",
    "half-written",
    "not sound",
    "wrong",
)


def run(amount: float, rng: Generator) -> Figures:
    """The figures of ``amount`` tries of each circumstance and act."""
    tries = max(1, int(amount))
    found = [*tried(tries, rng)]
    faults = [f"{one.circumstance}, {one.act}: {fault}" for one in found for fault in one.faults]
    named = faults if len(faults) <= _MOST_NAMED else [*faults[:_MOST_NAMED], f"and {len(faults) - _MOST_NAMED} more"]
    return Figures(_ABOUT, f"{tries} tries of each", _COLUMNS, tuple(one.row() for one in found), tuple(named))


def tried(tries: int, rng: Generator) -> Iterator[Tries]:
    """Every circumstance with every act it can befall."""
    with TemporaryDirectory() as where:
        room = Path(where)
        room.chmod(0o755)  # who may only read has to be able to come in
        with small_disk(room) as disk:
            yield from _refusing(room, disk, tries, rng)
            begin = _begun(page := LogOverPage(), room)
            yield page_on_full_disk(page, begin, disk, tries, rng)
        begin = _begun(log := LogToFile(), room)
        yield unprinted(log, begin, room / "act", tries)
        yield dated_earlier(begin, room / "act", tries, rng)
        yield sent_earlier(room, tries, rng)
        yield machine_set_back(room, tries)
        yield one_file(begin, room / "act", tries)
        begin = _begun(start := StartFile(), room)
        yield one_start(start, begin, room / "act", tries)
        begin = room / f"begin-{LogOverPage.__name__}"
        yield one_logbook(begin, room / "act", tries)
        yield second_server(begin, room / "act", tries)
        begin = _begun(tables := BroughtUp(), room)
        yield one_opening(tables, begin, room / "act", tries)


def _refusing(room: Path, disk: Disk, tries: int, rng: Generator) -> Iterator[Tries]:
    """Disk full and read only, for every act that is done in one child."""
    acts: tuple[ForkedAct, ...] = (
        LogToFile(),
        StartFile(),
        BroughtAlong(),
        BroughtUp(),
        BackedUp(),
        AnswersKept(),
        PictureDrawn(),
        NextThought(),
    )
    begun = [_begun(act, room) for act in acts]
    for act, begin in zip(acts, begun, strict=True):
        yield on_full_disk(act, begin, disk, tries, rng)
    for act, begin in zip(acts, begun, strict=True):
        yield read_only(act, begin, room / "act", tries)


def _begun(act: Act, room: Path) -> Path:
    """What ``act`` begins with, in a folder of its own; everything it needs is loaded then."""
    begin, folder = room / f"begin-{type(act).__name__}", room / "warm"
    if begin.exists():
        shutil.rmtree(begin)
    begin.mkdir()
    act.prepare(begin)
    fresh(begin, folder)
    act.choose(0, folder)
    act.warm(folder)
    return begin
