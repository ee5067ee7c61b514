"""A campaign: the same however many work on it, taken up again after a stop, and a killed worker costs only time."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from benchmarks.virtual_range import campaign
from benchmarks.virtual_range.campaign import on_cores, read_records, run
from benchmarks.virtual_range.playing import Job, jobs_for, play, source_mark
from benchmarks.virtual_range.proof import write_proof
from benchmarks.virtual_range.summing import cover, mean_of, ratio_of, share_of
from benchmarks.virtual_range.world import WorldKind

from tests.range.cluster_trial import FEW, JOBS, MARK, dies_once

ROOT = Path(__file__).parents[2]
Record = dict[str, Any]


def silent(_done: int, _of: int) -> None:
    """Nobody listens."""


@pytest.fixture(scope="module")
def alone() -> list[Record]:
    return [{**play(job), "source": source_mark()} for job in JOBS]


def test_a_stopped_run_is_taken_up_again(tmp_path: Path, alone: list[Record]) -> None:
    results = tmp_path / "half.jsonl"
    results.write_text(json.dumps(alone[0]) + "\n" + json.dumps(alone[1])[:200], encoding="utf-8")
    played: list[str] = []

    def counting(jobs: Sequence[Job]) -> Iterator[Record]:
        played.extend(job.key for job in jobs)
        yield from on_cores(1)(jobs)

    assert run(JOBS, results, counting, silent) == alone
    assert played == [JOBS[1].key, JOBS[2].key]
    assert len(read_records(results)) == 3


def test_records_of_other_source_are_played_again(tmp_path: Path, alone: list[Record]) -> None:
    results = tmp_path / "old.jsonl"
    results.write_text(json.dumps({**alone[0], "source": "0123456789ab"}) + "\n", encoding="utf-8")
    assert read_records(results) == {}


def test_two_processes_give_what_one_gives_and_a_killed_one_costs_only_time(
    tmp_path: Path, alone: list[Record], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(MARK, str(tmp_path / "died"))
    monkeypatch.setattr(campaign, "play", dies_once)
    assert run(JOBS, tmp_path / "killed.jsonl", on_cores(2), silent) == alone
    assert (tmp_path / "died").exists()


@pytest.mark.slow
def test_a_cluster_of_two_workers_gives_the_same_and_a_killed_one_costs_only_time(
    tmp_path: Path, alone: list[Record]
) -> None:
    results, died = tmp_path / "cluster.json", tmp_path / "died"
    command = [sys.executable, "-m", "tests.range.cluster_trial", str(results), str(died)]
    subprocess.run(command, cwd=ROOT, check=True, timeout=400, capture_output=True)  # noqa: S603 - our own program
    found = json.loads(results.read_text(encoding="utf-8"))
    assert [{**r, "source": None} for r in found] == [{**r, "source": None} for r in alone]
    assert died.exists()


def test_jobs_hold_every_kind_in_stated_shares() -> None:
    jobs = jobs_for(120, 0, 10)
    counts = {kind: sum(job.kind is kind for job in jobs) for kind in WorldKind}
    assert counts == {kind: 40 if kind is WorldKind.OPEN else 16 for kind in WorldKind}
    assert len({job.key for job in jobs}) == 120
    assert sum(bool(job.parts) for job in jobs) == 10


def test_intervals_of_shares_and_means() -> None:
    # Published: Wilson's interval for 8 of 10, e.g. Agresti and Coull 1998: 0.490 to 0.943.
    eight = share_of([True] * 8 + [False] * 2)
    assert (eight.low, eight.high) == pytest.approx((0.490, 0.943), abs=1e-3)
    assert share_of([]).per_cent() == "none"
    ten = mean_of([float(k) for k in range(100)])
    # Computed: sd of the mean is 28.87 / 10.
    assert (ten.low, ten.high) == pytest.approx((49.5 - 1.96 * 2.887, 49.5 + 1.96 * 2.887), abs=0.6)
    assert ratio_of([2.0, 4.0], [4.0, 8.0]).value == pytest.approx(0.5)


def test_cover_counts_planes_by_stage() -> None:
    scores = [{"covers": [[0, 1, 1], [1, 1, 0]]}, {"covers": [[0, 0, 1], [5, 1, 1]]}]
    assert cover(scores, 0, "covers").value == pytest.approx(0.75)
    assert cover(scores, 1, "covers").value == pytest.approx(0.5)
    assert cover(scores, 2, "covers").value == pytest.approx(1.0)


def test_the_proof_is_written_from_the_records_alone(tmp_path: Path, alone: list[Record]) -> None:
    records = [*alone, {**play(Job(5010, WorldKind.OPEN, settings=FEW, most_steps=6)), "source": source_mark()}]
    page = tmp_path / "docs" / "proof.md"
    write_proof(records, page, "python -m benchmarks.virtual_range", (30, 50))
    text = page.read_text(encoding="utf-8")
    assert "## The goals" in text
    assert "World 5010" in text
    assert (tmp_path / "docs" / "pictures" / "range-gap-and-arrows.png").stat().st_size > 5000
    write_proof(records, page, "python -m benchmarks.virtual_range", (30, 50))
    assert page.read_text(encoding="utf-8") == text
