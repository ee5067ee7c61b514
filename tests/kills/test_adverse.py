"""Full disks, read-only folders, clocks that go back and several at once: one clear sentence each, and no damage."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from soak.adverse.part import run
from soak.adverse.refusing import fresh, on_full_disk, read_only
from soak.adverse.rooms import Disk, small_disk
from soak.adverse.said import unclear
from soak.adverse.together import one_file
from soak.kills.files import LogToFile, StartFile

from spinewright.errors import StoreError
from spinewright.logbook import safe_write

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


@pytest.mark.endurance
def test_every_circumstance_is_told_in_one_sentence_and_damages_nothing() -> None:
    found = run(2, np.random.default_rng(3))
    assert found.faults == ()
    refused = [int(row[4]) for row in found.rows]
    assert sum(number > 0 for number in refused) > 15
    assert all(int(row[2]) > 0 for row in found.rows)


def _begun(act: LogToFile | StartFile, tmp_path: Path) -> Path:
    begin = tmp_path / "begin"
    begin.mkdir()
    act.prepare(begin)
    fresh(begin, tmp_path / "warm")
    act.warm(tmp_path / "warm")
    return begin


def test_a_full_disk_and_a_folder_that_may_only_be_read_change_no_session_file(tmp_path: Path) -> None:
    act = LogToFile()
    begin = _begun(act, tmp_path)
    with small_disk(tmp_path) as disk:
        found = on_full_disk(act, begin, disk, 2, np.random.default_rng(1))
    assert found.faults == []
    assert found.outcomes["refused"] > 0
    for one in (tmp_path, *tmp_path.parents):
        if one.stat().st_uid == os.getuid() and not one.stat().st_mode & 0o055:
            one.chmod(one.stat().st_mode | 0o055)  # who may only read has to be able to come in
    found = read_only(act, begin, tmp_path / "act", 1)
    assert found.faults == []
    assert "nothing was changed" in found.said


def test_where_nothing_may_be_mounted_files_are_kept_short_instead(tmp_path: Path) -> None:
    act = StartFile()
    begin = _begun(act, tmp_path)
    (tmp_path / "disk").mkdir()
    found = on_full_disk(act, begin, Disk(tmp_path / "disk", real=False), 3, np.random.default_rng(2))
    assert found.faults == []
    assert found.outcomes["refused"] > 0


def test_three_who_log_to_one_session_file_lose_nothing(tmp_path: Path) -> None:
    found = one_file(_begun(LogToFile(), tmp_path), tmp_path / "act", 1)
    assert found.faults == []
    assert (found.outcomes["done"], found.sums["lost"]) == (3, 0)


def test_the_judge_finds_a_half_file_that_a_full_disk_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def plainly(path: Path, content: bytes) -> None:
        try:
            path.write_bytes(content)
        except OSError as error:
            raise StoreError(f"{path} could not be written ({error.strerror}).") from error

    act = StartFile()
    begin = _begun(act, tmp_path)
    monkeypatch.setattr(safe_write, "make", plainly)
    (tmp_path / "disk").mkdir()
    found = on_full_disk(act, begin, Disk(tmp_path / "disk", real=False), 2, np.random.default_rng(3))
    assert found.sums["half"] > 0


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("x could not be written (no room); nothing was changed.", ""),
        ("x could not be written (no room)", "no whole sentence"),
        ("x could not be\nwritten.", "more than one line"),
        ("OSError: [Errno 28] no room.", "it shows the inside of the program"),
        ("x " * 300 + ".", "too long to be read"),
    ],
)
def test_what_is_one_clear_sentence(said: str, why: str) -> None:
    assert unclear(said) == why
