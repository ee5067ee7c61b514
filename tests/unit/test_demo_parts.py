"""The parts of the demo by themselves: a truth of its own, a mirror that notices, a session file that reads."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from demo.hidden_truth import HiddenTruth, World
from demo.invented_bench import session_text
from demo.mirror import MirrorError, mirrored_sides
from demo.technician import ENDS, Technician

from spinewright.advice import Move, MoveKind
from spinewright.advice.moves import nock_point_move, rest_move
from spinewright.equipment import LimitState, Setup, safety_limits
from spinewright.evidence import Visit
from spinewright.units import YARD, Hand
from spinewright.workflow import bench, next_move, settings_for, start_bench


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


def _every_move(now: Setup) -> list[Move]:
    """One move of every kind that is done at this bench, in an order in which it could be."""
    build, bolts = now.build, replace(now, bolt_turns=now.bolt_turns - 0.25, bolts_since_weighed=-0.25)
    lengths = build.throat_length - 0.0127, build.carbon_length - 0.0127
    shorter = replace(build, throat_length=lengths[0], carbon_length=lengths[1])
    heavier = replace(build.head, mass=build.head.mass + 0.001)
    found = [
        Move(MoveKind.CHECK_BOW, None, 0.0, 5.0),
        Move(MoveKind.SHOOT, None, 2.0, 5.0),
        Move(MoveKind.CHECK_CONTACT, None, 0.0, 5.0),
        Move(MoveKind.SET_ASIDE, None, 7.0, 5.0),
        Move(MoveKind.STEP_BACK, None, 30 * YARD, 11.0),
        Move(MoveKind.TURN_NOCK, None, 0.0, 15.0),
        Move(MoveKind.TURN_NOCK, replace(now, nock_angle=1.0), 1.0, 10.0),
        rest_move(now, 0.0005, 0.0),
        rest_move(now, 0.0, -0.0005),
        rest_move(now, -0.0005, 0.0005),
        nock_point_move(now, 0.0008),
        Move(MoveKind.PUT_BACK, replace(now, rest_y=now.rest_y + 0.0005), 0.0, 8.0),
        Move(MoveKind.BOLTS, bolts, -0.25, 14.0),
        Move(MoveKind.POINT, replace(now, build=replace(build, head=heavier)), 0.001, 10.0),
        Move(MoveKind.MARK_LENGTH, None, 0.0, 5.0),
        Move(MoveKind.CUT, replace(now, build=shorter), -0.0127, 18.0),
    ]
    return [move for move in found if move is not None]


@pytest.mark.slow
def test_the_technician_does_every_move_and_shoots_from_where_it_says(tmp_path: Path) -> None:
    path = tmp_path / "right.toml"
    scale = 'weight_per_turn = "1.9 lb"\nturns_allowed = 4'  # without it no bolt is ever turned
    text = session_text(Hand.RIGHT).replace('weakest_spine = "500"', f'weakest_spine = "500"\n{scale}')
    path.write_text(text, encoding="utf-8")
    now = bench(path).now
    found = next_move(path, settings=settings_for(60))
    moves = _every_move(now)
    assert {move.kind for move in moves} | ENDS | {MoveKind.MEASURE_REST} == set(MoveKind)  # its rest has a scale
    for move in moves:
        path.write_text(text, encoding="utf-8")
        technician = Technician(path, Hand.RIGHT, World(HiddenTruth(), now, np.random.default_rng(1)))
        marked = [Move(MoveKind.MARK_LENGTH, None, 0.0, 5.0)] if move.kind is MoveKind.CUT else []
        for one in (*marked, move):
            technician.do(replace(found, advice=replace(found.advice, move=replace(found.advice.move, move=one))))
        state = bench(path)
        after = now if move.after is None else move.after
        assert state.now.rest_y == pytest.approx(after.rest_y, abs=3e-5), move.kind  # to whole clicks
        assert state.now.rest_z == pytest.approx(after.rest_z, abs=3e-5), move.kind
        assert state.now.nock_z == pytest.approx(after.nock_z, abs=1e-5), move.kind
        assert state.now.bolt_turns == after.bolt_turns, move.kind
        assert state.now.build.carbon_length == pytest.approx(after.build.carbon_length, abs=3e-4), move.kind
        walks = [item.what for item in state.history.seen if isinstance(item.what, Visit)]
        if move.after is not None:
            assert walks, f"what {move.kind} did is shot"
        if move.kind is MoveKind.STEP_BACK:
            assert walks[-1].distance == pytest.approx(30 * YARD)
            assert len(walks[-1].impacts) == 6
