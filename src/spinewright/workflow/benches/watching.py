"""Looks now and then whether another bench saved something to the same store, and tells the pages that are open."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Protocol

from spinewright.errors import StoreError
from spinewright.logbook.store import BenchRow

__all__ = ["LOOK", "watched"]

LOOK = 1.0
"""Seconds between two looks."""


class _Watched(Protocol):
    def rows(self) -> tuple[BenchRow, ...]: ...

    def listen(self, listener: Callable[[str, int, str, str], None]) -> None: ...

    def tell(self, bench: str, revision: int, what: str, changed: str) -> None: ...


@contextmanager
def watched(benches: _Watched) -> Iterator[None]:
    """Tell those who listen to ``benches`` of what others saved, for as long as this lasts."""
    told: dict[str, int] = {}
    over = threading.Event()
    benches.listen(lambda bench, revision, _what, _id: told.update({bench: max(revision, told.get(bench, 0))}))

    def look() -> None:
        known = _named(benches)
        while not over.wait(LOOK):
            for bench, (revision, name) in _named(benches).items():
                before = known.get(bench)
                if before is None or before[0] < revision > told.get(bench, 0):
                    benches.tell(bench, revision, "event", bench)
                elif before[1] != name:
                    benches.tell(bench, revision, "name", bench)
                known = {**known, bench: (revision, name)}

    watching = threading.Thread(target=look, name="watching", daemon=True)
    watching.start()
    try:
        yield
    finally:
        over.set()
        watching.join()


def _named(benches: _Watched) -> Mapping[str, tuple[int, str]]:
    """Revision and name of every bench; {} while the server is away."""
    try:
        return {row.id: (row.revision, row.name) for row in benches.rows()}
    except StoreError:
        return {}
