"""Printing quantities: fractions on a ruler, doubts, and everything printed is read back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.errors import QuantityError
from spinewright.units import (
    DEGREE,
    GRAIN,
    INCH,
    POUND_FORCE,
    YARD,
    Kind,
    System,
    parse,
    show,
    show_distance,
    unbroken,
    yards_beside,
)
from spinewright.units.kinds import TABLE

INCHES = System.INCH
METRIC = System.METRIC


@pytest.mark.parametrize(
    ("value", "kind", "system", "text"),
    [
        (29.5 * INCH, Kind.LENGTH, INCHES, "29 1/2 in"),
        (28.0 * INCH, Kind.LENGTH, INCHES, "28 in"),
        (28.3125 * INCH, Kind.LENGTH, INCHES, "28 5/16 in"),
        (28.33 * INCH, Kind.LENGTH, INCHES, "28.33 in"),
        (28.69 * INCH, Kind.LENGTH, INCHES, "28 11/16 in"),  # 0.0025 in off the sixteenth: no ruler shows it
        (26.66 * INCH, Kind.LENGTH, INCHES, "26 21/32 in"),  # 21/32 = 0.65625, 0.00375 in off
        (28.31 * INCH, Kind.LENGTH, INCHES, "28 5/16 in"),
        (28.3 * INCH, Kind.LENGTH, INCHES, "28.3 in"),
        (1.5 * INCH, Kind.LENGTH, INCHES, "1.5 in"),
        (0.0015 * INCH, Kind.LENGTH, INCHES, "0.0015 in"),
        (0.7493, Kind.LENGTH, METRIC, "749.3 mm"),
        (-0.0, Kind.LENGTH, METRIC, "0 mm"),
        (350 * GRAIN, Kind.MASS, INCHES, "350 gr"),
        (2.125 * INCH, Kind.LENGTH, INCHES, "2.125 in"),
        (28.3346 * INCH, Kind.LENGTH, INCHES, "28.33 in"),
        (0.048263, Kind.LENGTH, METRIC, "48.3 mm"),
        (350 * GRAIN, Kind.MASS, METRIC, "22.7 g"),
        (391.37 * GRAIN, Kind.MASS, INCHES, "391.4 gr"),
        (5.64 * GRAIN, Kind.MASS, INCHES, "5.6 gr"),
        (5.64 * GRAIN, Kind.MASS, METRIC, "0.37 g"),
        (106 * GRAIN, Kind.MASS, METRIC, "6.87 g"),
        (262.83 * 0.3048, Kind.SPEED, INCHES, "262.8 ft/s"),
        (86.384, Kind.SPEED, METRIC, "86.4 m/s"),
        (20 * YARD, Kind.DISTANCE, METRIC, "18.3 m"),
        (57.345 * POUND_FORCE, Kind.FORCE, INCHES, "57.3 lb"),
        (7.857 * GRAIN / INCH, Kind.LINEAR_DENSITY, INCHES, "7.86 gr/in"),
        (0.3456 * DEGREE, Kind.ANGLE, INCHES, "0.35 deg"),
        (94.417, Kind.ENERGY, METRIC, "94.4 J"),
        (2.2347, Kind.MOMENTUM, METRIC, "2.23 kg m/s"),
        (91.27, Kind.FREQUENCY, INCHES, "91.3 Hz"),
        (278.21, Kind.FREQUENCY, INCHES, "278 Hz"),
        (20 * YARD, Kind.DISTANCE, INCHES, "20 yd"),
        (2 * YARD, Kind.DISTANCE, INCHES, "6 ft"),
        (70 * POUND_FORCE, Kind.FORCE, INCHES, "70 lb"),
        (70 * POUND_FORCE, Kind.FORCE, METRIC, "70 lb (311 N)"),
        (0.34 * INCH, Kind.SPINE, INCHES, "340"),
        (0.34 * INCH, Kind.SPINE, METRIC, "340 (8.64 mm)"),
        (6.3 * GRAIN / POUND_FORCE, Kind.MASS_PER_FORCE, INCHES, "6.3 gr/lb"),
        (6.3 * GRAIN / POUND_FORCE, Kind.MASS_PER_FORCE, METRIC, "6.3 gr/lb (0.0918 g/N)"),
        (0.8, Kind.FRACTION, METRIC, "80 %"),
        (20 * DEGREE, Kind.ANGLE, METRIC, "20 deg"),
        (0.0153, Kind.TIME, METRIC, "15.3 ms"),
        (1200.0, Kind.TIME, METRIC, "20 min"),
        (12.0, Kind.TIME, METRIC, "12 s"),
    ],
)
def test_prints_as_archers_read(value: float, kind: Kind, system: System, text: str) -> None:
    assert show(value, kind, system) == text


@pytest.mark.parametrize(
    ("value", "doubt", "text"),
    [
        (2.13, 0.42, "2.1 ± 0.4 in"),
        (2.13, 0.142, "2.13 ± 0.14 in"),
        (-2.13, 0.04, "-2.13 ± 0.04 in"),
        (0.01, 1.2, "0.0 ± 1.2 in"),
        (123.4, 30.0, "120 ± 30 in"),
        (2.0, 0.0, "2.000 ± 0.000 in"),
    ],
)
def test_doubt_sets_the_decimals(value: float, doubt: float, text: str) -> None:
    assert show(value * INCH, Kind.LENGTH, INCHES, doubt=doubt * INCH) == text


def test_digits_fix_the_decimals() -> None:
    assert show(29.5 * INCH, Kind.LENGTH, INCHES, digits=2) == "29.50 in"
    assert show(-0.001 * INCH, Kind.LENGTH, INCHES, digits=1) == "0.0 in"


@pytest.mark.parametrize(("value", "doubt"), [(math.nan, None), (math.inf, None), (1.0, math.nan)])
def test_nothing_that_is_not_finite_is_printed(value: float, doubt: float | None) -> None:
    with pytest.raises(ValueError, match="not finite"):
        show(value, Kind.LENGTH, INCHES, doubt=doubt)


@given(
    st.floats(0.02, 0.9),
    st.sampled_from([kind for kind, row in TABLE.items() if kind is not Kind.SPINE and row.high > 0.9]),
    st.sampled_from(list(System)),
)
def test_what_is_printed_is_read_back_to_three_figures(value: float, kind: Kind, system: System) -> None:
    assert parse(show(value, kind, system), kind) == pytest.approx(value, rel=5.1e-3)


@given(st.floats(0.02, 0.9), st.sampled_from([Kind.LENGTH, Kind.DISTANCE, Kind.MASS, Kind.FORCE, Kind.ANGLE]))
def test_twelve_decimals_are_read_back_exactly(value: float, kind: Kind) -> None:
    for system in System:
        assert parse(show(value, kind, system, digits=12), kind) == pytest.approx(value, rel=1e-10)


@given(st.floats(0.004, 0.05))
def test_a_spine_is_read_back_to_a_thousandth_of_an_inch(spine: float) -> None:
    for system in System:
        assert parse(show(spine, Kind.SPINE, system), Kind.SPINE) == pytest.approx(spine, abs=0.51e-3 * INCH)


def test_what_stands_behind_has_to_be_the_same() -> None:
    assert parse("385 (9.78 mm)", Kind.SPINE) == pytest.approx(0.385 * INCH)
    with pytest.raises(QuantityError, match="'385' and '12 mm' are not the same"):
        parse("385 (12 mm)", Kind.SPINE)


@given(st.integers(5 * 32, 60 * 32))
def test_thirty_seconds_survive_printing_and_reading(parts: int) -> None:
    length = parts / 32 * INCH
    assert parse(show(length, Kind.LENGTH, INCHES), Kind.LENGTH) == pytest.approx(length, rel=1e-12)


def test_metric_archers_read_metres_beside_the_yards_of_a_fixed_distance() -> None:
    # computed: 20 x 0.9144 m = 18.288 m, which is not the 18 m of a metric range
    assert yards_beside("lie apart at 20 yd, 60 yd", System.METRIC) == "lie apart at 20 yd (18.3 m), 60 yd (54.9 m)"
    assert yards_beside("at 20 yd", System.INCH) == "at 20 yd"
    once = yards_beside("at 20 yd.", System.METRIC)
    assert yards_beside(once, System.METRIC) == once  # said twice it is written once
    typed = 'log FILE shots --distance "20 yd" --target "bag"'
    assert yards_beside(typed, System.METRIC) == typed  # a command has to be read again


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("28 11/16 in", "28_11/16_in"),
        ("29.03 in (27.60 in to 30.14 in)", "29.03_in (27.60_in to_30.14_in)"),
        ("0.11 ± 0.05 in", "0.11 ±_0.05_in"),
        ("5 in 100", "5_in_100"),
        ("61.4 ft lbf, 0.449 lbf s, 0.2 kg m/s", "61.4_ft_lbf, 0.449_lbf_s, 0.2_kg_m/s"),
        ("7.1 gr/in, 2.0 deg, 82 %", "7.1_gr/in, 2.0_deg, 82_%"),
        ("2 inside, 3 grown, 4 made", "2 inside, 3 grown, 4 made"),
    ],
)
def test_a_number_is_kept_on_one_line_with_what_belongs_to_it(text: str, kept: str) -> None:
    assert unbroken(text).replace("\N{NO-BREAK SPACE}", "_") == kept
    assert unbroken(unbroken(text)) == unbroken(text)


def test_a_distance_is_recognised_by_whoever_counts_otherwise() -> None:
    # computed: 18 / 0.9144 = 19.685 yd, 5 / 0.3048 = 16.40 ft; a distance whole in both or in neither says itself alone
    assert show_distance(18.0, INCHES) == "18 m (19.7 yd)"
    assert show_distance(20 * YARD, METRIC) == "20 yd (18.3 m)"
    assert show_distance(20 * YARD, INCHES) == "20 yd"
    assert show_distance(18.0, METRIC) == "18 m"
    assert show_distance(5.0, INCHES) == "5 m (16.4 ft)"
    assert show_distance(20 * 0.3048, INCHES) == "20 ft"
    assert show_distance(19.8, INCHES) == show(19.8, Kind.DISTANCE, INCHES) == "21.7 yd"
