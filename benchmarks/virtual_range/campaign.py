"""A campaign: many worlds on all cores or a cluster, into a file that a stopped run takes up again."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import Any
from unittest.mock import patch

from benchmarks.virtual_range.playing import HAND, Job, join, play
from benchmarks.virtual_range.source_marks import hand_mark, source_mark

__all__ = ["on_cluster", "on_cores", "read_records", "run", "with_hand_rule"]

Record = dict[str, Any]
Runner = Callable[[Sequence[Job]], Iterator[Record]]
_MOST_BREAKS = 5


def run(jobs: Sequence[Job], results: Path, runner: Runner, told: Callable[[int, int], None]) -> list[Record]:
    """Play what is missing from ``results`` and give one record a world in the order of ``jobs``.

    Every player's hunt is one line, written whole as it comes; a line cut short by a kill is played again, and one of
    another source. ``told`` hears how many hunts of how many are done.
    """
    done = read_records(results)
    hunts = [part for job in jobs for part in job.split()]
    missing = [hunt for hunt in hunts if hunt.key not in done]
    marks = {hunt.key: _mark(hunt.by_hand) for hunt in missing}
    results.parent.mkdir(parents=True, exist_ok=True)
    told(len(hunts) - len(missing), len(hunts))
    _end_line(results)
    with results.open("a", encoding="utf-8") as file:
        for count, played in enumerate(runner(missing), 1):
            record = {**played, "source": marks[played["key"]]}
            file.write(json.dumps(record) + "\n")
            file.flush()
            done[record["key"]] = record
            told(len(hunts) - len(missing) + count, len(hunts))
    return [{**join([done[part.key] for part in job.split()]), "key": job.key} for job in jobs]


def with_hand_rule(records: Sequence[Record], jobs: Sequence[Job], results: Path) -> list[Record]:
    """The records with the hand rule's hunts in the same worlds, where ``results`` keeps them."""
    done = read_records(results)
    kept = [done.get(replace(job, players=(HAND,), parts=()).key) for job in jobs]
    return [r if k is None else {**join([k, r]), "key": r["key"]} for r, k in zip(records, kept, strict=True)]


def _mark(by_hand: bool) -> str:
    return hand_mark() if by_hand else source_mark()


def read_records(results: Path) -> dict[str, Record]:
    """The whole records of a file that came from the source as it is now, by key."""
    found: dict[str, Record] = {}
    if not results.exists():
        return found
    for line in results.read_text(encoding="utf-8").splitlines():
        try:
            record = json.loads(line)
        except json.JSONDecodeError:
            continue
        if record.get("source") == _mark(set(record["scores"]) == {HAND}):
            found[record["key"]] = record
    return found


def _end_line(results: Path) -> None:
    """Close a line that a kill cut short, so that the next record starts on its own."""
    if results.exists() and not results.read_bytes().endswith(b"\n") and results.stat().st_size:
        with results.open("a", encoding="utf-8") as file:
            file.write("\n")


#: A worker is one core's worth: its libraries start no threads of their own. They read this when they are loaded, so it
#: is handed down to it rather than set inside.
_ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS"), "1")


def on_cores(cores: int) -> Runner:
    """A runner over so many processes of this machine; a killed process costs only the time of what it played."""

    def runner(jobs: Sequence[Job]) -> Iterator[Record]:
        if cores == 1:
            yield from map(play, jobs)
            return
        left = {job.key: job for job in jobs}
        for _ in range(_MOST_BREAKS):
            try:
                for record in _pooled(list(left.values()), cores):
                    del left[record["key"]]
                    yield record
            except BrokenProcessPool:
                continue
            return
        raise BrokenProcessPool(f"the worker processes ended {_MOST_BREAKS} times; {len(left)} worlds were not played")

    return runner


def _pooled(jobs: Sequence[Job], cores: int) -> Iterator[Record]:
    context = get_context("spawn")
    with patch.dict(os.environ, _ONE_THREAD), ProcessPoolExecutor(cores, mp_context=context) as pool:
        for future in as_completed([pool.submit(play, job) for job in jobs]):
            yield future.result()


def on_cluster(address: str) -> Runner:
    """A runner over a Dask cluster's workers; they must have this checkout. A killed worker costs only time."""

    def runner(jobs: Sequence[Job]) -> Iterator[Record]:
        from distributed import Client
        from distributed import as_completed as completed

        with Client(address) as client:
            futures = [client.submit(play, job, pure=False, retries=3) for job in jobs]
            for future in completed(futures):
                yield future.result()

    return runner
