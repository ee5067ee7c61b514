"""The progress bar, and the one word about a first run."""

from __future__ import annotations

import io
import time
from pathlib import Path

import pytest

from spinewright.cli import waiting as module
from spinewright.cli.waiting import waiting
from spinewright.workflow.solvers import prepared


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_first_run_says_so_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert not prepared()
    with waiting("Thinking"):
        pass
    assert "Preparing the solvers, once on this machine" in capsys.readouterr().err
    assert prepared()
    with waiting("Thinking"):
        pass
    assert capsys.readouterr().err == ""


def test_a_run_that_failed_does_not_count_as_prepared(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(KeyError), waiting("Thinking"):
        raise KeyError
    assert not prepared()
    capsys.readouterr()


def test_a_place_that_cannot_be_written_is_no_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    with waiting("Thinking"):
        pass
    assert not prepared()


def test_a_bar_shows_on_a_terminal_only_after_a_while(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    screen = _Terminal()
    monkeypatch.setattr("sys.stderr", screen)
    monkeypatch.setattr(module, "_FROM", 0.2)
    with waiting("Thinking it through") as progress:
        progress(0.1)
        assert "Thinking" not in screen.getvalue()
        until = time.monotonic() + 10.0
        while "Thinking" not in screen.getvalue() and time.monotonic() < until:
            time.sleep(0.02)
        progress(0.6)
    assert "Thinking it through" in screen.getvalue()


def test_no_bar_without_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = io.StringIO()
    monkeypatch.setattr("sys.stderr", screen)
    monkeypatch.setattr(module, "_FROM", 0.0)
    with waiting("Thinking it through") as progress:
        progress(0.5)
        time.sleep(0.1)
    assert "Thinking" not in screen.getvalue()
