"""Every key of the session file outside its events: its form, whether it is needed, and one line that explains it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum

from spinewright.equipment.archer import Purpose, Release, TimeAtHand
from spinewright.equipment.arrow import HeadKind
from spinewright.equipment.bow import BowKind, CurveShape, RestKind
from spinewright.equipment.shaft import ShaftMaterial
from spinewright.units import Hand, Kind, System

__all__ = [
    "ARROW_PARTS",
    "POINT",
    "READINGS",
    "REST",
    "ROOT",
    "SHAFT",
    "VANES",
    "Form",
    "Key",
    "SkillLevel",
    "SpineTest",
]


class Form(Enum):
    """How a value is written where it is neither a quantity nor one of a few words."""

    TEXT = "text"
    YES_NO = "true or false"
    WHOLE = "a whole number"
    NUMBER = "a number"
    DATE = "a date"
    MOMENT = "a date, or a date and time"
    SIDES = "left or right, high or low, each with a length"
    LEAN = "left or right, high or low, each with an angle"
    CLICKS = "left or right, up or down, each with a number of clicks"
    TURNS = "in or out with a number of turns"
    NOCK_TURN = "clockwise or counterclockwise with an angle"
    MASSES = "a list of masses"
    TABLE = "a section"
    TABLES = "a list of sections"


class SpineTest(StrEnum):
    """Which test a static spine comes from."""

    CURRENT = "current"  # 28 in span, 880 g
    OLDER = "older"  # 26 in span, 2 lb


class SkillLevel(StrEnum):
    """A guess at the archer's group when neither a group nor a score is known."""

    LEARNING = "learning"
    STEADY = "steady"
    EXPERT = "expert"


@dataclass(frozen=True, slots=True)
class Key:
    """One key: ``form`` a kind of quantity, a set of words or a ``Form``; ``keys`` those inside a section.

    ``example`` is what stands to the right of '=' in a file ('' for a section).
    """

    name: str
    form: Kind | type[StrEnum] | Form
    what: str
    example: str = ""
    needed: bool = False
    keys: tuple[Key, ...] = ()


SCOPE = (
    Key("hand", Hand, "the hand that draws the string", '"right"', needed=True),
    Key("release", Release, "how the string is let go; fingers are not supported yet", '"release aid"', needed=True),
    Key("bow", BowKind, "the kind of bow; only a compound is supported yet", '"compound"', needed=True),
    Key("purpose", Purpose, "what the arrow is for", '"target"', needed=True),
    Key("time", TimeAtHand, "how much may be changed today", '"an afternoon"'),
    Key("units", System, "how numbers are printed; any unit may be written", '"inch"'),
)

ARCHER = (
    Key("name", Form.TEXT, "whatever you call yourself", '"me"'),
    Key("group", Kind.LENGTH, "your usual group, widest hole to hole; with the next two", '"3.5 in"'),
    Key("group_shots", Form.WHOLE, "arrows in that group", "6"),
    Key("group_distance", Kind.DISTANCE, "distance of that group", '"20 yd"'),
    Key("score", Form.WHOLE, "or instead: a usual score; with the next four", "552"),
    Key("score_maximum", Form.WHOLE, "the highest score of that round", "600"),
    Key("score_arrows", Form.WHOLE, "arrows in that round", "60"),
    Key("score_face", Form.TEXT, "the face it was shot on, by its width", '"40 cm"'),
    Key("score_distance", Kind.DISTANCE, "distance of that round", '"18 m"'),
    Key("level", SkillLevel, "or instead, the roughest: how you shoot", '"steady"'),
)

REST = (
    Key("kind", RestKind, "how the rest lets go of the shaft", '"drop-away"', needed=True),
    Key("ahead", Kind.LENGTH, "contact point in front of the grip pivot; minus = behind", '"-0.4 in"'),
    Key("drops_after", Kind.LENGTH, "how far the string has come when a drop-away has let go", '"4 1/2 in"'),
    Key("sideways_per_click", Kind.LENGTH, "travel of one click sideways; measure ten clicks", '"0.002 in"'),
    Key("height_per_click", Kind.LENGTH, "travel of one click in height; measure ten clicks", '"0.0018 in"'),
)

READINGS = (
    Key("draw", Kind.LENGTH, "string to grip pivot when the scale was read", '"20 in"', needed=True),
    Key("force", Kind.FORCE, "what the scale said", '"61 lb"', needed=True),
)

SPEEDS = (
    Key("arrow", Kind.MASS, "what the arrow weighed", '"391 gr"', needed=True),
    Key("speed", Kind.SPEED, "what the chronograph said", '"283 ft/s"', needed=True),
    Key("doubt", Kind.SPEED, "how far single readings stray", '"2 ft/s"'),
)

MAKER = (
    Key("lightest_arrow", Kind.MASS, "lightest arrow the bow's maker allows", '"335 gr"'),
    Key("weakest_spine", Kind.SPINE, "weakest spine the bow's maker or the shaft chart allows", '"400"'),
    Key("weight_per_turn", Kind.FORCE, "peak weight for one turn of both limb bolts", '"2.3 lb"'),
    Key("turns_allowed", Form.NUMBER, "turns out from fully in that the bow's maker allows", "4"),
)

BOW = (
    Key("name", Form.TEXT, "whatever you call it", '"shed bow"'),
    Key("peak_weight", Kind.FORCE, "peak weight, on a scale", '"61.5 lb"', needed=True),
    Key("let_off", Kind.FRACTION, "(peak - holding) / peak", '"82 %"', needed=True),
    Key(
        "draw_length",
        Kind.LENGTH,
        "nock point to grip pivot at full draw, plus 1.75 in (44.5 mm)",
        '"28 3/4 in"',
        needed=True,
    ),
    Key("brace_height", Kind.LENGTH, "string to grip pivot at rest", '"6 5/8 in"', needed=True),
    Key("axle_to_axle", Kind.LENGTH, "axle to axle at rest", '"32 3/4 in"', needed=True),
    Key("shape", CurveShape, "how the draw feels, if there are no force readings", '"middling"'),
    Key("string_mass", Kind.MASS, "the whole string with its servings", '"98 gr"'),
    Key("on_string", Kind.MASS, "loop, nock sets and what else moves with the nock", '"12 gr"'),
    Key("peep_mass", Kind.MASS, "peep and tubing", '"9 gr"'),
    Key("peep_above", Kind.LENGTH, "peep above the nock", '"5 in"'),
    Key("draw_readings", Form.TABLES, "readings of a scale, the draw increasing", keys=READINGS),
    Key("chronograph", Form.TABLES, "speeds, best with two arrow weights", keys=SPEEDS),
    Key("rest", Form.TABLE, "the arrow rest", needed=True, keys=REST),
    Key("maker", Form.TABLE, "what the maker allows; it stands above this program", keys=MAKER),
)

START = (
    Key("centre_shot", Kind.LENGTH, "riser to the middle of the shaft, measured", '"13/16 in"'),
    Key("rest_height", Kind.LENGTH, "height of the rest over a mark of your own", '"1 1/4 in"'),
    Key("nock_height", Kind.LENGTH, "nock point above square", '"1/16 in"'),
    Key("bolts_out", Form.NUMBER, "turns both limb bolts are out from fully in", "1.5"),
    Key("note", Form.TEXT, "anything you need to put it all back", '"scale on the rest reads 3.2"'),
)

SHAFT = (
    Key("name", Form.TEXT, "whatever you call it", '"grey ones"'),
    Key("material", ShaftMaterial, "what it is made of; decides which cautions apply", '"carbon"'),
    Key("spine", Kind.SPINE, "static spine, in thousandths of an inch or as a length", '"355"', needed=True),
    Key(
        "spine_test", SpineTest, "current = 28 in span and 880 g; older = 26 in span and 2 lb", '"current"', needed=True
    ),
    Key("weight", Kind.LINEAR_DENSITY, "mass per length", '"8.6 gr/in"', needed=True),
    Key("outer_diameter", Kind.LENGTH, "outer diameter", '"0.262 in"', needed=True),
    Key("inner_diameter", Kind.LENGTH, "inner diameter, 0 in or 0 mm for a solid shaft", '"0.204 in"', needed=True),
    Key("stiff_side_difference", Kind.FRACTION, "(weakest - stiffest reading round the shaft) / mean", '"3 %"'),
    Key("straightness", Kind.LENGTH, "total indicator reading", '"0.003 in"'),
    Key("uncut_length", Kind.LENGTH, "length as bought", '"32 in"'),
)

PART = (
    Key("mass", Kind.MASS, "what one weighs", '"9 gr"', needed=True),
    Key("length", Kind.LENGTH, "how long it is", '"0.9 in"'),
    Key(
        "offset",
        Kind.LENGTH,
        "its centre from the shaft end it sits at, toward the middle; minus = outside",
        '"-0.1 in"',
    ),
)

VANES = (
    Key("count", Form.WHOLE, "how many", "3", needed=True),
    Key("mass", Kind.MASS, "one vane with its glue", '"6.8 gr"', needed=True),
    Key("length", Kind.LENGTH, "along the shaft", '"2.1 in"', needed=True),
    Key("height", Kind.LENGTH, "from the shaft's surface", '"0.46 in"', needed=True),
    Key("offset", Form.LEAN, "right turns the arrow clockwise seen from behind", '"right 1.5 deg"'),
    Key("from_throat", Kind.LENGTH, "rear edge of the vanes to the nock throat", '"1 in"'),
)

POINT = (
    Key("mass", Kind.MASS, "all that screws or glues in, weights behind it included", '"110 gr"', needed=True),
    Key("length", Kind.LENGTH, "how far it stands out in front of the shaft", '"1 in"'),
    Key("head", HeadKind, "what is on the front", '"field point"'),
    Key("blade_area", Kind.AREA, "side area of one blade", '"0.5 in2"'),
    Key("blades", Form.WHOLE, "how many blades", "3"),
    Key("width", Kind.LENGTH, "cutting width", '"1 1/8 in"'),
)

ARROW_PARTS = (
    Key("nock", Form.TABLE, "the nock", needed=True, keys=PART),
    Key("bushing", Form.TABLE, "the bushing or pin the nock sits on", keys=PART),
    Key("wrap", Form.TABLE, "the wrap under the vanes", keys=PART),
    Key("insert", Form.TABLE, "the insert", keys=PART),
    Key("collar", Form.TABLE, "the collar round the front", keys=PART),
    Key("vanes", Form.TABLE, "the vanes", needed=True, keys=VANES),
)

ARROW = (
    Key("throat_length", Kind.LENGTH, "nock throat to the front end of the shaft", '"29 7/8 in"', needed=True),
    Key("carbon_length", Kind.LENGTH, "shaft end to shaft end, what the saw leaves", '"29 1/4 in"', needed=True),
    Key("expected_carbon_length", Kind.LENGTH, "carbon length that you or a chart expect to end at", '"28 in"'),
    Key("tape", Kind.MASS, "tape on each BARE shaft where the vanes would be", '"0 gr"'),
    *ARROW_PARTS,
    Key("point", Form.TABLE, "the point or head", needed=True, keys=POINT),
)

OWNED = (
    Key("points", Form.MASSES, "point masses you have", '["100 gr", "110 gr", "125 gr"]'),
    Key("spare_shafts", Form.WHOLE, "uncut shafts of the same kind that are left", "3"),
    Key("shafts", Form.TABLES, "other shafts at hand", keys=SHAFT),
)

LIMIT = (
    Key("about", Form.TEXT, "the round, or the law", '"indoor round at my club"', needed=True),
    Key("says", Form.TEXT, "what you read there", '"no shaft thicker than 9.3 mm"', needed=True),
    Key("dated", Form.DATE, "the day you read it", "2026-01-15", needed=True),
)

ROOT = (
    Key("format", Form.WHOLE, "the version of this file", "1", needed=True),
    Key("scope", Form.TABLE, "what this session is about", needed=True, keys=SCOPE),
    Key("archer", Form.TABLE, "who shoots; a group, a score or a level is needed", needed=True, keys=ARCHER),
    Key("bow", Form.TABLE, "the bow as it stands, measured", needed=True, keys=BOW),
    Key("start", Form.TABLE, "where rest and nock point stood at the start", keys=START),
    Key("shaft", Form.TABLE, "the shaft of the set", needed=True, keys=SHAFT),
    Key("arrow", Form.TABLE, "the arrow as built", needed=True, keys=ARROW),
    Key("owned", Form.TABLE, "what lies on the bench", keys=OWNED),
    Key(
        "limits",
        Form.TABLES,
        "limits of rounds or hunting law that you looked up; never this program's claim",
        keys=LIMIT,
    ),
    Key("event", Form.TABLES, "what was done and seen, in order"),
)
