"""Clocks that go back: events dated earlier than those before them, and a machine whose clock is set back."""

from __future__ import annotations

import sys
from datetime import date, datetime, timedelta, tzinfo
from pathlib import Path

from numpy.random import Generator

from soak.adverse.refusing import fresh
from soak.adverse.said import Tries
from soak.kills.acts import Judged, broken_store, rows_of
from soak.kills.child import Tell, undisturbed

__all__ = ["dated_earlier", "machine_set_back", "sent_earlier"]

_EVENTS = 6
_FIRST = date(2026, 5, 3)


def _days(rng: Generator) -> list[str]:
    return [str(_FIRST + timedelta(days=int(one))) for one in rng.integers(-9, 9, _EVENTS)]


def dated_earlier(begin: Path, folder: Path, tries: int, rng: Generator) -> Tries:
    """Events of random days logged to a session file: an earlier one is refused, the others stand in order."""
    from spinewright import logbook
    from spinewright.errors import SpinewrightError
    from spinewright.workflow import log_event

    found = Tries("clock goes back", "events of random days logged to a session file")
    path = folder / "s.toml"
    for _ in range(tries):
        fresh(begin, folder)
        kept: list[str] = []
        for day in _days(rng):
            before = path.read_bytes()
            try:
                log_event(path, {"kind": "settings good", "when": date.fromisoformat(day)})
                found.outcomes["done"] += 1
                kept.append(day)
            except SpinewrightError as error:
                found.refused(str(error))
                found.sums["half"] += path.read_bytes() != before
        there = [str(event.when) for event in logbook.read(path).events]
        if there != kept or there != sorted(there):
            found.faults.append(f"{there} stands there after {kept} were logged")
    return found


def sent_earlier(folder: Path, tries: int, rng: Generator) -> Tries:
    """Events of random days sent to the page: all are taken in the order they came, none before the one before it."""
    from spinewright.units import System
    from spinewright.workflow.benches import served_benches
    from spinewright.workflow.benches.logging_events import log_to_bench
    from spinewright.workflow.benches.starting import make_bench

    found = Tries("clock goes back", "events of random days sent to the page")
    for number in range(tries):
        with served_benches(folder / f"clock{number}") as benches:
            make_bench(benches, "b1", {"from": "quick"}, System.INCH)
            for at, day in enumerate(_days(rng)):
                log_to_bench(benches, "b1", f"k{at}", {"kind": "settings good", "when": day}, System.INCH)
                found.outcomes["done"] += 1
            events = benches.bench("b1").bench.session.events
        moments = [str(event.when) for event in events]
        if [event.id for event in events] != [f"k{at}" for at in range(_EVENTS)] or moments != sorted(moments):
            found.faults.append(f"{[(event.id, str(event.when)) for event in events]} stands there")
    return found


class _Back(datetime):
    """A clock that goes back by a day each time it is asked."""

    _asked = 0

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> _Back:
        """Earlier than the last time."""
        cls._asked += 1
        moment = datetime(2026, 5, 3, 12, tzinfo=tz) - timedelta(days=cls._asked)
        return cls.fromisoformat(moment.isoformat())


def machine_set_back(folder: Path, tries: int) -> Tries:
    """The logbook on a machine whose clock goes back by a day each time it is asked: order and all rows are kept."""
    found = Tries("clock goes back", "the logbook while the machine's own clock goes back")
    for number in range(tries):
        store = folder / f"back{number}"

        def work(tell: Tell, store: Path = store) -> None:
            for name, module in list(sys.modules.items()):
                if name.startswith("spinewright.") and getattr(module, "datetime", None) is datetime:
                    module.datetime = _Back  # type: ignore[attr-defined]
            _log_twice(store, tell)

        ended = undisturbed(work)
        found.outcomes["done"] += not ended.broke
        there = [str(row[2]) for row in rows_of(store / "benches.sqlite", "events")]
        wrong = Judged(len(ended.told), unsound=int(bool(broken_store(store / "benches.sqlite"))))
        wrong.lost = len(set(ended.told) - set(there))
        if ended.broke or there != list(ended.told):
            wrong.faults.append(f"{there} is there after {ended.told}: {ended.broke}")
        if not [*(store / "backups").glob("benches-*.sqlite")]:
            wrong.faults.append("no backup was made")
        found.add(wrong)
    return found


def _log_twice(store: Path, tell: Tell) -> None:
    """Log to a bench, let go of the store and open it again, as on the next day, and log on."""
    from spinewright.units import System
    from spinewright.workflow.benches import served_benches
    from spinewright.workflow.benches.logging_events import log_to_bench
    from spinewright.workflow.benches.starting import make_bench

    for part in range(2):
        with served_benches(store) as benches:
            make_bench(benches, "b1", {"from": "quick"}, System.INCH)
            for number in range(3 * part, 3 * part + 3):
                log_to_bench(benches, "b1", f"k{number}", {"kind": "settings good"}, System.INCH)
                tell(f"k{number}")
