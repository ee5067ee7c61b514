"""Several benches that write to one server at once while writers are killed, connections cut and the server stopped.

Each writer is a process with the store open. It logs its events in order, each with an id of its own, on bows it shares
with the others; it notes on disk what was answered, and sends again whatever was not.
"""

from __future__ import annotations

import multiprocessing
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from multiprocessing.process import BaseProcess
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.random import Generator

from soak.database_server import MISSING, DatabaseServer, database_server, programs
from soak.figures import Figures
from spinewright.errors import StoreError
from spinewright.units import System
from spinewright.workflow.benches import open_benches
from spinewright.workflow.benches.starting import make_bench

__all__ = ["WRITERS", "Outcome", "run", "try_writers"]

WRITERS = 4
_BOWS = 4
_AWAY = 1.5  # s that the server is stopped
_WAIT = 0.1  # s before something is sent again
_PATIENCE = 1800.0  # s after which a run that does not end is given up
_CONTEXT = multiprocessing.get_context("forkserver")
_CONTEXT.set_forkserver_preload(["spinewright.workflow.benches.starting", "spinewright.logbook.store.server"])
_ABOUT = (
    "Writers in processes of their own log events on four bows that all of them share, in one PostgreSQL server that "
    "runs for this alone with every commit on its disk. While they write, one is killed (SIGKILL) and started again, "
    "every connection is cut at the server (pg_terminate_backend), and the server is stopped as if it had crashed and "
    "comes back. A writer sends again whatever was refused or not answered; the one that was killed sends everything "
    "again from its first event. Acknowledged events are looked up after each of the three and at the end; order is "
    "each writer's own on each bow."
)


@dataclass(slots=True)
class Outcome:
    """What came of it: times of an answer [s], refusals by their sentence, and a sentence for each thing wrong."""

    events: int
    seconds: float = 0.0
    waits: list[float] = field(default_factory=list)
    refused: Counter[str] = field(default_factory=Counter)
    cut: int = 0
    lost: int = 0
    doubled: int = 0
    faults: list[str] = field(default_factory=list)


def run(amount: float, generator: Generator) -> Figures:
    """``amount`` events of each writer."""
    count = max(int(amount), 1)
    columns = ("what", "found")
    if programs() is None:
        return Figures(_ABOUT, "nothing run", columns, (), (f"{MISSING}.",))
    with database_server(safe=True) as server:
        found = try_writers(server, count, generator)
    waits = 1e3 * np.array(found.waits or [np.nan])
    middle, most = np.percentile(waits, [50, 95])
    rows = (
        ("events asked for", f"{found.events:,}"),
        ("lost", str(found.lost)),
        ("there twice", str(found.doubled)),
        ("time from first to last", f"{found.seconds:.0f} s, {found.events / found.seconds:.0f} events a second"),
        ("an answer, middle and 95 in 100", f"{middle:.0f} ms, {most:.0f} ms (longest {waits.max() / 1e3:.1f} s)"),
        ("connections cut", str(found.cut)),
        ("answered with a refusal and sent again", f"{found.refused.total()}"),
        *((f"refusal: {words}", str(times)) for words, times in found.refused.most_common(4)),
    )
    return Figures(_ABOUT, f"{WRITERS} writers, {count:,} events each", columns, rows, tuple(found.faults))


def try_writers(server: DatabaseServer, count: int, generator: Generator) -> Outcome:
    """``count`` events of each writer against ``server``, with a kill, a cut and a stop at moments between."""
    address, found = server.new_database(), Outcome(WRITERS * count)
    benches = open_benches(address)
    for bow in range(_BOWS):
        make_bench(benches, f"b{bow}", {"from": "quick"}, System.INCH)
    benches.close()
    moments = np.sort(generator.uniform(0.1, 0.9, 3)) * WRITERS * count
    with TemporaryDirectory() as name:
        crew = _Crew(address, Path(name), count)
        began = time.monotonic()
        happenings: tuple[Callable[[], object], ...] = (
            crew.kill_one,
            partial(crew.cut, server),
            partial(_away, server),
        )
        for moment, happens in zip(moments, happenings, strict=True):
            crew.until(partial(crew.has_come_to, float(moment)))
            before = crew.answers()
            happens()
            found.faults += _missing(address, before)
        crew.until(crew.ended)
        found.seconds = time.monotonic() - began
        found.cut = crew.cuts
        for writer in range(WRITERS):
            for line in crew.log(writer):
                kind, _, said = line.partition(" ")
                if kind == "no":
                    found.refused[_plain(said)] += 1
                else:
                    found.waits.append(float(said))
        found.faults += crew.faults()
    _judge(address, count, found)
    return found


class _Crew:
    """The writers, each with a file in ``folder`` of what it was answered."""

    def __init__(self, address: str, folder: Path, count: int) -> None:
        self._address, self._folder, self._count = address, folder, count
        self._until = time.monotonic() + _PATIENCE
        self.cuts = 0
        self._processes = [self._start(writer) for writer in range(WRITERS)]

    def _start(self, writer: int) -> BaseProcess:
        given = (self._address, writer, self._count, self._folder / f"{writer}.log")
        process: BaseProcess = _CONTEXT.Process(target=_write, args=given, daemon=True)
        process.start()
        return process

    def log(self, writer: int) -> list[str]:
        """What this writer was answered, line by line; one that was being written when it was killed is no answer."""
        path = self._folder / f"{writer}.log"
        return path.read_text().split("\n")[:-1] if path.exists() else []

    def answers(self) -> set[str]:
        """The ids of all events that were acknowledged."""
        return {line.partition(" ")[0] for writer in range(WRITERS) for line in self.log(writer)} - {"no"}

    def has_come_to(self, count: float) -> bool:
        """Whether so many events were acknowledged."""
        return len(self.answers()) >= count

    def kill_one(self) -> None:
        """Kill the first writer that still writes, and start it again from its first event."""
        writer = next((n for n, one in enumerate(self._processes) if one.is_alive()), 0)
        self._processes[writer].kill()
        self._processes[writer].join()
        self._processes[writer] = self._start(writer)

    def cut(self, server: DatabaseServer) -> None:
        """Cut every connection, once there is one."""
        self.until(lambda: self._cut(server) or self.ended())

    def _cut(self, server: DatabaseServer) -> bool:
        cut = server.cut()
        self.cuts += cut
        return cut > 0

    def ended(self) -> bool:
        """Whether all have written everything."""
        return not any(one.is_alive() for one in self._processes)

    def faults(self) -> list[str]:
        """A sentence for each writer that broke off."""
        return [f"writer {n} ended with {one.exitcode}" for n, one in enumerate(self._processes) if one.exitcode]

    def until(self, happened: Callable[[], bool]) -> None:
        """Wait for it; RuntimeError when it does not happen in time."""
        while not happened():
            if time.monotonic() > self._until:
                for one in self._processes:
                    one.kill()
                raise RuntimeError("the writers did not come to their end in time")
            time.sleep(0.3)


def _write(address: str, writer: int, count: int, log: Path) -> None:
    """One writer: every event until it is acknowledged."""
    benches = None
    with log.open("a", buffering=1) as told:
        for number in range(count):
            began = time.monotonic()
            while True:
                try:
                    benches = benches or open_benches(address)
                    benches.add_event(f"b{(writer + number) % _BOWS}", _id(writer, number), _event(number))
                    break
                except StoreError as error:
                    told.write(f"no {str(error)!r}\n")
                    time.sleep(_WAIT)
            told.write(f"{_id(writer, number)} {time.monotonic() - began:.4f}\n")
    if benches is not None:
        benches.close()


def _id(writer: int, number: int) -> str:
    return f"w{writer}-{number:05d}"


def _event(number: int) -> dict[str, object]:
    return {"kind": "rest moved", "clicks": "left 1" if number % 8 < 4 else "right 1"}


def _away(server: DatabaseServer) -> None:
    server.stop("immediate")
    time.sleep(_AWAY)
    server.start()


def _stored(address: str) -> Iterator[Sequence[str]]:
    """The ids of the events of each bow, in order."""
    benches = open_benches(address)
    try:
        for bow in range(_BOWS):
            yield [one.id for one in benches.bench(f"b{bow}").entries]
    finally:
        benches.close()


def _missing(address: str, acknowledged: set[str]) -> list[str]:
    gone = acknowledged - {one for bow in _stored(address) for one in bow}
    return [f"{len(gone)} acknowledged events are not there, {min(gone)} among them"] if gone else []


def _judge(address: str, count: int, found: Outcome) -> None:
    wanted = {_id(writer, number) for writer in range(WRITERS) for number in range(count)}
    stored = Counter(one for bow in _stored(address) for one in bow)
    found.lost = len(wanted - set(stored))
    found.doubled = sum(stored.values()) - len(stored)
    for bow, ids in enumerate(_stored(address)):
        for writer in range(WRITERS):
            own = [one for one in ids if one.startswith(f"w{writer}-")]
            if own != sorted(own):
                found.faults.append(f"the events of writer {writer} on bow {bow} are not in their order")
    benches = open_benches(address)
    revisions = sum(row.revision - 1 for row in benches.rows())
    benches.close()
    if revisions != sum(stored.values()):
        found.faults.append(f"{revisions} changes were counted for {sum(stored.values())} events")
    if found.lost or found.doubled:
        found.faults.append(f"{found.lost} events were lost and {found.doubled} are there twice")


def _plain(said: str) -> str:
    """A refusal without the name of the socket, which is another one each time."""
    words = said.strip("'\"").partition("(")[0].strip()
    return f"{words.rstrip('.;')}" or "no words"
