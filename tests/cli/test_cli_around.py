"""The tasks around the tune on the command line: laid out to fit, drawn, printed, kept, and refused in one sentence."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from spinewright.cli.around import account_lines
from spinewright.workflow.around.account import Account, Plot, Series, Table
from spinewright.workflow.around.papers import Paper, words
from tests.cli.conftest import Run

LONG = "as many words as one would rather not see in a cell of a table at all"


@pytest.mark.parametrize("columns", [2, 3, 9])
def test_tables_are_no_wider_than_the_screen(columns: int) -> None:
    names = tuple(f"column {k}" for k in range(columns))
    table = Table("A table", names, tuple((f"row {k}", *(LONG,) * (columns - 1)) for k in range(4)), "A note.")
    account = Account("try", "A task", "Yes.", ("More.",), (table,), cautions=("Mind this.",), rests_on=("Guesses.",))
    lines = account_lines(account.to_json())
    assert max(len(line) for line in lines) <= 79
    told = " ".join(" ".join(lines).split())
    for part in ("A task", "Yes.", "Mind this.", "row 3", "A note.", "More.", "Guesses."):
        assert part in told
    assert told.index("Mind this.") < told.index("A table")  # cautions come first


def test_answers_given_once_are_kept_and_stand(run: Run) -> None:
    run("new", "shed.toml", "--example")
    limit = "arrow mass at least 9000 gr, 2026-03-01, a round of our own"
    said = run("limits", "shed.toml", "--limit", limit, "--keep").stdout
    assert "Broken: arrow mass." in said
    assert "Kept in shed.toml." in said
    again = json.loads(run("limits", "shed.toml", "--json").stdout)
    assert again["answer"].startswith("Broken: arrow mass.")
    assert 'to = "limits"' in Path("shed.toml").read_text(encoding="utf-8")


def test_what_cannot_be_used_is_refused_and_nothing_kept(run: Run) -> None:
    run("new", "shed.toml", "--example")
    before = Path("shed.toml").read_bytes()
    assert "is not a limit with the day" in run("limits", "shed.toml", "--limit", "x", "--keep", expect=2).stderr
    assert "nothing to draw" in run("limits", "shed.toml", "--plot", "x.png", expect=2).stderr
    assert "nothing to print" in run("limits", "shed.toml", "--pdf", "x.pdf", expect=2).stderr
    assert Path("shed.toml").read_bytes() == before


def test_a_wrong_value_in_one_of_two_lists_names_the_file(run: Run) -> None:
    run("new", "shed.toml", "--example")
    Path("mine.csv").write_text(
        "name,spine,weight,outer diameter,inner diameter,length\na,350,heavy,0.3 in,0.2 in,32 in\n"
    )
    Path("heads.csv").write_text("mass,kind\n100 gr,sharp\n")
    lists = ("--shafts", "mine.csv", "--points", "heads.csv")
    shafts = run("builds", "shed.toml", *lists, expect=2).stderr
    assert shafts.splitlines()[-1].startswith("mine.csv, line 2, weight: 'heavy' ")
    found = json.loads(run("builds", "shed.toml", "--points", "heads.csv", "--json", expect=2).stdout)
    assert (found["file"], found["line"], found["field"]) == ("heads.csv", 2, "kind")
    assert (
        found["sentence"]
        == "heads.csv, line 2, kind: 'sharp' is not a kind of head; known are field, fixed, mechanical."
    )


def test_what_can_be_drawn_and_printed_is_told() -> None:
    plot = Plot("p", "x", "y", (Series("s", (1, 2), (1, 2)),), "It grows.")
    account = Account("try", "A task", "Yes.", plots=(plot,), papers=(Paper("s", "The sheet", (words("x"),)),))
    assert "  To print with --pdf: The sheet." in account_lines(account.to_json())
