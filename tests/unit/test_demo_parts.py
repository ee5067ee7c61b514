"""The parts of the demo by themselves: a truth of its own, a mirror that notices, a session file that reads."""

from __future__ import annotations

import numpy as np
import pytest
from demo.hidden_truth import HiddenTruth, World
from demo.invented_bench import session_text
from demo.mirror import MirrorError, mirrored_sides

from spinewright.equipment import LimitState, safety_limits
from spinewright.units import Hand
from spinewright.workflow import start_bench


def test_the_left_handers_bench_is_the_mirror_image() -> None:
    right, left = (start_bench(session_text(hand)).state for hand in Hand)
    assert {right.scope.hand, left.scope.hand} == set(Hand)
    assert right.now == left.now, "both are held in the right-handed frame"
    assert right.archer.hand is not left.archer.hand


@pytest.mark.parametrize("bare", [False, True])
def test_the_invented_arrow_breaks_no_limit(bare: bool) -> None:
    setup = start_bench(session_text(Hand.RIGHT)).state.now
    assert not [limit for limit in safety_limits(setup, bare=bare) if limit.state is LimitState.BROKEN]


def test_the_truth_starts_weak_and_a_shorter_shaft_reads_stiffer() -> None:
    from dataclasses import replace

    start = start_bench(session_text(Hand.RIGHT)).state.now
    build = replace(
        start.build,
        carbon_length=start.build.carbon_length - 0.0127,
        throat_length=start.build.throat_length - 0.0127,
    )
    truth = HiddenTruth()
    long, short = truth.gap(start, start), truth.gap(replace(start, build=build), start)
    # common practice: a weak arrow has its bare holes right and low of the fletched ones
    assert long[0] < 0
    assert long[1] < 0
    assert short[0] > long[0]
    assert short[1] > long[1]


def test_the_truths_luck_is_that_of_its_seed_and_the_walks_lie_about_its_gap() -> None:
    start = start_bench(session_text(Hand.RIGHT)).state.now
    worlds = [World(HiddenTruth(), start, np.random.default_rng(seed)) for seed in (5, 5, 6)]
    first, again, other = (world.walk(start, 200, 18.288) for world in worlds)
    assert first == again
    assert first != other
    bare, fletched = (np.mean([hole.place for hole in first if hole.bare is kind], axis=0) for kind in (True, False))
    # two bare and four fletched shafts keep 0.22 and 0.12 in to themselves: about 0.2 in each way; four sd
    assert np.abs(bare - fletched - worlds[0].gap(start)).max() < 0.8 * 0.0254


@pytest.mark.parametrize(
    ("right", "left", "sides"),
    [
        ("Move the rest 1/64 in to the left.", "Move the rest 1/64 in to the right.", 1),
        ("28 in of shaft are left.", "28 in of shaft are left.", 0),
        ("Turned 60 deg clockwise, right-handed.", "Turned 60 deg counterclockwise, left-handed.", 2),
        ("which must be put right first", "which must be put right first", 0),
    ],
)
def test_a_mirror_image_is_recognised(right: str, left: str, sides: int) -> None:
    assert mirrored_sides(right, left, "here") == sides


@pytest.mark.parametrize(
    ("right", "left"),
    [
        ("Move the rest to the left.", "Move the rest to the left."),
        ("Move the rest to the left.", "Move the rest to the right by 3 clicks."),
        ("Raise the rest.", "Lower the rest."),
    ],
)
def test_what_is_no_mirror_image_fails_loudly(right: str, left: str) -> None:
    with pytest.raises(MirrorError, match=r"here: .*left-hander"):
        mirrored_sides(right, left, "here")
