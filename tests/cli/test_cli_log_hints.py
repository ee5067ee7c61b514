"""How a move is logged: every command line that is offered can be pasted, and logs what the move was."""

from __future__ import annotations

import shlex
from dataclasses import replace
from pathlib import Path

import pytest

from spinewright.advice import Move, MoveKind
from spinewright.advice.moves import changes, nock_point_move, rest_move
from spinewright.advice.weighing import TRIMS
from spinewright.cli.log_hints import command_line, items_of, log_hints
from spinewright.cli.next_text import next_lines
from spinewright.cli.printing import command
from spinewright.logbook import read, replay
from spinewright.units import Hand
from spinewright.workflow import NextMove, Voice, next_move, settings_for
from spinewright.workflow.move_events import events_between
from spinewright.workflow.move_json import move_words
from tests.cli.conftest import Run

# nothing is logged; the way back is one of its own events; what makes it safe is said by the limit that is broken
SILENT = {MoveKind.SHOOTER, MoveKind.PUT_BACK, MoveKind.MAKE_SAFE}
CHANGES = {MoveKind.REST_SIDEWAYS, MoveKind.REST_HEIGHT, MoveKind.NOCK_POINT, MoveKind.BOLTS, MoveKind.POINT}
CHANGES |= {MoveKind.REST_BOTH, MoveKind.CUT}


@pytest.fixture
def found(run: Run, shot: Path) -> NextMove:
    run("log", str(shot), "safe-length", "--mark", "27 1/4 in", "--helper", "--backstop")
    return next_move(shot, settings=settings_for(60))


def _instead(found: NextMove, kind: MoveKind) -> NextMove:
    """``found`` with a move of ``kind`` that leaves bow and arrow as they are in place of its own."""
    weighed = replace(found.advice.move, move=Move(kind, None, 3.0, 5.0))
    return replace(found, advice=replace(found.advice, move=weighed))


def _pasted(lines: list[str]) -> list[str]:
    """What a shell makes of ``lines``: a line that ends in a backslash goes on."""
    return shlex.split("\n".join(lines).replace("\\\n", " "))[1:]


@pytest.mark.parametrize("kind", sorted(set(MoveKind) - SILENT - CHANGES))
def test_every_line_that_is_offered_can_be_pasted(run: Run, shot: Path, found: NextMove, kind: MoveKind) -> None:
    hints = [hint for hint in log_hints(_instead(found, kind), str(shot)) if hint.startswith("spinewright ")]
    assert hints
    for hint in hints:
        run(*_pasted(command(hint)))


def test_what_changes_the_bench_is_logged_as_the_move_meant_it(run: Run, shot: Path, found: NextMove) -> None:
    before, text = found.situation.now, shot.read_text()
    trims = [rest_move(before, y, z) for y, z in ((4e-4, 0.0), (0.0, -4e-4), (-3e-4, 8e-4))]
    moves = [m for m in (*trims, nock_point_move(before, 8e-4), *changes(found.situation)) if m is not None]
    for move in moves:
        after = move.after
        assert after is not None
        for event in events_between(before, after, found.voice):
            run(*_pasted(command(command_line(str(shot), event))))
        now = replay(read(shot)).now
        assert now.rest_y == pytest.approx(after.rest_y, abs=3e-6)  # written to a ten-thousandth of an inch
        assert now.rest_z == pytest.approx(after.rest_z, abs=3e-6)
        assert now.nock_z == pytest.approx(after.nock_z, abs=3e-6)
        assert now.bolt_turns == after.bolt_turns
        assert now.build.carbon_length == pytest.approx(after.build.carbon_length, abs=3e-6)
        assert now.build.head.mass == pytest.approx(after.build.head.mass, abs=1e-5)
        shot.write_text(text)
    assert {m.kind for m in moves} >= {*TRIMS, MoveKind.CUT}


def _moved(found: NextMove, sideways: float, up: float) -> NextMove:
    """``found`` with the rest moved along both axes [m] in place of its own move."""
    move = rest_move(found.situation.now, sideways, up)
    assert move is not None
    return replace(found, advice=replace(found.advice, move=replace(found.advice.move, move=move)))


def test_the_rest_moved_along_both_axes_is_logged_by_one_line(run: Run, shot: Path, found: NextMove) -> None:
    rest = found.situation.now.bow.rest
    click = rest.per_click_sideways or 5e-5
    both = _moved(found, 6 * click, -4 * click)
    assert both.advice.move.move.kind is MoveKind.REST_BOTH
    line, measured = log_hints(both, str(shot))
    assert measured == "If you measured how far it moved, add --measured."
    run(*_pasted(command(line)))
    now, before = replay(read(shot)).now, found.situation.now
    assert now.rest_y - before.rest_y == pytest.approx(6 * click, abs=3e-6)
    assert now.rest_z - before.rest_z == pytest.approx(-4 * click, abs=3e-6)
    # a left-hander's command says the other side and the same height
    [event] = events_between(before, both.advice.move.move.after or before, Voice(Hand.LEFT, found.voice.system))
    assert str(event["intended"]).startswith("right ")
    assert ", down " in str(event["intended"])
    assert str(both.events[0]["intended"]).startswith("left ")


def test_shots_from_further_away_are_logged_at_the_distance_that_was_told(found: NextMove) -> None:
    for yards in (30, 40):
        step = Move(MoveKind.STEP_BACK, None, yards * 0.9144, 11.0)
        told = replace(found, advice=replace(found.advice, move=replace(found.advice.move, move=step)))
        assert f'--distance "{yards} yd"' in log_hints(told, "shed.toml")[0]
        assert f"Step back to {yards} yd" in move_words(step, found.situation.now, found.voice)


def test_settings_that_nothing_fits_together_with_are_not_offered_as_good(found: NextMove) -> None:
    stop = _instead(found, MoveKind.STOP)
    assert any(" good" in hint for hint in log_hints(stop, "shed.toml"))
    stays = replace(stop, advice=replace(stop.advice, why="conflict stays"))
    assert log_hints(stays, "shed.toml") == []


def test_the_last_check_names_what_was_not_looked_at_since_the_change(found: NextMove) -> None:
    asked = _instead(found, MoveKind.CHECK_BOW)
    whole = found.situation.history.bow_check
    assert whole is not None
    since = replace(whole, rest_drop=None, nock_fit=None)
    history = replace(found.situation.history, bow_check_since=since)
    assert set(items_of(replace(asked, situation=replace(found.situation, history=history)))) == {
        "nock fit",
        "rest drop",
    }


def test_a_check_names_its_items(found: NextMove) -> None:
    bow = items_of(_instead(found, MoveKind.CHECK_BOW))
    assert "rest drop" in bow
    assert len(bow) == 10
    assert items_of(_instead(found, MoveKind.CHECK_CONTACT))[0] == "powder on the vanes"
    said = "\n".join(next_lines(_instead(found, MoveKind.CHECK_BOW), "shed.toml", everything=False))
    assert "  - rest drop\n" in said
    assert "  spinewright log shed.toml bow-check --all-in-order\n" in said
    assert items_of(_instead(found, MoveKind.SHOOT)) == ()


def test_other_moves_are_few_and_reasons_are_said_once(found: NextMove) -> None:
    assert MoveKind.STOP not in {one.kind for one in found.alternatives}
    text = "\n".join(next_lines(found, "shed.toml", everything=True))
    others = text.partition("Other moves, best first\n")[2].partition("\n\n")[0]
    assert others.count("  - ") == min(5, len(found.alternatives))
    if len(found.alternatives) > 5:
        assert f"And {len(found.alternatives) - 5} more in --json." in others
    refused = " ".join(text.partition("Not now, and why\n")[2].split())
    for reason in {one.reason for one in found.refused}:
        assert refused.count(" ".join(reason.split())) == 1


def test_a_command_is_broken_so_that_it_can_be_pasted() -> None:
    line = (
        'spinewright log "my bow.toml" shots --distance "20 yd" --target "fresh foam" --bare "7: left 1.9 in, low 2 in"'
    )
    lines = command(line)
    assert len(lines) > 1
    assert max(map(len, lines)) <= 79
    assert _pasted(lines) == shlex.split(line)[1:]
