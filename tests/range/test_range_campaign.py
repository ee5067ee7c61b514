"""A campaign: the same however many work on it, taken up again after a stop, and a killed worker costs only time."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from benchmarks.virtual_range import campaign
from benchmarks.virtual_range.__main__ import main
from benchmarks.virtual_range.bolts_back import short_with_bolts_back
from benchmarks.virtual_range.campaign import on_cores, read_records, run, with_hand_rule
from benchmarks.virtual_range.playing import ADVISER, HAND, Job, jobs_for, play
from benchmarks.virtual_range.proof import write_proof
from benchmarks.virtual_range.summing import cover, mean_of, ratio_of, share_of
from benchmarks.virtual_range.tables import left_open_table, reachable_words
from benchmarks.virtual_range.world import WorldKind, draw_world

from tests.range.cluster_trial import FEW, JOBS, MARK, dies_once

pytestmark = pytest.mark.endurance

ROOT = Path(__file__).parents[2]
Record = dict[str, Any]


def silent(_done: int, _of: int) -> None:
    """Nobody listens."""


#: Two jobs that do not look for the best there is, which takes as long as their hunts.
QUICK = JOBS[1:]


@pytest.fixture(scope="module")
def quick() -> list[Record]:
    """The quick jobs in this process, both players at once; where it came from is said by the campaign alone."""
    return [play(job) for job in QUICK]


@pytest.fixture(scope="module")
def alone(quick: list[Record]) -> list[Record]:
    """Every job in this process."""
    return [play(JOBS[0]), *quick]


def told(records: Sequence[Record]) -> list[Record]:
    return [{k: v for k, v in record.items() if k != "source"} for record in records]


def test_a_stopped_run_is_taken_up_again(tmp_path: Path, quick: list[Record]) -> None:
    results = tmp_path / "half.jsonl"
    whole = run(QUICK[:1], results, on_cores(1), silent)
    text = results.read_text(encoding="utf-8")
    results.write_text(text + text.splitlines()[1][:200], encoding="utf-8")
    played: list[str] = []

    def counting(jobs: Sequence[Job]) -> Iterator[Record]:
        played.extend(job.key for job in jobs)
        yield from on_cores(1)(jobs)

    assert told(run(QUICK, results, counting, silent)) == told([*whole, quick[1]])
    assert played == [hunt.key for hunt in QUICK[1].split()]
    assert len(read_records(results)) == 4


def test_records_of_other_source_are_played_again_and_the_hand_rules_outlive_the_product(tmp_path: Path) -> None:
    results, job = tmp_path / "old.jsonl", replace(JOBS[0], most_steps=2, best=False)
    with patch("benchmarks.virtual_range.campaign.source_mark", lambda: "0123456789ab"):
        record = run([job], results, on_cores(1), silent)
    assert list(read_records(results)) == [replace(job, players=(HAND,)).key]
    with patch("benchmarks.virtual_range.campaign.hand_mark", lambda: "0123456789ab"):
        assert read_records(results) == {}
    alone = replace(job, players=(ADVISER,))
    assert told(with_hand_rule(run([alone], results, on_cores(1), silent), [alone], results)) == [
        {**told(record)[0], "key": alone.key}
    ]


def test_two_processes_give_what_one_gives_and_a_killed_one_costs_only_time(
    tmp_path: Path, alone: list[Record], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(MARK, str(tmp_path / "died"))
    monkeypatch.setattr(campaign, "play", dies_once)
    assert told(run(JOBS, tmp_path / "killed.jsonl", on_cores(2), silent)) == alone
    assert (tmp_path / "died").exists()


def test_a_cluster_of_two_workers_gives_the_same_and_a_killed_one_costs_only_time(
    tmp_path: Path, alone: list[Record]
) -> None:
    results, died = tmp_path / "cluster.json", tmp_path / "died"
    command = [sys.executable, "-m", "tests.range.cluster_trial", str(results), str(died)]
    subprocess.run(command, cwd=ROOT, check=True, timeout=400, capture_output=True)  # noqa: S603 - our own program
    found = json.loads(results.read_text(encoding="utf-8"))
    assert told(found) == alone
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
    assert ratio_of([1.0, 1.0], [0.0, 2.0]).shown(1) == "1.0 (0.5 to no limit)"


def test_cover_counts_planes_by_stage() -> None:
    scores = [{"covers": [[0, 1, 1], [1, 1, 0]]}, {"covers": [[0, 0, 1], [5, 1, 1]]}]
    assert cover(scores, 0, "covers").value == pytest.approx(0.75)
    assert cover(scores, 1, "covers").value == pytest.approx(0.5)
    assert cover(scores, 2, "covers").value == pytest.approx(1.0)


def test_every_world_over_an_inch_is_counted_under_the_first_line_that_fits() -> None:
    def record(gap: float, said: str, best: float | None = 0.4, **setup: float) -> Record:
        score = {"gap": gap, "said": said, "steps": [{"setup": setup, "within": 0.5}]}
        return {"kind": "OPEN", "best_gap": best, "scores": {ADVISER: score}}

    records = [
        record(0.9, "tuned"),
        record(1.2, "tuned"),
        record(1.4, "tuned", None),
        record(3.0, "tuned", 1.1),
        record(2.0, "no better", rest_y=-0.11),
        record(2.0, "out of reach", rest_y=0.02, nock_z=0.03),
        record(2.0, "archer", rest_y=0.12),
        {**record(4.0, "archer"), "kind": "WIDE"},
    ]
    counts = [line.split("|")[2].strip() for line in left_open_table(records).splitlines()[2:]]
    assert counts == ["1", "2", "1", "1", "1"]


def test_what_could_be_done_at_all_is_what_the_adviser_is_held_against() -> None:
    ends = [(0.8, 0.3), (1.2, 0.4), (1.4, 1.2), (2.0, 3.0)]  # left by the adviser, and best there is
    records = [{"kind": "OPEN", "best_gap": best, "scores": {ADVISER: {"gap": gap}}} for gap, best in ends]
    assert reachable_words(records).endswith("the adviser did it in 50 % (9 to 91) and 100 % (44 to 100).")


def test_a_bow_turned_down_is_no_short_arrow() -> None:
    # computed: of a strong bow turned down by two turns the same shaft reads stiffer; back in, only a cut one does
    def ended(**setup: float) -> Record:
        return {"seed": 5010, "kind": "OPEN", "hand": "RIGHT", "scores": {ADVISER: {"steps": [{"setup": setup}]}}}

    world = draw_world(5010, WorldKind.OPEN)
    start = world.start
    down = replace(start, bolt_turns=start.bolt_turns - 2.0, bolts_since_weighed=start.bolts_since_weighed - 2.0)
    assert world.too_stiff(down)[0] > world.too_stiff(start)[0]
    assert not short_with_bolts_back(ended(bolts=-2.0, rest_y=0.05), ADVISER)
    assert short_with_bolts_back(ended(cut=2.0, bolts=-2.0), ADVISER)


def test_the_proof_is_written_from_the_records_alone(tmp_path: Path, quick: list[Record]) -> None:
    telling = play(Job(5010, WorldKind.OPEN, settings=FEW, most_steps=4, best=False))
    records = [*quick, {**telling, "best_gap": 0.4, "best_heads": 0.3, "best_mistakes": 0.2}]
    page = tmp_path / "docs" / "proof.md"
    write_proof(records, page, "python -m benchmarks.virtual_range", (30, 50))
    text = page.read_text(encoding="utf-8")
    assert "## The goals" in text
    assert "### Where the gap stays open" in text
    assert "World 5010" in text
    assert (tmp_path / "docs" / "pictures" / "range-gap-and-arrows.png").stat().st_size > 5000
    write_proof(records, page, "python -m benchmarks.virtual_range", (30, 50))
    assert page.read_text(encoding="utf-8") == text


def test_the_command_plays_one_player_and_shows_the_others_kept_hunts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    few = [
        "--worlds",
        "1",
        "--first-seed",
        "5020",
        "--jobs",
        "1",
        "--bows",
        "20",
        "--particles",
        "30",
        "--ablated",
        "0",
    ]
    few += ["--results", str(tmp_path / "few.jsonl"), "--page", str(tmp_path / "proof.md")]
    assert main([*few, "--players", "hand"]) == 1  # a page needs both
    assert HAND in capsys.readouterr().out
    assert main([*few, "--players", "adviser"]) == 0
    shown = capsys.readouterr().out
    assert [line.split("|")[0].split("  ")[0] for line in shown.splitlines()[:2]] == ["all telling", "all telling"]
    assert HAND in shown
    assert ADVISER in shown
    assert (tmp_path / "proof.md").exists()
