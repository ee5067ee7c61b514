"""What sheet, next, map and doctor say: order, words, width, pictures, and objects by their schemas."""

from __future__ import annotations

import json
import re
import struct
from pathlib import Path

import pytest
from jsonschema_rs import Draft202012Validator
from typer.testing import CliRunner

from spinewright.cli import app
from spinewright.workflow import schema
from tests.cli.conftest import SHOTS, Run
from tests.coarse_maps import coarse_maps

INNER_WORDS = re.compile(r"ensemble|hotelling|particle|posterior|prior\b|bayes|kernel|sigma", re.IGNORECASE)


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Every answer about one invented session with a move made and shot, as text and as an object."""
    folder = tmp_path_factory.mktemp("answers")
    file = str(folder / "shed.toml")
    runner = CliRunner(env={"XDG_CACHE_HOME": str(folder / "cache"), "COLUMNS": "80"})

    def out(*args: str) -> str:
        result = runner.invoke(app, list(args), catch_exceptions=False)
        assert result.exit_code == 0, result.output
        return result.stdout

    out("new", file, "--example")
    out("log", file, "bow-check", "--all-in-order")
    out("log", file, "contact-check", "--all-clean")
    out("log", file, "shots", *SHOTS)
    out("log", file, "rest", "--intended", "right 1/64 in")
    out("log", file, "shots", *(text.replace("right 2.", "right 1.") for text in SHOTS))
    found = {"doctor": out("doctor"), "doctor --json": out("doctor", "--json")}
    found["sheet"] = out("sheet", file, "--picture", str(folder / "sheet.png"))
    found["sheet --json"] = out("sheet", file, "--json")
    for extra in ((), ("--json",)):
        found[" ".join(("next", *extra))] = out("next", file, "--bows", "60", "--all", *extra)
    line = ("--face", "122 cm", "--distance", "50 yd", "--bows", "20")
    with coarse_maps():
        found["map"] = out("map", file, *line, "--picture", str(folder / "map.png"))
    found["folder"] = str(folder)
    return found


@pytest.mark.parametrize("name", ["doctor", "sheet", "next"])
def test_objects_keep_their_schema(answers: dict[str, str], name: str) -> None:
    Draft202012Validator(schema(name)).validate(json.loads(answers[f"{name} --json"]))


@pytest.mark.parametrize("name", ["sheet", "next", "map", "doctor"])
def test_text_fits_eighty_columns_and_uses_words_of_the_trade(answers: dict[str, str], name: str) -> None:
    paths = ("package:", "python:", "cache:", "Drawn:")
    lines = [line for line in answers[name].splitlines() if not line.strip().startswith(paths)]
    assert max(len(line) for line in lines) <= 80
    assert not INNER_WORDS.search("\n".join(lines))


def test_next_is_arranged_as_a_person_asks(answers: dict[str, str]) -> None:
    wanted = [
        "What was seen",
        "The last prediction",
        "What it most likely is",
        "Next move",
        "Cautions",
        "Other moves, best first",
        "Not now, and why",
    ]
    places = [answers["next"].index(f"{title}\n") for title in wanted]
    assert places == sorted(places)
    assert answers["next"].startswith("What was seen\n")


def test_next_says_the_same_in_text_and_as_object(answers: dict[str, str]) -> None:
    said = " ".join(answers["next"].split())
    found = json.loads(answers["next --json"])
    words = found["explanation"]
    for sentence in (words["observed"], words["checked"], *words["diagnosis"], words["move"], *words["why"]):
        assert " ".join(sentence.split()) in said
    assert found["move"]["words"] == words["move"]
    for refused in found["refused"]:
        assert " ".join(refused["reason"].split()) in said


def test_a_bare_shaft_is_never_advised_with_a_broadhead(answers: dict[str, str]) -> None:
    # safety: whatever is proposed with bare shafts carries the caution with it
    assert "never a broadhead on an unfletched shaft" in " ".join(answers["next"].split())


def test_map_keeps_the_two_things_apart(answers: dict[str, str]) -> None:
    text = answers["map"]
    assert text.index("Your own mistakes\n") < text.index("Heads and differences between arrows\n")


def test_sheet_tells_how_to_put_it_back(answers: dict[str, str]) -> None:
    assert "Back to the recorded start\n  - Rest: 0.016 in left." in answers["sheet"]


def test_sheet_holds_what_builds_the_arrow_again(run: Run, shot: Path) -> None:
    run("log", str(shot), "point", "--mass", "125 gr", "--when", "2026-05-03 10:15")
    run("log", str(shot), "rest", "--clicks", "left 3")
    run("log", str(shot), "bolts", "--both-bolts", "out 1", "--weighed", "59 lb")
    text = " ".join(run("sheet", str(shot)).stdout.split())
    for words in (
        "Right-handed with a release aid",
        "as of 2026-05-03 10:15",
        "by the current test (28 in, 880 g)",
        "gr/in",
        "point 125 gr field point, stands out 0.98 in",
        "rear edge",
        "centre shot at the start",
        "shortest safe length not marked yet",
        "Point changed: point 125 gr field point, stands out 0.98 in (before: 110 gr",
        "3 clicks left (of unknown size)",
        "both limb bolts, against the start 1 turn out",
        "rest, against its start not known",
        "Both limb bolts: 1 turn in; then weigh the bow.",
    ):
        assert words in text
    assert "thrust" not in text
    found = json.loads(run("sheet", str(shot), "--json").stdout)
    Draft202012Validator(schema("sheet")).validate(found)
    assert found["dated"] == "2026-05-03T10:15:00"
    assert "thrust_share" in {figure["name"] for figure in found["figures"]}


def test_pictures_are_drawn(answers: dict[str, str]) -> None:
    for name in ("sheet.png", "map.png"):
        content = (Path(answers["folder"]) / name).read_bytes()
        assert content.startswith(b"\x89PNG\r\n\x1a\n")
        wide, high = struct.unpack(">II", content[16:24])
        assert min(wide, high) > 300
    assert "Drawn: " in answers["sheet"]


def test_points_are_counted_on_the_face(answers: dict[str, str]) -> None:
    assert "points" in answers["map"].split("Heads and differences")[0]
