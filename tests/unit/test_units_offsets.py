"""Sides and heights in words: either order, a unit for both, mirrored by the hand, never a bare number."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.errors import QuantityError
from spinewright.units import DEGREE, INCH, Hand, Kind, System, parse_direction, parse_offset, show_offset


@pytest.mark.parametrize(
    ("text", "y", "z"),
    [
        ("left 1.2 in, high 0.5 in", 1.2, 0.5),
        ("high 0.5 in, left 1.2 in", 1.2, 0.5),
        ("left 1.2, high 0.5 in", 1.2, 0.5),
        ("left 1.2 in, high 0.5", 1.2, 0.5),
        ("1.2 in right and 1/2 in down", -1.2, -0.5),
        ("Right 1 1/4 in; up 0.5 in", -1.25, 0.5),
        ("low 25.4 mm", 0.0, -1.0),
        ("left 1 in, level", 1.0, 0.0),
        ("left 0 in", 0.0, 0.0),
        ("centre", 0.0, 0.0),
        ("straight", 0.0, 0.0),
        ("level", 0.0, 0.0),
    ],
)
def test_reads_words(text: str, y: float, z: float) -> None:
    assert parse_offset(text, Hand.RIGHT) == pytest.approx((y * INCH, z * INCH), abs=1e-15)
    assert parse_offset(text, Hand.LEFT) == pytest.approx((-y * INCH, z * INCH), abs=1e-15)


def test_reads_angles() -> None:
    assert parse_offset("right 2 deg", Hand.RIGHT, kind=Kind.ANGLE) == pytest.approx((-2 * DEGREE, 0.0))


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("1.2 in", "does not say one side or one height"),
        (1.2, "does not say which side or height"),
        ("", "does not say one side or one height"),
        ("left", "does not say how far"),
        ("left 1.2, high 0.5", "has no unit"),
        ("left 1.2 in, right 0.5 in", "gives the same direction twice"),
        ("high 1 in, level", "gives the same direction twice"),
        ("left -1 in", "is negative"),
        ("left right 1 in", "does not say one side or one height"),
        ("1 left in", "has its direction in the middle"),
        ("left 2 deg", "is an angle, but a length is wanted"),
        ("left 1.2 in,", "does not say one side or one height"),
        ("port 1 in", "does not say one side or one height"),
        ("left 99999 in", "is not a possible length"),
    ],
)
def test_refuses_with_one_sentence(text: object, sentence: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_offset(text, Hand.RIGHT, field="hole")
    assert str(caught.value).startswith("hole: ")
    assert sentence in str(caught.value)


def test_direction_without_a_size() -> None:
    assert parse_direction("right, low", Hand.RIGHT) == (-1.0, -1.0)
    assert parse_direction("right", Hand.LEFT) == (1.0, 0.0)
    assert parse_direction("straight", Hand.LEFT) == (0.0, 0.0)
    with pytest.raises(QuantityError, match="gives a size"):
        parse_direction("right 2 deg", Hand.RIGHT)


def test_prints_words() -> None:
    assert show_offset(1.2 * INCH, 0.5 * INCH, Hand.RIGHT, System.INCH) == "left 1.20 in, high 0.50 in"
    assert show_offset(1.2 * INCH, 0.5 * INCH, Hand.LEFT, System.INCH) == "right 1.20 in, high 0.50 in"
    assert show_offset(0.0, -0.003, Hand.RIGHT, System.METRIC) == "low 3.0 mm"
    assert show_offset(0.0, 0.0, Hand.RIGHT, System.METRIC) == "centre"
    assert show_offset(0.0, 0.0, Hand.RIGHT, System.METRIC, kind=Kind.ANGLE) == "straight"
    both = show_offset(2.1 * INCH, 0.0, Hand.RIGHT, System.INCH, doubt=(0.4 * INCH, 0.3 * INCH))
    assert both == "left 2.1 ± 0.4 in, high 0.0 ± 0.3 in"


@given(
    st.floats(-2.0, 2.0),
    st.floats(-2.0, 2.0),
    st.sampled_from(list(Hand)),
    st.sampled_from(list(System)),
    st.sampled_from([Kind.LENGTH, Kind.ANGLE]),
)
def test_what_is_printed_is_read_back(y: float, z: float, hand: Hand, system: System, kind: Kind) -> None:
    text = show_offset(y, z, hand, system, kind=kind, digits=9)
    assert parse_offset(text, hand, kind=kind) == pytest.approx((y, z), abs=2e-9)


@given(st.floats(-2.0, 2.0), st.floats(-2.0, 2.0), st.sampled_from(list(System)))
def test_the_other_hand_reads_the_mirror(y: float, z: float, system: System) -> None:
    text = show_offset(y, z, Hand.RIGHT, system, digits=6)
    right = parse_offset(text, Hand.RIGHT)
    assert parse_offset(text, Hand.LEFT) == (-right[0] if right[0] else 0.0, right[1])
