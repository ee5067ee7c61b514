"""The list of all benches. What it says of each is kept in the store, so that nothing has to be read to say it again.

It holds for the revision of the bench that it was said of, and for the program that said it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

import spinewright
from spinewright.errors import SpinewrightError
from spinewright.logbook.store import BenchRow
from spinewright.units import System
from spinewright.workflow.benches.answers import answer_to, fingerprint
from spinewright.workflow.benches.bench_json import bench_json, next_json
from spinewright.workflow.benches.kept import Kept
from spinewright.workflow.benches.refusals import error_object
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.benches.view import view_of
from spinewright.workflow.showing import Json

__all__ = ["benches_json", "keep_said", "read_ahead"]

_IN_FULL = 12
"""Benches of which the list of all says more than the name: to say it, everything that was logged has to be read."""
_SAID = "list"


def benches_json(benches: Benches, system: System | None) -> Json:
    """All benches, last used first: the latest in full, the others by name; one that cannot be read says why."""
    rows = benches.rows()
    found: list[Json] = []
    for row in rows[:_IN_FULL]:
        try:
            found.append(_in_full(benches, row, system))
        except SpinewrightError as error:
            found.append({"id": row.id, "name": row.name, "trouble": error_object(error)["sentence"]})
    others = [
        {"id": row.id, "name": row.name, "invented": row.invented, "used": row.used[:10]} for row in rows[_IN_FULL:]
    ]
    return {"benches": found, "others": others, "demo": next((row.id for row in rows if row.invented), None)}


def read_ahead(benches: Benches) -> Iterator[str]:
    """Read the benches that the list of all tells of, one for each step, so that nobody has to wait for that.

    What is said of each is kept.
    """
    for row in benches.rows()[:_IN_FULL]:
        with suppress(SpinewrightError):  # the list itself says what is wrong
            _keep(benches, benches.bench(row.id))
        yield row.id


def keep_said(benches: Benches) -> None:
    """Keep what the list says of the benches that were used, for the next start."""
    with suppress(SpinewrightError):  # it can be said anew
        for row in benches.rows()[:_IN_FULL]:
            kept = benches.at_hand(row)
            if kept is not None:
                _keep(benches, kept)


def _in_full(benches: Benches, row: BenchRow, system: System | None) -> Json:
    kept = benches.at_hand(row)
    said = _said(benches, row) if kept is None else None
    if said is None:
        return bench_json(benches, view_of(benches.bench(row.id) if kept is None else kept, system))
    chosen = str(system or said["own"])
    found: dict[str, Any] = said["said"][chosen]
    answer = answer_to(benches, row.id, "next", found["events"], lambda: str(said["fingerprint"]))
    # a name, and an answer that was worked out, change no revision
    return {**found, "name": row.name, "invented": row.invented, "next": next_json(answer, chosen)}


def _said(benches: Benches, row: BenchRow) -> dict[str, Any] | None:
    """What was kept of the bench as it is now; None where there is nothing, or what an earlier program said."""
    known = benches.last_answer(row.id, _SAID)
    if known is None or known.revision != row.revision:
        return None
    found: dict[str, Any] = json.loads(known.body)
    return found if found["by"] == _program() else None


def _keep(benches: Benches, kept: Kept) -> None:
    if _said(benches, kept.row) is not None:
        return
    said = {str(system): bench_json(benches, view_of(kept, system)) for system in System}
    body = {"by": _program(), "fingerprint": fingerprint(kept), "own": str(kept.system), "said": said}
    benches.keep_answer(kept.row.id, _SAID, kept.row.revision, json.dumps(body))


@cache
def _program() -> str:
    """This program: its version and what its files look like; a changed one may say something else."""
    files = [path.stat() for path in sorted(Path(spinewright.__file__).parent.rglob("*.py"))]
    newest = max((one.st_mtime_ns for one in files), default=0)
    return f"{spinewright.__version__} {len(files)} {sum(one.st_size for one in files)} {newest}"
