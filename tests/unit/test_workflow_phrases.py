"""What a person writes on one line: hits, nock readings, draw readings, parts, items of a check."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.errors import EvidenceError
from spinewright.logbook import EVENTS
from spinewright.workflow.phrases import checked_items, draw_reading, hit, nock_reading, part

VANES = next(key for key in EVENTS["build changed"] if key.name == "vanes").keys


def test_a_hit_with_everything() -> None:
    text = "Shaft 7: left 2.1 in, high 0.6 in; nock leans right 2 deg; head fixed-blade head; called bad"
    assert hit(text, "fletched", "fletched") == {
        "shaft": 7,
        "state": "fletched",
        "hole": "left 2.1 in, high 0.6 in",
        "nock_leans": "right 2 deg",
        "head": "fixed-blade head",
        "bad": True,
    }


@given(number=st.integers(0, 999_999), side=st.sampled_from(["left", "right"]), size=st.integers(0, 99))
def test_a_hit_keeps_number_and_hole(number: int, side: str, size: int) -> None:
    found = hit(f"{number}: {side} {size} mm", "bare", "bare")
    assert (found["shaft"], found["hole"]) == (number, f"{side} {size} mm")


@pytest.mark.parametrize(
    "text", ["", "left 1 in", "x: left 1 in", "7", "7:", "7: left 1 in; up", "7: left 1 in; bad; bad", "-7: left 1 in"]
)
def test_a_hit_that_cannot_be_read(text: str) -> None:
    with pytest.raises(EvidenceError, match=r"write for example '7: left 2\.1 in"):
        hit(text, "bare", "bare")


def test_a_nock_reading_is_a_tail_through_paper_and_a_hole_on_a_target() -> None:
    assert nock_reading("20 deg: right 0.4 in", "paper", "reading") == {"nock": "20 deg", "tail": "right 0.4 in"}
    assert nock_reading("20 deg: right 0.4 in", "target", "reading") == {"nock": "20 deg", "hole": "right 0.4 in"}


@pytest.mark.parametrize("text", ["", "20 deg", "20 deg:", ": right 0.4 in"])
def test_readings_that_cannot_be_read(text: str) -> None:
    with pytest.raises(EvidenceError):
        nock_reading(text, "paper", "reading")
    with pytest.raises(EvidenceError):
        draw_reading(text, "draw reading")


def test_a_part_in_one_line() -> None:
    text = "count 3, mass 6.8 gr, length 2.1 in, from throat 1 in; offset right 1.5 deg"
    assert part(text, VANES, "vanes") == {
        "count": 3,
        "mass": "6.8 gr",
        "length": "2.1 in",
        "from_throat": "1 in",
        "offset": "right 1.5 deg",
    }


@pytest.mark.parametrize("text", ["", "3", "weight 9 gr", "mass 9 gr, mass 8 gr", "mass"])
def test_a_part_that_cannot_be_read(text: str) -> None:
    with pytest.raises(EvidenceError, match="with its value"):
        part(text, VANES, "vanes")


KNOWN = {"cam timing": "cam_timing", "rest drop": "rest_drop"}


def test_items_of_a_check() -> None:
    assert checked_items(KNOWN, ("Cam-Timing",), ("rest drop",), "bow check") == {
        "cam_timing": True,
        "rest_drop": False,
    }
    everything = checked_items(KNOWN, (), ("rest drop",), "bow check", everything=True)
    assert everything == {"cam_timing": True, "rest_drop": False}
    # what was not named was not looked at: it must not count as in order
    assert checked_items(KNOWN, ("cam timing",), (), "bow check") == {"cam_timing": True}
