"""An answer that cannot be printed: one sentence that what was logged is kept; a reader who goes away is no failure."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from spinewright.cli.faults import say_error
from spinewright.cli.printing import say, say_json
from spinewright.errors import StoreError

FULL = Path("/dev/full")


@contextmanager
def _output(descriptor: int, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Standard output on ``descriptor``."""
    file = os.fdopen(descriptor, "w")
    monkeypatch.setattr(sys, "stdout", file)
    try:
        yield
    finally:
        monkeypatch.undo()
        with suppress(OSError):
            file.close()


@pytest.mark.skipif(not FULL.exists(), reason="needs a device that is always full")
def test_what_cannot_be_printed_is_told_with_what_is_kept(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with _output(os.open(FULL, os.O_WRONLY), monkeypatch):
        with pytest.raises(StoreError, match=r"could not be printed \(No space left.*is kept\.") as lines:
            say(["a line"])
        with pytest.raises(StoreError, match="is kept"):
            say_json({"a": 1})
        say_error(lines.value, as_json=True)  # the object cannot be printed either: the sentence goes to the other side
    assert capsys.readouterr().err.strip() == str(lines.value)


def test_a_reader_who_has_gone_away_is_no_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    with _output(writer, monkeypatch):
        say(["a line"])
        say(["and another, which nobody hears either"])
