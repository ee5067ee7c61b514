"""The part 'years': a logbook of ten years, how long each of its pages takes, and whether `next` minds its size."""

from __future__ import annotations

import os
import statistics
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from numpy.random import Generator

from soak.figures import Figures
from soak.served import served
from soak.ten_years import Bow, build, drawn_bows
from soak.years import LIST, Looked, look, thought
from soak.years_exchange import Exchanged, exchanged
from spinewright.logbook.places import STORE_NAME
from spinewright.workflow.benches.invented import invented_session
from spinewright.workflow.benches.tasks import run_task

__all__ = ["alone", "run"]

_SHOTS_OF_A_BOW = 1000
_ANSWERS = 12  # that were worked out for each bow in ten years
_LOOKED_AT = 60  # bows
_MOST = 0.200  # s that a page may take, nineteen times in twenty
_FIRST_LIST = 0.500  # s that the list may take after the start
_SLOWER = 1.15  # what the quickest of a few runs still varies by on a machine with two processors
_AGAIN = 4
_THOUGHT = 100  # plausible bows


def run(amount: float, rng: Generator) -> Figures:
    """The figures of a logbook of ``amount`` shots."""
    bows = drawn_bows(max(2, round(amount / _SHOTS_OF_A_BOW)), int(amount), rng)
    busiest = max(bows, key=lambda one: one.walks)
    usual = sorted(bows, key=lambda one: one.walks)[len(bows) // 2]
    with TemporaryDirectory() as folder:
        large, small = Path(folder) / "large", Path(folder) / "small"
        began = time.perf_counter()
        build(large, bows, rng, _answer(), _ANSWERS)
        built = time.perf_counter() - began
        size = (large / STORE_NAME).stat().st_size / 1e6
        alone(large, small, usual)
        some = [bows[int(n)] for n in rng.choice(len(bows), min(_LOOKED_AT, len(bows)), replace=False)]
        load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
        with served(large) as port, served(small) as beside:
            times = [
                (thought(port, usual.id, n), thought(beside, usual.id, n)) for n in range(_THOUGHT, _THOUGHT + _AGAIN)
            ]
        with served(large) as port:
            found = look(port, [*dict.fromkeys([*some, busiest])], rng)
        brought = exchanged(large, Path(folder) / "brought", Path(folder) / "all.json")
    ratio = min(a for a, _ in times[1:]) / min(b for _, b in times[1:])
    about = _about(busiest, usual, f"{built:.0f} s, {size:.0f} MB", load)
    rows = [(name, str(len(one)), *_milliseconds(one)) for name, one in found.times.items()]
    for name, which in (("`next` on this logbook", 0), ("`next` of the same bow in a logbook of its own", 1)):
        own = [one[which] for one in times[1:]]
        rows.append((name, str(len(own)), f"{1000 * statistics.median(own):.0f}", "", f"{1000 * max(own):.0f}"))
    rows.append(("`next` here over there, the quickest of each", "", f"{ratio:.2f} times", "", ""))
    rows += _brought(brought)
    shots = sum(bow.shots for bow in bows)
    columns = ("page", "how often", "p50, ms", "p95, ms", "worst, ms")
    return Figures(
        about,
        f"{len(bows)} bows, {shots:,} shots",
        columns,
        tuple(rows),
        (*_faults(found, ratio), *brought.differs[:20]),
    )


def alone(large: Path, small: Path, bow: Bow) -> None:
    """A logbook at ``small`` with nothing but ``bow`` as it is in ``large``, taken over as its session file."""
    from spinewright.workflow.benches import open_benches

    benches, one = open_benches(large), open_benches(small)
    try:
        kept = benches.bench(bow.id)
        one.make(bow.id, kept.text, bow.name, invented=True)
    finally:
        one.close()
        benches.close()


def _about(busiest: Bow, usual: Bow, built: str, load: float) -> str:
    return (
        f"An invented logbook of ten years ({built}): benches through the store's own function, each from the text of "
        "its events (walks of six arrows, and in between tears, moves, checks, a string, undos); three in four with "
        "their taps besides, inserted in bulk as the rows that tapping leaves, which a test compares with tapping; and "
        f"{_ANSWERS} answers to `next` each, all copies of one that was worked out. The busiest bow has "
        f"{busiest.shots:,} shots. A server process is asked over HTTP on this machine for every page of some bows in "
        "random order, so that a bow is read from the disk for the first of its pages. "
        f"`next` of {_THOUGHT} plausible bows is asked of a usual bow ({usual.shots} shots) in turns with a server "
        "whose logbook holds that bow alone, after one turn that does not count; the server that is asked for pages "
        "afterwards finds what that one kept of the list. At the end the whole logbook goes out into one file and into "
        "an empty logbook, and every recorded start, event and tap is compared with its moment, and every session "
        "file; devices and answers that can be worked out again are not taken along. Wrong is every answer but 200, 95 "
        f"% of a page's loads not within {1000 * _MOST:.0f} ms (the list after the start {1000 * _FIRST_LIST:.0f}), "
        f"a `next` more than {_SLOWER:g} times as slow, and anything that is not the same in the other logbook. The "
        f"load average of the machine was {load:.1f} before."
    )


def _brought(found: Exchanged) -> list[tuple[str, str, str, str, str]]:
    held = f"{found.benches} benches, {found.starts} recorded starts, {found.events:,} events, {found.taps:,} taps"
    return [
        (f"the whole logbook out into one file ({found.size / 1e6:.0f} MB)", "1", f"{1000 * found.out:.0f}", "", ""),
        (f"and into an empty logbook ({held})", "1", f"{1000 * found.back:.0f}", "", ""),
        ("what differs there", str(len(found.differs)), "", "", ""),
    ]


def _answer() -> dict[str, Any]:
    """One answer to 'next', as the working process makes it."""
    return dict(run_task("next", invented_session(), {"bows": 50}, lambda _share: None))


def _milliseconds(found: list[float]) -> tuple[str, str, str]:
    p50, p95 = np.quantile(found, (0.5, 0.95))
    return f"{1000 * p50:.0f}", f"{1000 * p95:.0f}", f"{1000 * max(found):.0f}"


def _faults(found: Looked, ratio: float) -> list[str]:
    slow = {name: float(np.quantile(one, 0.95)) for name, one in found.times.items()}
    most = {LIST: _FIRST_LIST}
    late = [f"{name}: 95 % within {1000 * one:.0f} ms" for name, one in slow.items() if one > most.get(name, _MOST)]
    far = [f"`next` takes {ratio:.2f} times as long as in a small logbook"] if ratio > _SLOWER else []
    return [*found.errors[:20], *late, *far]
