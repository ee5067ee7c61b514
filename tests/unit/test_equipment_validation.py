"""Every value class refuses what cannot be, naming the field and what would be right."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any

import pytest
from tests.unit.equipment_samples import READINGS, a_bow, a_build, a_setup, a_shaft

from spinewright.equipment import (
    Archer,
    Bow,
    BowKind,
    Component,
    Fletching,
    ForceReading,
    Head,
    HeadKind,
    Release,
    Rest,
    RestKind,
    Shaft,
    SpeedReading,
)
from spinewright.errors import EquipmentError, ScopeError
from spinewright.units import DEGREE, GRAIN, INCH, POUND_FORCE, Hand

VANES = Fletching(3, 5.9 * GRAIN, 0.0515, 0.0117)
REST = Rest(RestKind.DROP_AWAY)


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (
            lambda: a_shaft(static_spine=0.030 * INCH),
            "static spine: 30 (0.76 mm) cannot be right; plausible is 150 (3.81 mm) to 2000",
        ),
        (lambda: a_shaft(static_spine=3.000 * INCH), "static spine: 3000 (76.20 mm) cannot be right"),
        (lambda: a_shaft(linear_density=-1e-2), "mass per length: -3.9"),
        (lambda: a_shaft(inner_diameter=0.2905 * INCH), "inner diameter is not smaller than its outer diameter"),
        (lambda: a_shaft(outer_diameter=0.02), "outer diameter"),
        (lambda: a_shaft(stiff_side_difference=0.9), "stiff-side difference"),
        (lambda: a_shaft(straightness=0.1), "straightness"),
        (lambda: a_shaft(uncut_length=2.0), "uncut length"),
        (lambda: Component(-1e-3), "mass of a component: -15.4 gr (-1 g) cannot be right"),
        (lambda: Component(1e-3, -0.1), "length of a component"),
        (lambda: Component(1e-3, 0.0, 3.0), "place of a component"),
        (lambda: replace(VANES, count=9), "number of vanes: 9 cannot be right; plausible is 2 to 6"),
        (lambda: replace(VANES, count=2.5), "2.5 is not a whole number"),  # type: ignore[arg-type] # as a file may say
        (lambda: replace(VANES, mass=-1e-4), "mass of one vane"),
        (lambda: replace(VANES, length=0.3), "length of a vane"),
        (lambda: replace(VANES, height=0.1), "height of a vane"),
        (lambda: replace(VANES, offset=40 * DEGREE), "offset of the vanes: 40 deg cannot be right"),
        (lambda: replace(VANES, from_rear=0.3), "distance of the vanes from the nock throat"),
        (lambda: Head(5 * GRAIN), "point weight"),
        (lambda: Head(100 * GRAIN, 0.3), "length of the point"),
        (lambda: Head(100 * GRAIN, blade_area=1e-4), "a field point has no blades"),
        (lambda: Head(100 * GRAIN, kind=HeadKind.FIXED), "fixed-blade head without its blades"),
        (lambda: Head(100 * GRAIN, kind=HeadKind.FIXED, blade_count=90, blade_area=1e-4), "number of blades"),
        (lambda: a_build(throat_length=40 * INCH), "arrow length: 40 in (1016 mm) cannot be right"),
        (lambda: a_build(carbon_length=28.7 * INCH), "do not go together; measure both to the same front end, where"),
        (lambda: a_build(carbon_length=25.0 * INCH), "do not go together"),
        (lambda: a_build(shaft=a_shaft(uncut_length=27.0 * INCH)), "is longer than the uncut shaft"),
        (lambda: a_build(tape_mass=-1e-4), "mass of the tape"),
        (
            lambda: a_build(
                throat_length=18.5 * INCH, carbon_length=18 * INCH, fletching=Fletching(3, 1e-4, 0.15, 0.02, 0.0, 0.12)
            ),
            "reach beyond the middle",
        ),
        (lambda: a_build(head=Head(450 * GRAIN), insert=Component(300 * GRAIN)), "mass of the whole arrow"),
        (lambda: a_bow(peak_weight=130 * POUND_FORCE), "peak weight: 130 lb (578 N) cannot be right"),
        (lambda: a_bow(peak_weight=-60 * POUND_FORCE), "peak weight"),
        (lambda: a_bow(let_off=0.97), "let-off: 97 % cannot be right; plausible is 0 to 95 %"),
        (lambda: a_bow(draw_length=40 * INCH), "draw length"),
        (lambda: a_bow(brace_height=2 * INCH), "brace height"),
        (lambda: a_bow(draw_length=17.5 * INCH, brace_height=10.9 * INCH), "leaves no power stroke"),
        (lambda: a_bow(axle_to_axle=60 * INCH), "axle-to-axle length"),
        (lambda: a_bow(string_mass=0.2), "mass of the string"),
        (lambda: a_bow(on_string=-0.1), "mass of what is on the string"),
        (lambda: a_bow(peep_mass=0.2), "mass of the peep"),
        (lambda: a_bow(peep_above=2.0), "height of the peep"),
        (lambda: a_bow(weight_per_turn=50 * POUND_FORCE), "weight per turn"),
        (lambda: a_bow(turns_allowed=-1.0), "turns the maker allows"),
        (lambda: a_bow(turns_out_now=-1.0), "turns out at the start"),
        (lambda: a_bow(lightest_arrow=1.0), "maker's lightest arrow"),
        (lambda: a_bow(weakest_spine=0.030 * INCH), "maker's weakest spine"),
        (lambda: a_bow(curve=READINGS[:3]), "3 readings do not make a draw curve; give at least five"),
        (lambda: a_bow(curve=(*READINGS[:5], READINGS[2], *READINGS[6:])), "the draw falls back from 13.9 in"),
        (lambda: a_bow(curve=(*READINGS[:5], READINGS[4], *READINGS[6:])), "the draw falls back from 13.9 in"),
        (lambda: a_bow(curve=(*READINGS[:5], replace(READINGS[5], force=0.0), *READINGS[6:])), "the force at 16.4 in"),
        (lambda: a_bow(curve=READINGS[:8]), "the last draw is 21.4 in (543.6 mm), but full draw is 26.7 in"),
        (lambda: a_bow(curve=READINGS, draw_length=27.5 * INCH), "read the scale up to full draw and no further"),
        (lambda: a_bow(curve=READINGS, brace_height=8.4 * INCH), "is shorter than the brace height"),
        (lambda: a_bow(curve=READINGS, peak_weight=30 * POUND_FORCE), "the highest reading is 61.5 lb (274 N)"),
        (lambda: ForceReading(2.0, 100.0), "draw of a force reading"),
        (lambda: ForceReading(0.5, -1.0), "force of a force reading"),
        (lambda: SpeedReading(0.5, 80.0), "arrow mass of a chronograph reading"),
        (lambda: SpeedReading(0.025, 300.0), "chronograph reading: 984.3 ft/s"),
        (lambda: SpeedReading(0.025, 80.0, 0.0), "doubt of a chronograph reading"),
        (lambda: replace(REST, ahead=1.0), "rest's place ahead of the grip pivot"),
        (lambda: replace(REST, drops_after=2.0), "travel at which the rest drops"),
        (lambda: Rest(RestKind.BLADE, drops_after=0.1), "a blade rest does not drop"),
        (lambda: replace(REST, per_click_sideways=0.1), "rest's travel per click sideways"),
        (lambda: replace(REST, per_click_height=-1e-4), "rest's travel per click in height"),
        (lambda: Archer(Hand.LEFT, scatter=0.5), "archer's scatter"),
        (lambda: Archer(Hand.LEFT, scatter_doubt=0.0), "doubt of the archer's scatter"),
        (lambda: a_setup(rest_y=0.2), "rest's place sideways from its start"),
        (lambda: a_setup(rest_z=-0.2), "rest's place in height from its start"),
        (lambda: a_setup(nock_z=0.2), "nock point's height"),
        (lambda: a_setup(nock_angle=9.0), "angle the nock was turned"),
        (lambda: a_setup(bolt_turns=40.0), "turns of the limb bolts"),
        (lambda: a_setup(bolts_since_weighed=20.0), "present peak weight: 115.5 lb"),
        (
            lambda: a_setup(bow=a_bow(weight_per_turn=None), bolts_since_weighed=1.0),
            "weigh the bow again, or give the weight",
        ),
        (lambda: a_setup(bow=a_bow(draw_length=31.0 * INCH)), "does not reach the rest at full draw"),
    ],
)
def test_refuses(make: Callable[[], object], sentence: str) -> None:
    with pytest.raises(EquipmentError) as caught:
        make()
    text = str(caught.value)
    assert sentence in text
    assert caught.value.place.field is not None
    assert text.startswith(f"{caught.value.place.field}: ")
    assert text.count("\n") == 0
    assert text.count("; ") == 1


SAMPLES = [a_shaft(), Component(1e-3), VANES, Head(0.007), a_build(), REST, a_bow(), a_setup(), Archer(Hand.RIGHT)]
SAMPLES += [ForceReading(0.5, 100.0), SpeedReading(0.025, 80.0)]


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: type(sample).__name__)
def test_no_field_takes_what_is_not_finite(sample: Any, bad: float) -> None:  # noqa: ANN401 - any value class
    numbers = [field.name for field in fields(sample) if "float" in str(field.type) or field.type == "int"]
    assert numbers
    for name in numbers:
        with pytest.raises(EquipmentError):
            replace(sample, **{name: bad})


@pytest.mark.parametrize("kind", [BowKind.RECURVE, BowKind.LONGBOW])
def test_only_compounds(kind: BowKind) -> None:
    with pytest.raises(ScopeError, match="is not supported yet"):
        a_bow(kind=kind)


def test_only_release_aids() -> None:
    with pytest.raises(ScopeError, match="a finger release is not supported yet"):
        Archer(Hand.RIGHT, release=Release.FINGERS)


@pytest.mark.parametrize("pounds", [9.0, 25.0, 45.0, 90.0])
@pytest.mark.parametrize("spine", [0.150, 0.5, 1.0, 2.0])
def test_takes_what_the_trade_sells(pounds: float, spine: float) -> None:
    assert isinstance(a_bow(peak_weight=pounds * POUND_FORCE), Bow)
    assert isinstance(a_shaft(static_spine=spine * INCH), Shaft)
    for inches in (18.0, 34.0):
        build = a_build(throat_length=inches * INCH, carbon_length=(inches - 0.5) * INCH)
        assert 200 * GRAIN < build.total_mass(bare=False) < 900 * GRAIN


def test_mirrored_twice_is_the_same() -> None:
    setup = a_setup(rest_y=0.001, nock_angle=0.4, rest_z=-0.002)
    other = setup.mirrored()
    assert (other.rest_y, other.nock_angle, other.rest_z) == (-0.001, -0.4, -0.002)
    assert other.build.fletching.offset == -setup.build.fletching.offset
    assert other.mirrored() == setup
