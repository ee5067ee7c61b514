"""A whole logbook taken out into one file and brought into an empty one: how long it takes, whether all is there."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from pathlib import Path

from spinewright.logbook.store import Whole
from spinewright.workflow.benches import Benches, open_benches
from spinewright.workflow.benches.joining import export_file, export_text, import_file

__all__ = ["Exchanged", "exchanged", "missing"]


@dataclass(frozen=True, slots=True)
class Exchanged:
    """Size of the file [bytes], seconds out and in, what it held, and a sentence for each thing that differs."""

    size: int
    out: float
    back: float
    benches: int
    starts: int
    events: int
    taps: int
    differs: tuple[str, ...]


def exchanged(folder: Path, other: Path, file: Path) -> Exchanged:
    """The logbook in ``folder`` out into ``file`` and into the empty ``other``, and the two compared."""
    here, there = open_benches(folder), open_benches(other)
    try:
        began = time.perf_counter()
        export_file(here, file)
        out = time.perf_counter() - began
        began = time.perf_counter()
        import_file(there, file)
        back = time.perf_counter() - began
        mine = here.wholes()
        differs = [*missing(mine, there.wholes()), *_told_otherwise(here, there)]
        if export_text(there) != file.read_text(encoding="utf-8"):
            differs.append("what was brought in goes out as another file")
    finally:
        here.close()
        there.close()
    starts, events, taps = (sum(len(getattr(one, name)) for one in mine) for name in ("heads", "events", "taps"))
    return Exchanged(file.stat().st_size, out, back, len(mine), starts, events, taps, tuple(differs))


def missing(mine: tuple[Whole, ...], theirs: tuple[Whole, ...]) -> Iterator[str]:
    """Where two logbooks do not hold the same rows with the same moments, in the same order.

    A bench's revision, when it was used last, and that something was brought in are each logbook's own.
    """
    there = {one.row.id: one for one in theirs}
    if set(there) != {one.row.id for one in mine}:
        yield f"{len(mine)} benches went out and {len(there)} are there"
    for one in mine:
        other = there.get(one.row.id)
        if other is None:
            continue
        for name in ("id", "name", "named", "made", "invented"):
            if getattr(one.row, name) != getattr(other.row, name):
                yield f"{one.row.id}: its {name} is another one"
        for name in ("heads", "events", "taps", "variants"):
            if list(map(astuple, getattr(one, name))) != list(map(astuple, getattr(other, name))):
                yield f"{one.row.id}: its {name} are not the same"


def _told_otherwise(here: Benches, there: Benches) -> Iterator[str]:
    for row in here.rows():
        if here.bench(row.id).export != there.bench(row.id).export:
            yield f"{row.id}: its session file is another one"
