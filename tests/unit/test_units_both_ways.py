"""Sentences that say a quantity both ways put the archer's own unit first, and keep every other word."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.equipment.plausible import both
from spinewright.errors import QuantityError
from spinewright.units import Kind, System, own_first, parse


@pytest.mark.parametrize(
    ("inch", "metric"),
    [
        ("an arrow of 27.17 in (690 mm) is short", "an arrow of 690 mm (27.17 in) is short"),
        ("29 1/2 in (749.3 mm)", "749.3 mm (29 1/2 in)"),
        ("plausible is 0.150 to 2.000 in (3.81 to 50.80 mm)", "plausible is 3.81 to 50.80 mm (0.150 to 2.000 in)"),
        ("5 1/2 in to 9 in (139.7 mm to 228.6 mm)", "139.7 mm to 228.6 mm (5 1/2 in to 9 in)"),
        ("350 gr (22.7 g) at 280 ft/s (85.3 m/s)", "22.7 g (350 gr) at 85.3 m/s (280 ft/s)"),
        ("write for example '29 1/2 in' or '749 mm'", "write for example '749 mm' or '29 1/2 in'"),
        # bows are spoken of in pounds and shafts in thousandths everywhere (common practice)
        ("write for example '70 lb' or '311 N'", "write for example '70 lb' or '311 N'"),
        ("61 lb (271 N) and 385 (9.78 mm)", "61 lb (271 N) and 385 (9.78 mm)"),
        ("18 m (19.7 yd)", "18 m (19.7 yd)"),
        ("'29 1/2 in (749 mm)' was typed", "'29 1/2 in (749 mm)' was typed"),
    ],
)
def test_own_unit_first(inch: str, metric: str) -> None:
    assert own_first(inch, System.INCH) == inch
    assert own_first(inch, System.METRIC) == metric
    assert own_first(metric, System.METRIC) == metric


@given(st.sampled_from([Kind.LENGTH, Kind.MASS, Kind.SPEED]), st.floats(1e-3, 1.0))
def test_whatever_is_said_both_ways_is_turned_and_still_the_same(kind: Kind, value: float) -> None:
    said = both(value, kind)
    first, _, second = own_first(f"so {said}", System.METRIC).removeprefix("so ").partition(" (")
    assert f"{second.removesuffix(')')} ({first})" == said
    assert parse(first, kind) == pytest.approx(value, rel=0.1, abs=1e-4)


@pytest.mark.parametrize("kind", list(Kind))
def test_examples_of_every_kind_are_both_kept(kind: Kind) -> None:
    with pytest.raises(QuantityError) as error:
        parse("fred", kind)
    turned = own_first(error.value.right, System.METRIC)
    assert sorted(turned.split("'")) == sorted(error.value.right.split("'"))
