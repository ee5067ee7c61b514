"""Two and three processes at the same time on one session file and on one logbook."""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from soak.adverse.refusing import fresh
from soak.adverse.said import Tries, said_by
from soak.kills.acts import Judged, broken_store, rows_of
from soak.kills.child import Child, Ended, Tell, Work
from soak.kills.files import StartFile, command
from soak.kills.page import asked, serving
from soak.kills.tables import BroughtUp

__all__ = ["one_file", "one_logbook", "one_opening", "one_start", "second_server"]

_EACH = 4


def at_once(works: Sequence[Work]) -> list[Ended]:
    """Every one of ``works`` in a child; all begin at the same moment."""
    wait, begin = os.pipe()

    def held(work: Work) -> Work:
        def inside(tell: Tell) -> None:
            os.close(begin)
            os.read(wait, 1)  # ends when nobody holds the other end any more
            work(tell)

        return inside

    children = [Child(held(work)) for work in works]
    os.close(wait)
    os.close(begin)
    return [child.ended() for child in children]


def one_file(begin: Path, folder: Path, tries: int) -> Tries:
    """Three processes log four events each to one session file."""
    from spinewright import logbook
    from spinewright.workflow import log_event

    found = Tries("several at once", "three processes that log to one session file")
    path = folder / "s.toml"

    def logs(name: str) -> Work:
        def work(tell: Tell) -> None:
            for number in range(_EACH):
                log_event(path, {"kind": "settings good", "id": f"{name}{number}"})
                tell(f"{name}{number}")

        return work

    for _ in range(tries):
        fresh(begin, folder)
        ended = at_once([logs(name) for name in "abc"])
        there = [event.id for event in logbook.read(path).events]
        _compare(found, ended, there, "abc")
        if len([*folder.iterdir()]) != 1:
            found.faults.append(f"{[one.name for one in folder.iterdir()]} was left")
    return found


def one_start(act: StartFile, begin: Path, folder: Path, tries: int) -> Tries:
    """Three processes start the same session file: one does, the others are refused."""
    found = Tries("several at once", "three processes that start the same session file")

    def work(tell: Tell) -> None:
        os.dup2(1, 2)
        sys.stderr = sys.stdout
        command(("new", str(folder / "s.toml"), "--example"))
        tell("new")

    for _ in range(tries):
        fresh(begin, folder)
        ended = at_once([work] * 3)
        won = [one for one in ended if one.told]
        for one in ended:
            if one not in won:
                found.refused(_first_line(one))
        found.outcomes["done"] += len(won)
        if len(won) != 1:
            found.faults.append(f"{len(won)} processes were told that they had started it")
        found.add(act.judge(folder, won[0] if won else ended[0]))
    return found


def _first_line(ended: Ended) -> str:
    return next((line for line in ended.printed.splitlines() if "there already" in line), ended.printed or ended.broke)


def one_logbook(begin: Path, folder: Path, tries: int) -> Tries:
    """Two processes that hold the same bench in memory write to one logbook."""
    from spinewright.units import System
    from spinewright.workflow.benches import open_benches
    from spinewright.workflow.benches.logging_events import log_to_bench

    found = Tries("several at once", "two processes that write to one logbook")

    def logs(name: str) -> Work:
        def work(tell: Tell) -> None:
            benches = open_benches(folder)
            for number in range(_EACH):
                log_to_bench(benches, "b1", f"{name}{number}", {"kind": "settings good"}, System.INCH)
                tell(f"{name}{number}")
            benches.close()

        return work

    for _ in range(tries):
        fresh(begin, folder)
        ended = at_once([logs(name) for name in "ab"])
        there = [str(row[2]) for row in rows_of(folder / "benches.sqlite", "events")]
        _compare(found, ended, there, "ab")
        found.sums["unsound"] += bool(broken_store(folder / "benches.sqlite"))
    return found


def _compare(found: Tries, ended: Sequence[Ended], there: Sequence[str], names: str) -> None:
    """Note what each process was told and what is there: all of it once, each one's own in order."""
    told = [one for each in ended for one in each.told]
    found.sums["lost"] += len(set(told) - set(there))
    for each in ended:
        if sentence := said_by(each):
            found.refused(sentence)
        else:
            found.outcomes["done"] += 1
    twice = [one for one, times in Counter(there).items() if times > 1]
    own = [[one for one in there if one.startswith(name)] for name in names]
    if twice or any(each != sorted(each) for each in own) or set(there) - set(told):
        found.faults.append(f"{there} is there after {told}")


def second_server(begin: Path, folder: Path, tries: int) -> Tries:
    """A second server over the folder of the first is refused, and the first goes on."""
    from spinewright.web.serving import serve

    found = Tries("several at once", "a second server on one logbook")

    def second(_tell: Tell) -> None:
        serve(folder, 0, share=False, told=lambda _address: None)

    for _ in range(tries):
        fresh(begin, folder)
        server, port = serving(folder)
        try:
            [ended] = at_once([second])
            found.refused(said_by(ended))
            status, _ = asked(port, "PUT", "/api/benches/b1/events/k1", {"event": {"kind": "settings good"}})
            if status != 200:
                found.faults.append(f"the first answered with {status} afterwards")
        finally:
            server.kill()
            server.ended()
        found.sums["unsound"] += bool(broken_store(folder / "benches.sqlite"))
    return found


def one_opening(act: BroughtUp, begin: Path, folder: Path, tries: int) -> Tries:
    """Two processes open one logbook of an earlier version, or none yet, at the same moment."""
    found = Tries("several at once", "two processes that open one logbook of an earlier version")
    for number in range(tries):
        fresh(begin, folder)
        act.choose(number, folder)
        ended = at_once([act.work(folder)] * 2)
        for one in ended:
            if sentence := said_by(one):
                found.refused(sentence)
            else:
                found.outcomes["done"] += 1
        won = next((one for one in ended if one.told), ended[0])
        wrong: Judged = act.judge(folder, won)
        if not won.told:
            wrong.faults.append(f"nobody could open it: {ended[0].broke}")
        found.add(wrong)
    return found
