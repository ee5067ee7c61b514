"""The demo runs from an empty start to its end, finds the planted truth, and leaves pictures and session files."""

from __future__ import annotations

import contextlib
import io
from functools import partial
from pathlib import Path

import demo.__main__ as demo
import numpy as np
import pytest
from demo import pictures
from demo.hidden_truth import HiddenTruth, World
from demo.mirror import MirrorError, hold_against_mirror
from demo.session import play
from tests.coarse_maps import coarse_maps

from spinewright.advice import MoveKind
from spinewright.belief import BeliefSettings
from spinewright.units import INCH, Hand
from spinewright.workflow import MapWishes, NextMove, bench

pytestmark = pytest.mark.slow


@pytest.mark.endurance
def test_the_demo_runs_to_its_end(tmp_path: Path) -> None:
    """One run, looked at from every side: it takes about a minute, and workers that test at once share nothing."""
    folder, printed = tmp_path / "out", io.StringIO()
    with contextlib.redirect_stdout(printed):
        code = _whole_demo(folder)
    text = printed.getvalue()
    assert code == 0, text
    it_tells_every_part(text)
    it_is_no_wider_than_eighty_columns(text.replace(str(folder), "out"))
    it_leaves_pictures_and_session_files_that_read(folder)
    the_session_is_a_hunt_that_ends_tuned(folder, text)
    the_true_gap_is_closed(folder)


def _whole_demo(folder: Path) -> int:
    """The demo as it is, but for a coarse map."""
    fewer = partial(MapWishes, bows=20, settings=BeliefSettings(bows=30))
    with coarse_maps(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(pictures, "MapWishes", fewer)
        return demo.main(folder)


def it_tells_every_part(text: str) -> None:
    parts = ["EVERYTHING HERE IS INVENTED", "PART 1", "PART 2", "PART 3", "mirror images of one another", "What to try"]
    places = [text.find(part) for part in parts]
    assert places == sorted(places)
    assert min(places) > 0


def it_is_no_wider_than_eighty_columns(text: str) -> None:
    assert [line for line in text.splitlines() if len(line) > 80] == []


def it_leaves_pictures_and_session_files_that_read(folder: Path) -> None:
    for name in ("build-sheet.png", "forgiveness-map.png", "holes-first.png", "holes-last.png"):
        assert (folder / name).read_bytes().startswith(b"\x89PNG")
    right, left = (bench(folder / f"{hand}-handed.toml") for hand in ("right", "left"))
    assert right.now == left.now, "both are held in the right-handed frame"


def the_session_is_a_hunt_that_ends_tuned(folder: Path, text: str) -> None:
    state = bench(folder / "right-handed.toml")
    assert 6 <= text.count("\n--- Step ") <= 14
    made = [move.kind for move in state.moves]
    assert 1 <= made.count("cut") <= 3
    told = " ".join(text.split())
    parts = ["The last change came within what was foretold", "off the nock end", "Stop: this is tuned"]
    places = [told.find(part) for part in parts]
    assert places == sorted(places)
    assert min(places) > 0, "a prediction came true, then it was cut, then it was tuned"
    assert "since its check" in told, "the bow is looked at once more before the end"
    assert "rest moved" in made[: made.index("cut")], "something that can be put back came before the cut"
    assert state.last_good == state.now


def the_true_gap_is_closed(folder: Path) -> None:
    state = bench(folder / "right-handed.toml")
    world = World(HiddenTruth(), state.start, np.random.default_rng(0))
    before, after = (float(np.hypot(*world.gap(setup))) / INCH for setup in (state.start, state.now))
    assert before > 3.0
    assert after < 1.2  # an inch at 20 yd is what counts as tuned (common practice), and nobody was certain


def test_a_left_hander_who_is_told_the_same_side_is_noticed(tmp_path: Path) -> None:
    steps: list[NextMove] = []

    class Enough(Exception):  # noqa: N818 - no error, the session is only cut short
        pass

    def told(_number: int, found: NextMove) -> None:
        steps.append(found)
        if found.advice.move.move.kind is MoveKind.CHECK_CONTACT:
            raise Enough

    with pytest.raises(Enough):
        play(tmp_path / "right.toml", Hand.RIGHT, told, lambda _said: None)
    with pytest.raises(MirrorError, match="step 3"):
        hold_against_mirror(steps[-1], steps[-1], 3)
