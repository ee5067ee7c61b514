"""The small phrases of the session file: clicks, bolt turns, nock turns, leans and offsets with unnamed directions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.errors import QuantityError
from spinewright.logbook.events import Way
from spinewright.logbook.phrases import SEEN_LEAN, read_clicks, read_lean, read_nock_turn, read_turns, read_way
from spinewright.units import DEGREE, INCH, Hand


@given(
    side=st.sampled_from([("left", 1), ("right", -1)]),
    height=st.sampled_from([("up", 1), ("high", 1), ("down", -1), ("low", -1)]),
    counts=st.tuples(st.integers(0, 400), st.integers(0, 400)),
    height_first=st.booleans(),
)
def test_clicks_in_either_order_for_either_hand(
    side: tuple[str, int], height: tuple[str, int], counts: tuple[int, int], height_first: bool
) -> None:
    words = [f"{side[0]} {counts[0]}", f"{height[0]} {counts[1]} clicks"]
    text = ", ".join(reversed(words) if height_first else words)
    assert read_clicks(text, Hand.RIGHT) == Way(side[1] * counts[0], height[1] * counts[1])
    assert read_clicks(text, Hand.LEFT) == Way(-side[1] * counts[0], height[1] * counts[1])


def test_a_direction_not_named_stays_unknown_and_the_centre_names_both() -> None:
    assert read_clicks("left 2 1/2", Hand.RIGHT) == Way(2.5, None)
    assert read_way("up 1/32 in", Hand.RIGHT) == Way(None, INCH / 32)
    assert read_way("right 1 in", Hand.LEFT) == Way(INCH, None)
    assert read_way("centre", Hand.RIGHT) == Way(0.0, 0.0)


@pytest.mark.parametrize(
    ("text", "turns"), [("in 1", 1.0), ("out 1/2", -0.5), ("In 1 1/4 turns", 1.25), ("out 0.5 turn", -0.5)]
)
def test_bolt_turns(text: str, turns: float) -> None:
    assert read_turns(text) == turns


@pytest.mark.parametrize("text", ["1/2", "in", "in -1", "up 1", "in 1/0", "", None, 1])
def test_bolt_turns_without_a_way_or_a_number(text: object) -> None:
    with pytest.raises(QuantityError, match="which way and how many turns"):
        read_turns(text, field="both_bolts")


def test_nock_turns_are_mirrored() -> None:
    assert read_nock_turn("clockwise 20 deg", Hand.RIGHT) == pytest.approx(20 * DEGREE)
    assert read_nock_turn("counterclockwise 20 deg", Hand.RIGHT) == pytest.approx(-20 * DEGREE)
    assert read_nock_turn("anticlockwise 20 deg", Hand.LEFT) == pytest.approx(20 * DEGREE)
    for text in ("20 deg", "clockwise", 20):
        with pytest.raises(QuantityError, match="which way the nock was turned"):
            read_nock_turn(text, Hand.RIGHT)


def test_leans_with_and_without_a_size() -> None:
    assert read_lean("right", Hand.RIGHT) == (-SEEN_LEAN, 0.0)
    assert read_lean("right, low", Hand.LEFT) == (SEEN_LEAN, -SEEN_LEAN)
    assert read_lean("straight", Hand.RIGHT) == (0.0, 0.0)
    assert read_lean("left 3 deg", Hand.RIGHT) == pytest.approx((3 * DEGREE, 0.0))
    with pytest.raises(QuantityError):
        read_lean("2 deg", Hand.RIGHT)
