"""Reads the sections of a session file into equipment, scope and what lies on the bench."""

from __future__ import annotations

from types import MappingProxyType

from spinewright.equipment.archer import Purpose, Release, TimeAtHand
from spinewright.equipment.arrow import ArrowBuild, Component, Fletching, Head, HeadKind
from spinewright.equipment.bow import Bow, BowKind, CurveShape, ForceReading, Rest, RestKind, SpeedReading
from spinewright.equipment.setup import Setup
from spinewright.equipment.shaft import Shaft, ShaftMaterial, spine_from_older_test
from spinewright.errors import Place, ScopeError
from spinewright.logbook.keys import SpineTest
from spinewright.logbook.session import Owned, OwnLimit, Scope, StartMarks
from spinewright.logbook.table import Table
from spinewright.units import Hand, System

__all__ = [
    "read_bow",
    "read_build",
    "read_component",
    "read_curve",
    "read_expected_length",
    "read_limits",
    "read_marks",
    "read_owned",
    "read_point",
    "read_rest",
    "read_scope",
    "read_setup",
    "read_shaft",
    "read_vanes",
    "written",
]

_SPEED_DOUBT = 0.6  # m/s, one sd of a single reading of a bench chronograph (from memory)
_BOW_NAMES = MappingProxyType(
    {
        "axle-to-axle length": "axle_to_axle",
        "mass of the string": "string_mass",
        "mass of what is on the string": "on_string",
        "mass of the peep": "peep_mass",
        "height of the peep above the nock": "peep_above",
        "weight per turn": "maker.weight_per_turn",
        "turns the maker allows": "maker.turns_allowed",
        "maker's lightest arrow": "maker.lightest_arrow",
        "maker's weakest spine": "maker.weakest_spine",
        "draw-force readings": "draw_readings",
    }
)
_READING_NAMES = MappingProxyType({"draw of a force reading": "draw", "force of a force reading": "force"})
_SPEED_NAMES = MappingProxyType(
    {
        "arrow mass of a chronograph reading": "arrow",
        "chronograph reading": "speed",
        "doubt of a chronograph reading": "doubt",
    }
)
_REST_NAMES = MappingProxyType(
    {
        "rest's place ahead of the grip pivot": "ahead",
        "travel at which the rest drops": "drops_after",
        "rest's travel per click sideways": "sideways_per_click",
        "rest's travel per click in height": "height_per_click",
    }
)
_SHAFT_NAMES = MappingProxyType({"static spine": "spine", "shaft's mass per length": "weight"})
_PART_NAMES = MappingProxyType(
    {"mass of a component": "mass", "length of a component": "length", "place of a component": "offset"}
)
_VANE_NAMES = MappingProxyType(
    {
        "number of vanes": "count",
        "mass of one vane": "mass",
        "length of a vane": "length",
        "height of a vane": "height",
        "offset of the vanes": "offset",
        "distance of the vanes from the nock throat": "from_throat",
    }
)
_POINT_NAMES = MappingProxyType(
    {
        "point weight": "mass",
        "length of the point": "length",
        "area of one blade": "blade_area",
        "number of blades": "blades",
        "cutting width": "width",
        "kind of head": "head",
    }
)
_ARROW_NAMES = MappingProxyType(
    {"arrow length": "throat_length", "shaft length": "carbon_length", "mass of the tape": "tape"}
)
_NOCK_OFFSET = -0.004  # m; centre of a push-in nock behind the shaft end (from memory)
_OPTIONAL_PARTS = ("bushing", "wrap", "insert", "collar")


def read_scope(table: Table) -> Scope:
    """[scope]; finger loose and anything but a compound are refused here, before anything is concluded."""
    release = table.word(Release)("release")
    if release is not Release.AID:
        raise ScopeError(
            "shooting off the fingers is not supported yet",
            f'only release = "{Release.AID}" can be worked with',
            Place(field=table.at("release")),
        )
    bow = table.word(BowKind)("bow")
    if bow is not BowKind.COMPOUND:
        raise ScopeError(
            f"a {bow} is not supported yet", 'only bow = "compound" can be worked with', Place(field=table.at("bow"))
        )
    return Scope(
        hand=table.word(Hand)("hand"),
        release=release,
        purpose=table.word(Purpose)("purpose"),
        time_at_hand=table.get("time", table.word(TimeAtHand), TimeAtHand.AFTERNOON),
        system=table.get("units", table.word(System), System.INCH),
    )


def read_setup(root: Table, marks: StartMarks) -> Setup:
    """The recorded start: [bow], [shaft] and [arrow], everything else at zero by definition."""
    bow = _read_bow(root.section("bow"), marks)
    build = read_build(root)
    arrow = root.section("arrow")
    with arrow.placed(_ARROW_NAMES):
        return Setup(build=build, bow=bow)


def read_bow(root: Table) -> Bow:
    """[bow], with the turns of its limb bolts from [start]."""
    return _read_bow(root.section("bow"), read_marks(root.section("start")))


def read_build(root: Table) -> ArrowBuild:
    """[shaft] and [arrow]."""
    return _read_build(root.section("arrow"), read_shaft(root.section("shaft")))


def _read_bow(table: Table, marks: StartMarks) -> Bow:
    rest = read_rest(table.section("rest"))
    maker = table.section("maker")
    speeds = tuple(_read_speed(row) for row in table.sections("chronograph"))
    curve = read_curve(table)
    quantity = table.quantity
    with table.placed(_BOW_NAMES):
        return Bow(
            name=table.get("name", table.text, ""),
            peak_weight=quantity("peak_weight"),
            let_off=quantity("let_off"),
            draw_length=quantity("draw_length"),
            brace_height=quantity("brace_height"),
            axle_to_axle=quantity("axle_to_axle"),
            rest=rest,
            curve=CurveShape.MIDDLING if curve is None else curve,
            string_mass=table.get("string_mass", quantity, 0.0065),
            on_string=table.get("on_string", quantity, 0.0008),
            peep_mass=table.get("peep_mass", quantity, 0.0006),
            peep_above=table.get("peep_above", quantity, 0.13),
            weight_per_turn=maker.maybe("weight_per_turn", maker.quantity),
            turns_allowed=maker.maybe("turns_allowed", maker.number),
            turns_out_now=marks.bolts_out or 0.0,
            speeds=speeds,
            lightest_arrow=maker.maybe("lightest_arrow", maker.quantity),
            weakest_spine=maker.maybe("weakest_spine", maker.quantity),
        )


def read_curve(table: Table) -> CurveShape | tuple[ForceReading, ...] | None:
    """The draw curve of a section with ``draw_readings`` or ``shape``; None where it has neither."""
    readings = []
    for row in table.sections("draw_readings"):
        with row.placed(_READING_NAMES):
            readings.append(ForceReading(draw=row.quantity("draw"), force=row.quantity("force")))
    return tuple(readings) if readings else table.maybe("shape", table.word(CurveShape))


def _read_speed(row: Table) -> SpeedReading:
    with row.placed(_SPEED_NAMES):
        return SpeedReading(
            arrow_mass=row.quantity("arrow"),
            speed=row.quantity("speed"),
            doubt=row.get("doubt", row.quantity, _SPEED_DOUBT),
        )


def read_rest(table: Table) -> Rest:
    """[bow.rest]."""
    with table.placed(_REST_NAMES):
        return Rest(
            kind=table.word(RestKind)("kind"),
            ahead=table.get("ahead", table.quantity, 0.0),
            drops_after=table.maybe("drops_after", table.quantity),
            per_click_sideways=table.maybe("sideways_per_click", table.quantity),
            per_click_height=table.maybe("height_per_click", table.quantity),
        )


def read_shaft(table: Table) -> Shaft:
    """[shaft]; a spine by the older test is turned into the current one."""
    spine = table.quantity("spine")
    if table.word(SpineTest)("spine_test") is SpineTest.OLDER:
        spine = spine_from_older_test(spine)
    with table.placed(_SHAFT_NAMES):
        return Shaft(
            name=table.get("name", table.text, ""),
            material=table.get("material", table.word(ShaftMaterial), ShaftMaterial.CARBON),
            static_spine=spine,
            linear_density=table.quantity("weight"),
            outer_diameter=table.quantity("outer_diameter"),
            inner_diameter=table.quantity("inner_diameter"),
            stiff_side_difference=table.get("stiff_side_difference", table.quantity, 0.03),
            straightness=table.get("straightness", table.quantity, 0.0762e-3),
            uncut_length=table.maybe("uncut_length", table.quantity),
        )


def read_component(table: Table) -> Component:
    """A lump such as [arrow.nock]; without an offset it lies inside the shaft end, a nock mostly outside."""
    length = table.get("length", table.quantity, 0.0)
    usual = _NOCK_OFFSET if table.path.endswith("nock") else length / 2.0
    with table.placed(_PART_NAMES):
        return Component(mass=table.quantity("mass"), length=length, offset=table.get("offset", table.quantity, usual))


def read_vanes(table: Table) -> Fletching:
    """[arrow.vanes]; 'right' turns the arrow clockwise seen from behind, which is the positive offset."""
    turn, _ = table.get("offset", table.lean, (0.0, 0.0))
    with table.placed(_VANE_NAMES):
        return Fletching(
            count=table.whole("count"),
            mass=table.quantity("mass"),
            length=table.quantity("length"),
            height=table.quantity("height"),
            offset=-turn if turn else 0.0,
            from_rear=table.get("from_throat", table.quantity, 0.025),
        )


def read_point(table: Table) -> Head:
    """[arrow.point], or a 'point changed' event."""
    with table.placed(_POINT_NAMES):
        return Head(
            mass=table.quantity("mass"),
            length=table.get("length", table.quantity, 0.025),
            kind=table.get("head", table.word(HeadKind), HeadKind.FIELD),
            blade_area=table.get("blade_area", table.quantity, 0.0),
            blade_count=table.get("blades", table.whole, 0),
            width=table.get("width", table.quantity, 0.0),
        )


def _read_build(table: Table, shaft: Shaft) -> ArrowBuild:
    nock = read_component(table.section("nock"))
    vanes = read_vanes(table.section("vanes"))
    point = read_point(table.section("point"))
    others = {name: read_component(table.section(name)) for name in _OPTIONAL_PARTS if written(table, name)}
    with table.placed(_ARROW_NAMES):
        return ArrowBuild(
            shaft=shaft,
            throat_length=table.quantity("throat_length"),
            carbon_length=table.quantity("carbon_length"),
            nock=nock,
            head=point,
            fletching=vanes,
            bushing=others.get("bushing"),
            wrap=others.get("wrap"),
            insert=others.get("insert"),
            collar=others.get("collar"),
            tape_mass=table.get("tape", table.quantity, 0.0),
        )


def written(table: Table, name: str) -> bool:
    """Whether anything at all was filled in in the section ``name``."""
    if not table.given(name):
        return False
    section = table.section(name)
    return any(section.given(key) for key in section.keys)


def read_marks(table: Table) -> StartMarks:
    """[start]."""
    return StartMarks(
        centre_shot=table.maybe("centre_shot", table.quantity),
        rest_height=table.maybe("rest_height", table.quantity),
        nock_height=table.maybe("nock_height", table.quantity),
        bolts_out=table.maybe("bolts_out", table.number),
        note=table.get("note", table.text, ""),
    )


def read_owned(table: Table) -> Owned:
    """[owned]."""
    return Owned(
        points=table.get("points", table.quantities, ()),
        spare_shafts=table.get("spare_shafts", table.whole, 0),
        shafts=tuple(read_shaft(row) for row in table.sections("shafts")),
    )


def read_expected_length(root: Table) -> float | None:
    """Carbon length [m] that [arrow] says to expect."""
    arrow = root.section("arrow")
    return arrow.maybe("expected_carbon_length", arrow.quantity)


def read_limits(root: Table) -> tuple[OwnLimit, ...]:
    """[[limits]]: kept and shown as they were written."""
    return tuple(
        OwnLimit(about=row.text("about"), says=row.text("says"), dated=row.day("dated"))
        for row in root.sections("limits")
    )
