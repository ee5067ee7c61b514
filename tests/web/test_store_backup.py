"""The dated backup: on the disk before it has its name, nothing left of one that failed, and no clock undoes it."""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from spinewright.errors import StoreError
from spinewright.logbook.store import backup, open_store


def test_it_is_on_the_disk_before_it_has_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # SQLite documentation, VACUUM INTO: it "does not invoke fsync()" on what it has made
    open_store(tmp_path).close()
    order: list[str] = []
    sync, replace = os.fsync, os.replace

    def synced(descriptor: int) -> None:
        order.append("sync")
        sync(descriptor)

    def named(old: str | Path, new: str | Path) -> None:
        order.append("name")
        replace(old, new)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "replace", named)
    open_store(tmp_path).close()
    assert order == ["sync", "name", "sync"]


def test_nothing_is_left_of_one_that_failed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    open_store(tmp_path).close()

    def full(*_names: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(StoreError, match=r"No space left.*nothing was changed"):
        open_store(tmp_path)
    assert os.listdir(tmp_path / "backups") == []


def test_what_a_killed_one_left_long_ago_is_taken_away(tmp_path: Path) -> None:
    open_store(tmp_path).close()
    folder = tmp_path / "backups"
    folder.mkdir()
    old, young = folder / ".benches-2020-01-01.sqlite.7.part", folder / ".benches-2020-01-02.sqlite.8.part"
    for one in (old, young):
        one.write_bytes(b"half")
    os.utime(old, (1.0e9, 1.0e9))
    open_store(tmp_path).close()
    assert not old.exists()
    assert young.exists()


def test_a_clock_that_has_gone_back_does_not_throw_its_own_backup_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_store(tmp_path).close()
    folder = tmp_path / "backups"
    folder.mkdir()
    for day in range(1, 21):
        (folder / f"benches-2026-01-{day:02d}.sqlite").write_bytes(b"newer")

    class Back(datetime):
        @classmethod
        def now(cls, _zone: object = None) -> datetime:  # type: ignore[override]
            return datetime(1970, 1, 2, tzinfo=UTC)

    monkeypatch.setattr(backup, "datetime", Back)
    open_store(tmp_path).close()
    names = sorted(one.name for one in folder.iterdir())
    assert len(names) == 14
    assert names[0] == "benches-1970-01-02.sqlite"
    assert all(re.fullmatch(r"benches-2026-01-(0[89]|[12]\d)\.sqlite", name) for name in names[1:])
    with closing(sqlite3.connect(folder / names[0])) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
