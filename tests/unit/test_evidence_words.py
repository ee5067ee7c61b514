"""Observations read back: in the archer's own left and right, never a bare side, mirrored for the left-hander."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.equipment.arrow import HeadKind
from spinewright.evidence import (
    BowCheck,
    ContactCheck,
    Impact,
    NockReading,
    NockSeries,
    SpeedShot,
    TargetKind,
    Tear,
    TradeNoise,
    Visit,
    place_words,
    read_back,
    trade_reading,
    trade_words,
)
from spinewright.units import Hand, System

FLETCHED = (Impact(1, False, 0.0, 0.0), Impact(2, False, 0.01, 0.0), Impact(3, False, 0.0, 0.01))
BARE = (Impact(4, True, 0.06, 0.05, lean_y=-0.1), Impact(5, True, 0.07, 0.05, lean_y=-0.1))


def visit(*impacts: Impact, target: TargetKind = TargetKind.FRESH_FOAM, square: bool = True) -> Visit:
    return Visit(18.288, target, impacts, square_to_line=square)


def swapped(text: str) -> str:
    return re.sub("left|right", lambda m: {"left": "right", "right": "left"}[m.group()], text)


def test_bare_holes_left_and_high_nocks_leaning_right() -> None:
    said = read_back(visit(*FLETCHED, *BARE), Hand.RIGHT)
    assert said == (
        "3 fletched and 2 bare, bare holes left and high of the fletched ones, bare nocks leaning right, right-handed"
    )


def test_sizes_in_the_archers_own_units() -> None:
    said = read_back(visit(*FLETCHED, *BARE), Hand.RIGHT, System.INCH)
    assert "at 20 yd" in said
    assert "(3.0 in)" in said  # computed: (0.0617, 0.0467) m = 0.0773 m
    assert "mm" in read_back(visit(*FLETCHED, *BARE), Hand.RIGHT, System.METRIC)


def test_components_within_the_given_noise_are_level_or_in_line() -> None:
    shot = visit(*FLETCHED, Impact(4, True, 0.06, 0.004))
    assert "left of the fletched ones, level" in read_back(shot, Hand.RIGHT, noise=0.01)
    assert "in line and level with the fletched ones" in read_back(shot, Hand.RIGHT, noise=0.1)
    assert "high of the fletched ones, in line" in read_back(
        visit(*FLETCHED, Impact(4, True, 0.004, 0.06)), Hand.RIGHT, noise=0.01
    )


def test_a_lean_in_a_bag_is_not_counted_and_the_reason_said() -> None:
    assert "nocks not counted (bag turns arrows)" in read_back(
        visit(*FLETCHED, *BARE, target=TargetKind.BAG), Hand.RIGHT
    )
    assert "not square to the line" in read_back(visit(*FLETCHED, *BARE, square=False), Hand.RIGHT)
    assert "target is not known" in read_back(visit(*FLETCHED, *BARE, target=TargetKind.UNKNOWN), Hand.RIGHT)
    assert "nocks" not in read_back(visit(*FLETCHED), Hand.RIGHT)


def test_nocks_standing_straight_and_nocks_high() -> None:
    straight = visit(*FLETCHED, Impact(4, True, 0.06, 0.0, lean_y=0.005, lean_z=0.1))
    assert "bare nocks standing straight, bare nocks high" in read_back(straight, Hand.RIGHT)


def test_one_kind_alone_says_that_nothing_compares_with_it() -> None:
    assert "no bare ones to compare with" in read_back(visit(*FLETCHED), Hand.RIGHT)
    assert "no fletched ones to compare with" in read_back(visit(*BARE), Hand.RIGHT)
    assert "bare hole left and high of the spot" in read_back(visit(BARE[0]), Hand.RIGHT)
    bad = Impact(1, False, 0.0, 0.0, called_bad=True)
    assert "called bad" in read_back(visit(bad), Hand.RIGHT)
    heads = visit(Impact(1, False, 0.0, 0.0, head=HeadKind.FIXED))
    assert "fixed-blade head" in read_back(heads, Hand.RIGHT)


def test_tears() -> None:
    right = Tear(3, True, 1.8, -0.018, 0.0)
    assert read_back(right, Hand.RIGHT) == "bare shaft 3, tail tore right, level, a moderate tear, right-handed"
    assert read_back(right, Hand.LEFT) == "bare shaft 3, tail tore left, level, a moderate tear, left-handed"
    assert "a clean hole" in read_back(Tear(3, False, 1.8, 0.001, 0.001), Hand.RIGHT)
    assert "called a bad shot" in read_back(Tear(3, False, 1.8, 0.05, 0.001, called_bad=True), Hand.RIGHT)


def test_series_turn_the_other_way_for_the_left_hander() -> None:
    readings = (NockReading(0.0, 0.03, 0.0), NockReading(0.698, 0.001, 0.0), NockReading(1.396, 0.02, 0.0))
    series = NockSeries(2, True, 1.8, True, readings)
    assert "3 nock angles through paper" in read_back(series, Hand.RIGHT)
    assert "turned 40 degrees clockwise: tail tore in line and level" in read_back(series, Hand.RIGHT)
    assert "turned 40 degrees counterclockwise" in read_back(series, Hand.LEFT)
    assert "tails on the mean left" in read_back(series, Hand.RIGHT)
    on_target = NockSeries(2, True, 18.0, False, readings[:1])
    assert "1 nock angle on the target, holes on the mean left" in read_back(on_target, Hand.RIGHT)


def test_speeds_and_checks() -> None:
    assert read_back(SpeedShot(85.34, True), Hand.RIGHT, System.INCH).startswith(
        "one bare arrow through the chronograph"
    )
    assert "280" in read_back(SpeedShot(85.344, True), Hand.RIGHT, System.INCH)
    said = read_back(BowCheck(cam_timing=True, rest_drop=False), Hand.RIGHT)
    assert "in order: cam timing" in said
    assert "found wrong: rest drop" in said
    assert "not looked at: cam lean" in said
    assert read_back(ContactCheck(True, True, True, True), Hand.LEFT) == "contact check: everything clean, left-handed"
    with pytest.raises(TypeError):
        read_back("a hole", Hand.RIGHT)  # type: ignore[arg-type]


coordinate = st.floats(-0.2, 0.2)
lean = st.none() | st.floats(-0.5, 0.5)


@given(
    st.lists(st.tuples(st.booleans(), coordinate, coordinate, lean), min_size=1, max_size=6), st.sampled_from(System)
)
def test_a_left_hander_reads_the_mirror(shots: list[tuple[bool, float, float, float | None]], system: System) -> None:
    seen = visit(*(Impact(i + 1, bare, y, z, lean_y=lean_y) for i, (bare, y, z, lean_y) in enumerate(shots)))
    right, left = read_back(seen, Hand.RIGHT, system), read_back(seen, Hand.LEFT, system)
    assert left == swapped(right)


@given(coordinate, coordinate)
def test_a_side_never_stands_alone(y: float, z: float) -> None:
    seen = visit(*FLETCHED, Impact(4, True, y, z, lean_y=y))
    for said in (read_back(seen, Hand.RIGHT), read_back(Tear(1, True, 1.8, y, z), Hand.RIGHT)):
        for part in said.removesuffix("right-handed").split(", "):
            if re.search(r"\b(left|right)\b", part):
                assert re.search(r"\b(holes?|tail tore|nocks)\b", part), said


def test_place_words() -> None:
    assert place_words(1.0, 1.0, Hand.RIGHT, 0.1, 0.1) == "left and high"
    assert place_words(1.0, 0.0, Hand.LEFT, 0.1, 0.1) == "right, level"
    assert place_words(0.0, -1.0, Hand.RIGHT, 0.1, 0.1) == "in line, low"
    assert place_words(0.0, 0.0, Hand.RIGHT, 0.1, 0.1) == "in line and level"


def test_the_trades_reading_in_words_mirrors() -> None:
    stiff = trade_reading(0.05, 0.0, TradeNoise(0.01, 0.01))
    said = trade_words(stiff, Hand.RIGHT)
    assert "bare holes left and often high, tails and nocks right" in said
    assert said.endswith("common practice")
    assert trade_words(stiff, Hand.LEFT) == swapped(said)
