"""What the tests of the command line share: a folder of their own to run in, and a session that was shot."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Protocol

import pytest
from typer.testing import CliRunner

from spinewright.cli import app


class Outcome(Protocol):
    """What a run of the command line leaves."""

    exit_code: int
    exception: BaseException | None

    @property
    def stdout(self) -> str: ...

    @property
    def stderr(self) -> str: ...


Run = Callable[..., Outcome]

# invented; a right-hander whose bare shafts hit right, as an arrow too weak does ('common practice')
SHOTS = (
    "--distance", "20 yd", "--target", "fresh foam",
    "--fletched", "1: left 0.4 in, high 0.2 in", "--fletched", "2: right 0.3 in", "--fletched", "3: low 0.2 in",
    "--bare", "7: right 2.1 in, low 0.6 in; nock left 2 deg", "--bare", "8: right 1.7 in, low 0.2 in; nock left 1 deg",
    "--bare", "7: right 2.6 in, low 0.3 in",
)  # fmt: skip


@pytest.fixture(autouse=True)
def _own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("COLUMNS", "80")


@pytest.fixture
def run() -> Run:
    """Runs one command; an exception that is not an exit is raised."""
    runner = CliRunner()

    def invoke(*args: str, expect: int = 0) -> Outcome:
        result = runner.invoke(app, list(args))
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert result.exit_code == expect, result.output
        return result

    return invoke


@pytest.fixture(scope="session")
def shot_text(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The session file of :func:`shot`, written by the command line once."""
    path = tmp_path_factory.mktemp("shot") / "shed.toml"
    runner = CliRunner(env={"COLUMNS": "80"})
    for args in (
        ("new", str(path), "--example"),
        ("log", str(path), "bow-check", "--all-in-order"),
        ("log", str(path), "contact-check", "--all-clean"),
        ("log", str(path), "shots", *SHOTS),
    ):
        assert runner.invoke(app, args, catch_exceptions=False).exit_code == 0, args
    return path.read_text(encoding="utf-8")


@pytest.fixture
def shot(shot_text: str, tmp_path: Path) -> Path:
    """An invented session, checked and shot once."""
    path = tmp_path / "shed.toml"
    path.write_text(shot_text, encoding="utf-8")
    return path
