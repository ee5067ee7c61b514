"""Reading quantities: every spelling against pint, every wrong input with its sentence."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.errors import QuantityError
from spinewright.units import Kind, parse
from spinewright.units.kinds import TABLE

# Spellings that pint does not read, or reads as something else, in pint's own words. Draw weights and point weights
# in lb, kg and # are forces in the trade; pint's pound is a mass.
PINT_WORDS = {
    '"': "inch",
    "''": "inch",
    "'": "foot",
    "gr": "grain",
    "grs": "grain",
    "lb": "pound_force",
    "lbs": "pound_force",
    "lbf": "pound_force",
    "#": "pound_force",
    "pound": "pound_force",
    "pounds": "pound_force",
    "n": "newton",
    "newtons": "newton",
    "kgf": "kilogram_force",
    "kg (force)": "kilogram_force",
    "fps": "foot/second",
    "feet per second": "foot/second",
    "ft per second": "foot/second",
    "ft/sec": "foot/second",
    "mps": "meter/second",
    "m/sec": "meter/second",
    "metres per second": "meter/second",
    "meters per second": "meter/second",
    "km/h": "kilometer/hour",
    "kph": "kilometer/hour",
    "mph": "mile/hour",
    "mi/h": "mile/hour",
    "°": "degree",
    "mrad": "milliradian",
    "gr/in": "grain/inch",
    "gpi": "grain/inch",
    "gr per in": "grain/inch",
    "gr per inch": "grain/inch",
    "gr/inch": "grain/inch",
    "g per m": "gram/meter",
    "grams per metre": "gram/meter",
    "grams per meter": "gram/meter",
    "in2": "inch**2",
    "sq in": "inch**2",
    "square in": "inch**2",
    "square inch": "inch**2",
    "square inches": "inch**2",
    "mm2": "mm**2",
    "sq mm": "mm**2",
    "square mm": "mm**2",
    "cm2": "cm**2",
    "sq cm": "cm**2",
    "square cm": "cm**2",
    "m2": "m**2",
    "%": "percent",
    "per cent": "percent",
    "j": "joule",
    "ft lbf": "foot*pound_force",
    "ft lb": "foot*pound_force",
    "ft-lb": "foot*pound_force",
    "ft-lbs": "foot*pound_force",
    "ft lbs": "foot*pound_force",
    "ft-lbf": "foot*pound_force",
    "foot pounds": "foot*pound_force",
    "foot-pounds": "foot*pound_force",
    "kg m/s": "kg*m/s",
    "n s": "newton*second",
    "lbf s": "pound_force*second",
    "lb s": "pound_force*second",
    "hz": "hertz",
    "gr/lb": "grain/pound_force",
    "gr per lb": "grain/pound_force",
    "grains per pound": "grain/pound_force",
    "gr/lbf": "grain/pound_force",
    "g/n": "gram/newton",
    "kg/n": "kilogram/newton",
    "grains per inch": "grain/inch",
    "grains/inch": "grain/inch",
    "yds": "yard",
    "grammes": "gram",
    "gramme": "gram",
    "sec": "second",
    "min": "minute",
}
SI = {
    Kind.LENGTH: "m",
    Kind.DISTANCE: "m",
    Kind.MASS: "kg",
    Kind.FORCE: "N",
    Kind.SPEED: "m/s",
    Kind.ANGLE: "rad",
    Kind.LINEAR_DENSITY: "kg/m",
    Kind.SPINE: "m",
    Kind.AREA: "m**2",
    Kind.FRACTION: "dimensionless",
    Kind.ENERGY: "J",
    Kind.MOMENTUM: "kg*m/s",
    Kind.TIME: "s",
    Kind.FREQUENCY: "1/s",
    Kind.MASS_PER_FORCE: "kg/N",
}
REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(("kind", "unit"), [(kind, unit) for kind, row in TABLE.items() for unit in row.units])
def test_every_unit_has_pints_factor(kind: Kind, unit: str) -> None:
    words = "kilogram_force" if (kind, unit) == (Kind.FORCE, "kg") else PINT_WORDS.get(unit, unit)
    expected = REGISTRY.Quantity(1.0, words).to(SI[kind]).magnitude
    row = TABLE[kind]
    assert row.units[unit] == pytest.approx(expected, rel=1e-14)
    number = min(max(0.25, 2.0 * row.low / expected), 0.5 * row.high / expected)
    assert parse(f"{number:.9f} {unit}", kind) == pytest.approx(float(f"{number:.9f}") * expected, rel=1e-14)


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_prints_a_label_it_reads_and_gives_examples_it_reads(kind: Kind) -> None:
    row = TABLE[kind]
    for style in (row.inch, row.metric):
        if style.label:
            assert row.units[style.label.lower()] == style.factor
        else:  # a whole number of thousandths of an inch
            assert parse("340", kind) == pytest.approx(340 * style.factor)
    for example in row.examples:
        assert parse(example, kind) > 0.0


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("29 1/2 in", Kind.LENGTH, 29.5 * 0.0254),
        ('29.5"', Kind.LENGTH, 29.5 * 0.0254),
        ("29-1/2 inches", Kind.LENGTH, 29.5 * 0.0254),
        ("29½ in.", Kind.LENGTH, 29.5 * 0.0254),
        ("  29   1/2   IN ", Kind.LENGTH, 29.5 * 0.0254),
        ("749 mm", Kind.LENGTH, 0.749),
        ("1/64 in", Kind.LENGTH, 0.0254 / 64),
        ("-1 1/4 in", Kind.LENGTH, -1.25 * 0.0254),
        ("−3 mm", Kind.LENGTH, -0.003),
        ("350 gr", Kind.MASS, 350 * 64.79891e-6),
        ("22.7 g", Kind.MASS, 0.0227),
        ("70 lb", Kind.FORCE, 70 * 4.4482216152605),
        ("70#", Kind.FORCE, 70 * 4.4482216152605),
        ("280 fps", Kind.SPEED, 85.344),
        ("280 ft / s", Kind.SPEED, 85.344),
        ("85 m/s", Kind.SPEED, 85.0),
        ("20 yd", Kind.DISTANCE, 18.288),
        ("18 m", Kind.DISTANCE, 18.0),
        ("20 deg", Kind.ANGLE, math.pi / 9),
        ("20°", Kind.ANGLE, math.pi / 9),
        ("8.9 gr/in", Kind.LINEAR_DENSITY, 8.9 * 64.79891e-6 / 0.0254),
        ("340", Kind.SPINE, 0.340 * 0.0254),
        (340, Kind.SPINE, 0.340 * 0.0254),
        ("0.340 in", Kind.SPINE, 0.340 * 0.0254),
        ("8.6 mm", Kind.SPINE, 0.0086),
        ("80 %", Kind.FRACTION, 0.8),
        ("0.8", Kind.FRACTION, 0.8),
        (0.8, Kind.FRACTION, 0.8),
    ],
)
def test_reads_what_archers_write(text: object, kind: Kind, si: float) -> None:
    assert parse(text, kind) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "sentence"),
    [
        ("29.5", Kind.LENGTH, "'29.5' has no unit; write for example '29 1/2 in' or '749 mm'"),
        (29.5, Kind.LENGTH, "'29.5' has no unit"),
        ("29,5 in", Kind.LENGTH, "has a comma in it; write decimals with a point"),
        ("5 lb", Kind.MASS, "'5 lb' is a force, but a mass is wanted"),
        ("5 gr", Kind.ANGLE, "'5 gr' is a mass, but an angle is wanted"),
        ("5 leagues", Kind.LENGTH, "'leagues' in '5 leagues' is not a unit known here"),
        ("-5 gr", Kind.MASS, "'-5 gr' is negative, which a mass cannot be"),
        ("nan in", Kind.LENGTH, "does not start with a number"),
        ("inf in", Kind.LENGTH, "does not start with a number"),
        ("1/0 in", Kind.LENGTH, "divides by zero"),
        ("29 1/2 1/4 in", Kind.LENGTH, "is not a unit known here"),
        ("1e9 in", Kind.LENGTH, "is not a unit known here"),
        ("99999 in", Kind.LENGTH, "is not a possible length"),
        ("0 yd", Kind.DISTANCE, "is not a possible distance"),
        ("0.34", Kind.SPINE, "'0.34' has no unit"),
        ("80", Kind.FRACTION, "'80' has no percent sign"),
        ("130 %", Kind.FRACTION, "is not a possible share"),
        ("", Kind.MASS, "an empty text is not a quantity"),
        (True, Kind.MASS, "True is not a quantity"),
        (None, Kind.MASS, "None is not a quantity"),
        ("9" * 5000 + " in", Kind.LENGTH, "does not start with a number"),
        ("about 5 in", Kind.LENGTH, "does not start with a number"),
        ("٥ in", Kind.LENGTH, "does not start with a number"),
    ],
)
def test_refuses_with_one_sentence(text: object, kind: Kind, sentence: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, kind, field="arrow.length")
    assert sentence in str(caught.value)
    assert str(caught.value).startswith("arrow.length: ")
    assert str(caught.value).count("; ") == 1


@given(st.text(max_size=80), st.sampled_from(list(Kind)))
def test_any_text_is_a_finite_value_or_a_quantity_error(text: str, kind: Kind) -> None:
    try:
        value = parse(text, kind)
    except QuantityError:
        return
    assert math.isfinite(value)
