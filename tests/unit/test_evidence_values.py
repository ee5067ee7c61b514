"""What a person writes down is refused, with its sentence, when it cannot be; and kept when it merely is little."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from spinewright.equipment.arrow import HeadKind
from spinewright.errors import EvidenceError
from spinewright.evidence import Impact, NockReading, NockSeries, SpeedShot, TargetKind, Tear, Visit

HOLE = Impact(1, False, 0.01, -0.02)


def visit(distance: float = 18.0, impacts: tuple[Impact, ...] = (HOLE,), purpose: str = "") -> Visit:
    return Visit(distance, TargetKind.FRESH_FOAM, impacts, purpose=purpose)


# Limits are common practice: no source but that nobody ever logged beyond them.
REFUSED: list[tuple[str, str, Callable[[], object]]] = [
    ("distance", "100 m", lambda: visit(distance=0.0)),
    ("distance", "100 m", lambda: visit(distance=1.4)),
    ("distance", "100 m", lambda: visit(distance=101.0)),
    ("distance", "100 m", lambda: visit(distance=-20.0)),
    ("distance", "not a number", lambda: visit(distance=math.nan)),
    ("impacts", "1 to", lambda: visit(impacts=())),
    ("impacts", "1 to", lambda: visit(impacts=(HOLE,) * 100_001)),
    ("purpose", "'before'", lambda: visit(purpose="later")),
    ("y", "3 m", lambda: Impact(1, True, 3.01, 0.0)),
    ("z", "3 m", lambda: Impact(1, True, 0.0, -3.01)),
    ("y", "not a number", lambda: Impact(1, True, math.nan, 0.0)),
    ("z", "not a number", lambda: Impact(1, True, 0.0, math.inf)),
    ("shaft", "number 0", lambda: Impact(0, True, 0.0, 0.0)),
    ("shaft", "number -3", lambda: Tear(-3, True, 1.8, 0.0, 0.0)),
    ("shaft", "number True", lambda: Impact(True, True, 0.0, 0.0)),
    ("lean_y", "45 degrees", lambda: Impact(1, True, 0.0, 0.0, lean_y=math.radians(46))),
    ("lean_z", "not a number", lambda: Impact(1, True, 0.0, 0.0, lean_z=math.nan)),
    ("distance", "30 m", lambda: Tear(1, True, 0.5, 0.0, 0.0)),
    ("distance", "30 m", lambda: Tear(1, True, 31.0, 0.0, 0.0)),
    ("tail_y", "0.3 m", lambda: Tear(1, True, 1.8, 0.31, 0.0)),
    ("tail_z", "not a number", lambda: Tear(1, True, 1.8, 0.0, math.nan)),
    ("angle", "full turn", lambda: NockReading(math.radians(361), 0.0, 0.0)),
    ("readings", "no reading", lambda: NockSeries(1, True, 1.8, True, ())),
    ("y", "0.3 m", lambda: NockSeries(1, True, 1.8, True, (NockReading(0.0, 0.5, 0.0),))),
    ("distance", "100 m", lambda: NockSeries(1, True, 1.0, False, (NockReading(0.0, 0.5, 0.0),))),
    ("distance", "30 m", lambda: NockSeries(1, True, 60.0, True, (NockReading(0.0, 0.0, 0.0),))),
    ("speed", "150 m/s", lambda: SpeedShot(280.0, False)),
    ("doubt", "15 m/s", lambda: SpeedShot(85.0, False, doubt=0.0)),
]


@pytest.mark.parametrize(("field", "says", "make"), REFUSED)
def test_what_cannot_be_is_refused_with_field_and_sentence(field: str, says: str, make: Callable[[], object]) -> None:
    with pytest.raises(EvidenceError) as caught:
        make()
    assert caught.value.place.field == field
    assert says in str(caught.value)


@pytest.mark.parametrize("head", [HeadKind.FIXED, HeadKind.MECHANICAL])
def test_a_broadhead_on_a_bare_shaft_is_refused_with_the_safety_sentence(head: HeadKind) -> None:
    with pytest.raises(EvidenceError, match="never shoot a broadhead on an unfletched shaft"):
        Impact(1, True, 0.0, 0.0, head=head)
    assert Impact(1, False, 0.0, 0.0, head=head).head is head


def test_what_is_only_little_is_accepted() -> None:
    assert len(visit().impacts) == 1
    assert len(visit(impacts=(HOLE,) * 10_000).impacts) == 10_000
    assert visit(distance=1.5).distance == 1.5
    assert visit(distance=100.0).distance == 100.0
    assert Impact(1, True, 3.0, -3.0, lean_y=math.radians(45)).y == 3.0
    assert NockSeries(1, True, 1.8, True, (NockReading(-math.pi, 0.0, 0.0),)).readings[0].angle == -math.pi


def test_only_fresh_foam_and_layers_make_a_lean_count() -> None:
    # common practice: a bag tells nothing
    assert {t for t in TargetKind if t.lean_counts} == {TargetKind.FRESH_FOAM, TargetKind.LAYERED}
