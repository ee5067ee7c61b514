"""Nothing is lost, half-written or unsound when the program is killed at any moment of what it writes."""

from __future__ import annotations

import os
import time
from pathlib import Path

import numpy as np
import pytest
from soak.kills.files import LogToFile, StartFile
from soak.kills.part import ACTS, kill_often
from soak.kills.tables import BackedUp

from spinewright.logbook import safe_write
from spinewright.logbook.store import opening

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
KILLS = 20


@pytest.mark.endurance
@pytest.mark.parametrize("name", ACTS)
def test_twenty_kills_of_each_act_lose_nothing(name: str) -> None:
    found = kill_often(ACTS[name](), KILLS, np.random.default_rng(5))
    assert found.faults == []
    assert found.landed.total() == KILLS
    assert found.landed["inside"] > 0  # else the kills would prove nothing; how many is a matter of the machine


@pytest.mark.parametrize("act", [LogToFile, StartFile])
def test_a_few_kills_of_a_session_file_lose_nothing(act: type[LogToFile | StartFile]) -> None:
    found = kill_often(act(), 5, np.random.default_rng(6))
    assert found.faults == []
    assert found.landed.total() == 5


def test_the_judge_finds_a_file_that_is_written_in_place(monkeypatch: pytest.MonkeyPatch) -> None:
    def slowly(path: Path, content: bytes) -> None:
        with path.open("wb") as file:
            file.write(content[: len(content) // 2])
            file.flush()
            time.sleep(0.2)
            file.write(content[len(content) // 2 :])

    monkeypatch.setattr(safe_write, "make", slowly)
    found = kill_often(StartFile(), 4, np.random.default_rng(7))
    assert found.sums["half"] > 0
    assert any("half-written" in one for one in found.faults)


def test_the_judge_finds_an_event_that_was_told_before_it_was_written(monkeypatch: pytest.MonkeyPatch) -> None:
    def forgets(path: Path, content: bytes) -> None:
        if b"k1" not in content:
            path.write_bytes(content)

    monkeypatch.setattr(safe_write, "replace_content", forgets)
    found = kill_often(LogToFile(), 6, np.random.default_rng(8))
    assert found.sums["lost"] > 0
    assert any("are there after" in one for one in found.faults)


def test_the_judge_finds_a_backup_that_is_named_before_it_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    def halves(path: Path, folder: Path) -> None:
        folder.mkdir(exist_ok=True)
        (folder / "benches-2026-01-01.sqlite").write_bytes(path.read_bytes()[: path.stat().st_size // 2])

    monkeypatch.setattr(opening, "back_up", halves)
    found = kill_often(BackedUp(), 2, np.random.default_rng(9))
    assert found.faults
