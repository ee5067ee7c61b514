"""Errors on the command line: one sentence, an exit code by kind, an object with --json, and no fault swallowed."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from jsonschema_rs import Draft202012Validator
from typer.testing import CliRunner

from spinewright.cli import app
from spinewright.errors import SolveError
from spinewright.workflow import schema
from tests.cli.conftest import Run


def _error(text: str) -> dict[str, object]:
    found = json.loads(text)
    Draft202012Validator(schema("error")).validate(found)
    return dict(found)


def test_a_missing_file_exits_with_two(run: Run) -> None:
    for command in ("sheet", "next", "map"):
        said = run(command, "nowhere.toml", expect=2)
        assert said.stderr.splitlines()[-1].startswith("nowhere.toml: there is no such file; ")
        assert said.stdout == ""


def test_a_typing_error_in_the_file_names_line_and_key(run: Run, shot: Path) -> None:
    shot.write_text(shot.read_text().replace("let_off =", "letoff ="))
    line = next(i for i, text in enumerate(shot.read_text().splitlines(), 1) if text.startswith("letoff"))
    said = _error(run("sheet", str(shot), "--json", expect=2).stdout)
    assert (said["line"], said["field"], said["file"]) == (line, "bow.letoff", str(shot))
    assert "let_off" in str(said["right"])


def test_logging_into_a_file_that_is_wrong_already_names_its_line(run: Run, shot: Path) -> None:
    shot.write_text(shot.read_text().replace("let_off =", "letoff ="))
    said = _error(run("log", str(shot), "good", "--json", expect=2).stdout)
    assert said["line"] is not None
    assert said["field"] == "bow.letoff"


def test_a_file_that_is_there_is_never_overwritten(run: Run, shot: Path) -> None:
    before = shot.read_bytes()
    said = run("new", str(shot), expect=4)
    assert "is there already" in said.stderr
    assert shot.read_bytes() == before
    assert _error(run("new", str(shot), "--json", expect=4).stdout)["kind"] == "StoreError"


def test_a_computation_without_an_answer_exits_with_three(
    run: Run, shot: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gives_up(*_args: object, **_named: object) -> None:
        raise SolveError("the release of the arrow", "step 3", "try a stiffer shaft")

    monkeypatch.setattr("spinewright.workflow.next_move", gives_up)
    said = run("next", str(shot), expect=3)
    assert said.stderr.splitlines()[-1] == (
        "the release of the arrow could not be computed (step 3); try a stiffer shaft."
    )
    found = _error(run("next", str(shot), "--json", expect=3).stdout)
    assert found["right"] == "try a stiffer shaft"


def test_a_fault_of_the_program_is_said_and_shown(shot: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_args: object, **_named: object) -> None:
        raise ZeroDivisionError("a fault put in by this test")

    monkeypatch.setattr("spinewright.workflow.sheet", breaks)
    result = CliRunner().invoke(app, ["sheet", str(shot)])
    assert isinstance(result.exception, ZeroDivisionError)  # Python shows where, with exit code 1
    assert result.exit_code == 1
    assert "this is a fault of spinewright: ZeroDivisionError" in result.stderr
    found = _error(CliRunner().invoke(app, ["sheet", str(shot), "--json"]).stdout)
    assert found["kind"] == "Fault"


@pytest.mark.parametrize(
    "args",
    [["nosuch"], ["sheet"], ["sheet", "a.toml", "--colour"], ["log", "a.toml", "nosuch"], ["log", "a.toml", "tear"]],
)
def test_a_wrong_command_exits_with_two_and_says_so(args: list[str]) -> None:
    plain = CliRunner().invoke(app, args)
    assert plain.exit_code == 2
    assert "Error: " in plain.stderr
    asked = CliRunner().invoke(app, [*args, "--json"])
    assert asked.exit_code == 2
    assert _error(asked.stdout)["kind"] == "UseError"


def test_a_real_process_keeps_its_streams_apart(shot: Path) -> None:
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-m", "spinewright.cli", "log", str(shot), "undo", "e9"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert "Traceback" not in done.stderr
