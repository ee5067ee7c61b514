"""The first session runs from an empty start as it is told, every command in order, and shows the lines it promises."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.coarse_maps import coarse_maps
from typer.testing import CliRunner

from spinewright.cli import app

PAGE = Path(__file__).parents[2] / "docs" / "first-session.md"
BLOCK = re.compile(r"^```(console|toml)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks() -> list[tuple[str, str]]:
    return BLOCK.findall(PAGE.read_text(encoding="utf-8"))


def commands(text: str) -> Iterator[tuple[list[str], list[str]]]:
    """Each command of a console block with the lines that are promised after it."""
    for piece in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
        line, *shown = piece.splitlines()
        yield shlex.split(line), [one for one in shown if one.strip() != "..."]


def plain(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.slow
def test_the_first_session_runs_as_it_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("COLUMNS", "80")
    runner = CliRunner()
    ran = 0
    for language, text in blocks():
        if language == "toml":
            assert Path("my-bow.toml").is_file(), "the file is started before it is filled in"
            Path("my-bow.toml").write_text(text, encoding="utf-8")
            continue
        for words, shown in commands(text):
            assert words[0] == "spinewright"
            fewer = ("--bows", "20") if words[1] == "map" else ()  # a coarse map says the same lines
            with coarse_maps():
                result = runner.invoke(app, [*words[1:], *fewer])
            assert result.exit_code == 0, (words, result.output)
            printed, at = plain(result.stdout), 0
            for line in shown:
                at = printed.find(plain(line), at)
                assert at >= 0, f"'{line}' is not printed, or not in this order, by {' '.join(words)}:\n{result.stdout}"
            ran += 1
    assert ran > 15
    assert Path("my-sheet.png").is_file()
    assert Path("my-map.png").is_file()


def test_the_page_shows_what_a_person_sees_and_not_only_commands() -> None:
    consoles = [text for language, text in blocks() if language == "console"]
    promised = [shown for text in consoles for _, shown in commands(text)]
    assert sum(map(len, promised)) > 20
    assert [language for language, _ in blocks()].count("toml") == 1
