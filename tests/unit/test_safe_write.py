"""Files are written whole or not at all: started anew or drawn over, on disks that are full or fail at the last."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

import pytest

from spinewright.errors import StoreError
from spinewright.logbook import safe_write


def _fails(number: int, at: int = 1) -> object:
    """A system call that fails with ``number`` when it is asked for the ``at``-th time."""
    asked = 0

    def call(*_given: object) -> None:
        nonlocal asked
        asked += 1
        if asked >= at:
            raise OSError(number, os.strerror(number))

    return call


def test_a_new_file_on_a_full_disk_is_not_there_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", _fails(errno.ENOSPC))
    with pytest.raises(StoreError, match=r"No space left.*nothing was changed"):
        safe_write.make(tmp_path / "new.toml", b"text")
    assert os.listdir(tmp_path) == []


def test_a_new_file_never_takes_the_place_of_one_that_came_in_between(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "new.toml"
    monkeypatch.setattr(os, "fsync", lambda _descriptor: path.write_bytes(b"another's"))
    with pytest.raises(StoreError, match="there already"):
        safe_write.make(path, b"text")
    assert path.read_bytes() == b"another's"
    assert os.listdir(tmp_path) == ["new.toml"]


@pytest.mark.parametrize("number", [errno.EPERM, errno.ENOTSUP])
def test_a_new_file_where_files_have_one_name_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    path = tmp_path / "new.toml"
    monkeypatch.setattr(os, "link", _fails(number))
    safe_write.make(path, b"text")
    assert path.read_bytes() == b"text"
    with pytest.raises(StoreError, match="there already"):
        safe_write.make(path, b"other")
    assert os.listdir(tmp_path) == ["new.toml"]


@pytest.mark.parametrize("write", [safe_write.make, safe_write.put, safe_write.replace_content])
def test_a_disk_that_fails_after_the_file_has_its_name_is_not_told_as_nothing_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, write: object
) -> None:
    path = tmp_path / "x.toml"
    if write is not safe_write.make:
        path.write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", _fails(errno.EIO, at=2))
    with pytest.raises(StoreError, match="was written, but its disk did not confirm"):
        write(path, b"new")  # type: ignore[operator]
    assert path.read_bytes() == b"new"


def test_a_folder_that_cannot_be_synced_is_no_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", _fails(errno.EINVAL, at=2))
    safe_write.make(tmp_path / "x.toml", b"new")
    assert (tmp_path / "x.toml").read_bytes() == b"new"


def test_what_killed_writers_left_goes_when_it_is_old_enough_to_be_nobodys(tmp_path: Path) -> None:
    path = tmp_path / "a[1].png"
    old, young, other = (tmp_path / name for name in (".a[1].png.1.part", ".a[1].png.2.part", ".a1.png.3.part"))
    for one in (old, young, other):
        one.write_bytes(b"half")
    for one in (old, other):
        os.utime(one, (1.0e9, 1.0e9))
    safe_write.put(path, b"whole")
    assert sorted(os.listdir(tmp_path)) == sorted([young.name, other.name, path.name])


@pytest.mark.skipif(sys.platform == "win32", reason="locks are others there")
def test_one_who_never_ends_writing_is_not_waited_for_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(b"old")
    monkeypatch.setattr(safe_write, "_PATIENCE", 0.1)
    with (
        safe_write.exclusive(path),
        pytest.raises(StoreError, match=r"held by another program.*nothing was changed"),
        safe_write.exclusive(path),
    ):
        raise AssertionError("both were let in")
    with safe_write.exclusive(path) as real:
        safe_write.replace_content(real, b"new")
    assert path.read_bytes() == b"new"
