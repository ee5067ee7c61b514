"""Logging from the command line: every kind of entry, what is said back, and that nothing is lost."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from spinewright.cli import app
from spinewright.cli.log_options import LOG_KINDS, Takes
from spinewright.logbook import EVENTS, append, read, replay
from spinewright.workflow.read_back import understood
from tests.cli.conftest import Run

# keys of an event that are said through options of another name
OTHERWISE = {
    "bow check": {"everything", "good", "wrong"},
    "contact check": {"everything", "good", "wrong"},
    "shots": {"fletched", "bare", "bad", "askew"},
    "proof group": {"fletched", "bare", "bad", "askew"},
    "tear": {"bare"},
    "nock series": {"bare"},
    "chronograph": {"bare"},
    "cut": {"sure"},
}


def test_every_kind_of_event_has_its_command() -> None:
    # answers are kept by the tasks around the tune themselves, with --keep
    assert sorted([*(kind.event for kind in LOG_KINDS), "answers"]) == sorted(EVENTS)


def test_every_key_of_every_event_can_be_said() -> None:
    said_together = {"state", "hits", "square"}
    for kind in LOG_KINDS:
        options = {option.key for option in kind.options}
        keys = {key.name for key in EVENTS[kind.event]}
        if kind.event in ("bow check", "contact check"):
            keys = {"weighed"} & keys
        if kind.event == "shaft changed":
            shaft = next(key for key in EVENTS[kind.event] if key.name == "shaft")
            keys = keys - {"shaft"} | {key.name for key in shaft.keys}
        assert keys - said_together <= options, kind.command
        assert options - keys <= OTHERWISE.get(kind.event, set()), kind.command


def test_what_is_needed_in_the_file_is_needed_on_the_command_line() -> None:
    for kind in LOG_KINDS:
        needed = {option.key for option in kind.options if option.needed or option.takes is Takes.YES}
        for key in EVENTS[kind.event]:
            if key.needed and key.name not in ("state", "hits"):
                assert key.name in needed, (kind.command, key.name)


def test_shots_are_read_back_one_by_one(run: Run, shot: Path) -> None:
    said = run("log", str(shot), "shots", "--distance", "18 m", "--bare", "7: left 2.1 in; nock right", "--bare",
               "8: high 0.5 in", "--bad", "8", "--fletched", "1: low 3 mm", "--not-square").stdout  # fmt: skip
    assert "Shaft 7, bare: hole left 2.10 in; nock leaning right" in said
    assert "Shaft 8, bare: hole high 0.50 in; called bad, kept and not counted." in said
    assert "Shaft 1, fletched: hole low 0.12 in." in said  # 3 mm / 25.4, computed
    assert "right-handed" in said
    event = read(shot).events[-1]
    assert getattr(event, "square_to_line", None) is False


def test_a_left_hander_is_spoken_to_in_their_own_sides(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "left.toml"
    run("new", str(path), "--example", "--hand", "left")
    said = run("log", str(path), "tear", "--shaft", "7", "--bare", "--distance", "6 ft", "--tail", "left 1 in").stdout
    assert "tail tore left" in said
    assert "left-handed" in said
    said = run("log", str(path), "rest", "--clicks", "right 3").stdout
    assert "3 clicks right" in said


def test_a_cut_is_only_logged_when_it_is_sure(run: Run, shot: Path) -> None:
    run("log", str(shot), "safe-length", "--mark", "27 1/4 in", "--helper", "--backstop")
    cut = ("log", str(shot), "cut", "--throat-length", "29 3/8 in", "--carbon-length", "28 3/4 in")
    before = shot.read_bytes()
    refused = run(*cut, expect=2)
    assert "29 3/8 in from nock throat to shaft end would be left of 29 7/8 in" in refused.stderr
    assert "the shortest safe length is 27 1/4 in" in refused.stderr
    assert "--sure" in refused.stderr
    assert refused.stderr.count("\n") == 1
    assert shot.read_bytes() == before
    said = run(*cut, "--sure").stdout
    assert "Cut 0.5 in off the nock end: 29 3/8 in from the nock throat" in said
    assert replay(read(shot)).now.build.throat_length == pytest.approx(29.375 * 0.0254)


@pytest.fixture
def _sitting_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("spinewright.cli.log.at_terminal", lambda: True)


@pytest.mark.usefixtures("_sitting_there")
def test_a_terminal_shows_what_a_cut_leaves_and_asks(shot: Path) -> None:
    runner = CliRunner()
    runner.invoke(app, ["log", str(shot), "safe-length", "--mark", "27 1/4 in", "--helper", "--backstop"])
    cut = ["log", str(shot), "cut", "--throat-length", "29 3/8 in", "--carbon-length", "28 3/4 in"]
    before = shot.read_bytes()
    refused = runner.invoke(app, cut, input="\n")
    told = " ".join(refused.stderr.split())
    assert refused.exit_code == 1
    assert shot.read_bytes() == before
    for part in ("cannot be undone", "29 3/8 in would be left of 29 7/8 in", "longer than the shortest safe length"):
        assert part in told
    assert "Nobody has agreed yet to cut the shafts from 29 1/4 in to 28 3/4 in" in told
    assert told.endswith("Nothing was logged.")
    agreed = {"question": "agreed", "answer": "the owner of the bow, 2026-05-03, 28 3/4 in"}
    append(shot, {"kind": "answers", "to": "consent", "answers": [agreed]})
    logged = runner.invoke(app, cut, input="y\n")
    assert logged.exit_code == 0
    assert "stands since 2026-05-03 (the owner of the bow)" in " ".join(logged.stderr.split())
    assert read(shot).events[-1].kind == "cut"


@pytest.mark.usefixtures("_sitting_there")
def test_a_cut_that_should_not_be_is_asked_for_otherwise(shot: Path) -> None:
    runner = CliRunner()
    runner.invoke(app, ["log", str(shot), "safe-length", "--mark", "29 1/2 in", "--helper", "--backstop"])
    cut = ["log", str(shot), "cut", "--throat-length", "29 1/4 in", "--carbon-length", "28 5/8 in"]
    refused = runner.invoke(app, cut, input="n\n")
    told = " ".join(refused.stderr.split())
    assert "0.25 in SHORTER than the shortest safe length" in told
    assert "This cut should not be made" in told
    assert refused.exit_code == 1


def test_a_cut_below_the_mark_says_take_care(run: Run, shot: Path) -> None:
    run("log", str(shot), "safe-length", "--mark", "29 1/2 in", "--helper", "--backstop")
    cut = ("log", str(shot), "cut", "--throat-length", "29 1/4 in", "--carbon-length", "28 5/8 in", "--sure")
    said = run(*cut).stdout
    assert "Take care:" in said
    assert "do not draw it" in " ".join(said.split())
    assert "0.25 in SHORTER than the shortest safe length" in " ".join(said.split())


def test_a_mark_without_helper_or_backstop_does_not_count(run: Run, shot: Path) -> None:
    before = shot.read_bytes()
    assert "helper" in run("log", str(shot), "safe-length", "--mark", "27 in", "--backstop", expect=2).stderr
    assert "backstop" in run("log", str(shot), "safe-length", "--mark", "27 in", "--helper", expect=2).stderr
    assert shot.read_bytes() == before


def test_a_broadhead_on_a_bare_shaft_cannot_be_logged(run: Run, shot: Path) -> None:
    before = shot.read_bytes()
    hit = "7: left 1 in; head fixed-blade head"
    refused = run("log", str(shot), "shots", "--distance", "20 yd", "--bare", hit, expect=2)
    assert "never shoot a broadhead on an unfletched shaft" in refused.stderr
    assert shot.read_bytes() == before


def test_undo_last_takes_the_last_entry_that_counts(run: Run, shot: Path) -> None:
    run("log", str(shot), "rest", "--intended", "left 1/64 in")
    said = " ".join(run("log", str(shot), "undo", "last").stdout.split())
    assert "Undone: rest moved. It said: Rest sideways: 0.016 in left intended" in said
    assert "Now holds: rest, against its start: where it was." in said
    assert replay(read(shot)).now.rest_y == 0.0
    assert len(replay(read(shot)).history.seen) == 1
    said = " ".join(run("log", str(shot), "undo", "last").stdout.split())  # the shots before it
    assert "Undone: shots. It said: 3 fletched and 3 bare at 20 yd" in said
    assert "Now holds: walks and readings that count: none." in said
    assert replay(read(shot)).history.seen == ()
    assert replay(read(shot)).history.contact_check is not None


def test_an_undo_says_which_check_no_longer_counts(run: Run, shot: Path) -> None:
    run("log", str(shot), "bow-check", "--wrong", "rest drop", "--when", "2026-05-03 10:15")
    said = " ".join(run("log", str(shot), "undo", "last").stdout.split())
    assert "Undone: bow check of 2026-05-03 10:15. It said: Bow check: " in said
    assert "found wrong: rest drop" in said
    assert "Now holds: bow check: everything in order." in said


def test_an_undo_can_be_taken_back(run: Run, shot: Path) -> None:
    run("log", str(shot), "rest", "--intended", "left 1/64 in")
    undo = json.loads(run("log", str(shot), "undo", "last", "--json").stdout)["id"]
    said = " ".join(run("log", str(shot), "undo", undo).stdout.split())
    assert "Taken back: the undo of the rest moved, which counts again." in said
    assert "Now holds: rest, against its start: left 0.016 in." in said


def test_ids_stay_off_the_face(run: Run, shot: Path) -> None:
    said = run("log", str(shot), "rest", "--clicks", "left 3", "--when", "2026-05-03").stdout
    assert read(shot).events[-1].id not in said
    assert "clicks of unknown size on 2026-05-03" in " ".join(said.split())


def test_comments_stay(run: Run, shot: Path) -> None:
    shot.write_text("# mine\n" + shot.read_text())
    run("log", str(shot), "good", "--note", "as it should be")
    text = shot.read_text()
    assert text.startswith("# mine\n")
    assert 'note = "as it should be"' in text


def test_an_event_as_json(run: Run, shot: Path) -> None:
    said = json.loads(run("log", str(shot), "sight", "--clicks", "left 2, up 4", "--json").stdout)
    session = read(shot)
    assert said["id"] == session.events[-1].id
    assert said["events"] == len(session.events)
    assert said["said"] == list(understood(session.events[-1], replay(session)))


BAD = [
    (("shots", "--distance", "20 yd"), "no arrow was named"),
    (("shots", "--distance", "20", "--bare", "7: left 1 in"), "'20' has no unit"),
    (("shots", "--distance", "20 yd", "--bare", "left 1 in"), "does not begin with the number of the shaft"),
    (("shots", "--distance", "20 yd", "--bare", "7: 1 in"), "does not say one side or one height"),
    (("shots", "--distance", "20 yd", "--bare", "7: left 1 in; left 2 in"), "neither where the nock leans"),
    (("shots", "--distance", "20 yd", "--bare", "7: left 1 in", "--bad", "8"), "no shot of it is here"),
    (("bow-check",), "does not say what was looked at"),
    (("bow-check", "--wrong", "the colour"), "is not an item of the bow check"),
    (("bow-check", "--wrong", "rest drop", "--in-order", "rest drop"), "both in order and wrong"),
    (("nock-series", "--shaft", "7", "--bare", "--distance", "6 ft", "--through", "paper", "--turning", "clockwise",
      "--reading", "20 deg"), "is not a nock angle with what was seen"),
    (("rest",), "does not say what was done"),
    (("rest", "--intended", "1/64 in"), "intended"),
    (("build", "--nock", "weight 9 gr"), "is not one of mass, length, offset"),
    (("bow", "--what", "new string", "--draw-reading", "20 in"), "is not a draw with its force"),
    (("good", "--when", "yesterday"), "is not a date"),
    (("undo", "e9"), "no event 'e9'"),
    (("point", "--mass", "-100 gr"), "-100 gr"),
]  # fmt: skip


@pytest.mark.parametrize(("args", "sentence"), BAD)
def test_bad_input_is_one_sentence_and_changes_nothing(
    run: Run, shot: Path, args: tuple[str, ...], sentence: str
) -> None:
    before = shot.read_bytes()
    said = run("log", str(shot), *args, expect=2).stderr
    assert sentence in said
    assert said.count("\n") == 1
    assert "event[" not in said  # the person wrote no numbered event
    assert shot.read_bytes() == before
