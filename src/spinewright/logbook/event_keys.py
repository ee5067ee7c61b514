"""Every key of every kind of event: its form, whether it is needed, and one line that explains it."""

from __future__ import annotations

from types import MappingProxyType

from spinewright.equipment.arrow import HeadKind
from spinewright.equipment.bow import CurveShape
from spinewright.evidence.values import TargetKind
from spinewright.logbook.keys import ARROW_PARTS, POINT, READINGS, REST, SHAFT, Form, Key
from spinewright.units import Kind

__all__ = ["EVENTS", "EVENT_HEAD", "EventKeys"]

EventKeys = tuple[Key, ...]

EVENT_HEAD: EventKeys = (
    Key("kind", Form.TEXT, "what happened, one of the kinds below", '"shots"', needed=True),
    Key(
        "id",
        Form.TEXT,
        "short and unique; left out in a file written by hand, events count '#1', '#2', ...",
        '"e5k2q7xa"',
    ),
    Key("when", Form.MOMENT, "when it was; events stand in order of time", "2026-05-03T10:15:00"),
    Key("note", Form.TEXT, "your own words", '"light wind"'),
)
"""The keys that every event may have."""

_STATE = Key("state", Form.TEXT, "bare or fletched", '"bare"', needed=True)
_SHAFT_NUMBER = Key("shaft", Form.WHOLE, "the number written on the shaft", "1", needed=True)
_BAD = Key("bad", Form.YES_NO, "you called it a bad shot before looking", "false")
_WEIGHED = Key("weighed", Kind.FORCE, "peak weight on a scale, measured now", '"61 lb"')

_HIT: EventKeys = (
    _SHAFT_NUMBER,
    _STATE,
    Key("hole", Form.SIDES, "where the POINT went in, from the aiming spot", '"left 1.2 in, high 0.5 in"', needed=True),
    Key(
        "nock_leans", Form.LEAN, "which way the NOCK end leans out of the target; a side alone will do", '"right 2 deg"'
    ),
    _BAD,
    Key("head", HeadKind, "the head, if it is not the one the arrow was built with", '"field point"'),
)

_ANSWER: EventKeys = (
    Key("question", Form.TEXT, "the name of the question", '"mark"', needed=True),
    Key(
        "answer",
        Form.TEXT,
        "the answer as you would type it; a table may take many lines",
        '"20 yd: 31 mm"',
        needed=True,
    ),
)

_TARGET: EventKeys = (
    Key("distance", Kind.DISTANCE, "bow to target", '"20 yd"', needed=True),
    Key("target", TargetKind, "what was shot at; decides what a leaning nock is worth", '"fresh foam"'),
    Key("square", Form.YES_NO, "the target's front stood square to the line of shot", "true"),
    Key("hits", Form.TABLES, "the arrows, one section each", needed=True, keys=_HIT),
)


def _checks(*rows: tuple[str, str]) -> EventKeys:
    return tuple(Key(name, Form.YES_NO, what, "true") for name, what in rows)


_BOW_CHECK = (
    *_checks(
        ("cam_timing", "cams stop together"),
        ("cam_lean", "cams lean no more than they should, at rest and drawn"),
        ("axle_and_brace", "axle to axle and brace height as the maker states"),
        ("peak_weight", "peak weight, on a scale, as it should be"),
        ("limb_bolts_equal", "both limb bolts turned alike"),
        ("string_marks", "string and cables sound and on their marks"),
        ("nock_fit", "the nock clicks on and falls off at a tap"),
        ("nock_height", "nock height and loop as they should be"),
        ("centre_shot", "centre shot where it should be"),
        ("rest_drop", "the rest drops when and as far as it should"),
    ),
    _WEIGHED,
)
_CONTACT_CHECK = _checks(
    ("vanes", "no powder on the vanes"),
    ("launcher", "no mark on the launcher"),
    ("cables", "no mark on the cables"),
    ("shelf", "no mark on the shelf"),
)
_NOCK_READING: EventKeys = (
    Key("nock", Kind.ANGLE, "how far the nock was turned from where it was", '"20 deg"', needed=True),
    Key("tail", Form.SIDES, "through paper: where the TAIL tore, from the point's hole", '"right 0.4 in"'),
    Key("hole", Form.SIDES, "on a target: where the POINT went in, from the aiming spot", '"left 0.8 in"'),
)
_FLETCHED: EventKeys = (
    Key("fletched_centre", Form.SIDES, "on a target: middle of a fletched group from the same spot", '"right 0.2 in"'),
    Key("fletched_shots", Form.WHOLE, "how many arrows made that group", "3"),
)

EVENTS: MappingProxyType[str, EventKeys] = MappingProxyType(
    {
        "bow check": _BOW_CHECK,
        "contact check": _CONTACT_CHECK,
        "safe length": (
            Key("mark", Kind.LENGTH, "nock throat to the mark made at full draw", '"27 1/4 in"', needed=True),
            Key("helper", Form.YES_NO, "a helper made the mark", "true", needed=True),
            Key("backstop", Form.YES_NO, "the bow was drawn facing a backstop", "true", needed=True),
        ),
        "shots": _TARGET,
        "proof group": (
            Key("purpose", Form.TEXT, "before or after", '"before"', needed=True),
            *_TARGET,
        ),
        "tear": (
            _SHAFT_NUMBER,
            _STATE,
            Key("distance", Kind.DISTANCE, "bow to paper", '"6 ft"', needed=True),
            Key("tail", Form.SIDES, "where the TAIL tore, from the point's hole", '"right 0.75 in"', needed=True),
            _BAD,
        ),
        "nock series": (
            _SHAFT_NUMBER,
            _STATE,
            Key("distance", Kind.DISTANCE, "bow to paper or target", '"6 ft"', needed=True),
            Key("through", Form.TEXT, "paper or target", '"paper"', needed=True),
            Key("turning", Form.TEXT, "clockwise or counterclockwise, seen from behind", '"clockwise"', needed=True),
            Key("readings", Form.TABLES, "one shot each", needed=True, keys=_NOCK_READING),
            *_FLETCHED,
        ),
        "chronograph": (
            _STATE,
            Key("speed", Kind.SPEED, "what it said", '"284 ft/s"', needed=True),
            Key("doubt", Kind.SPEED, "how far single readings stray", '"2 ft/s"'),
        ),
        "rest moved": (
            Key("clicks", Form.CLICKS, "clicks", '"left 3, up 2"'),
            Key("intended", Form.SIDES, "how far it was meant to move", '"left 1/64 in"'),
            Key("measured", Form.SIDES, "how far it did move", '"left 0.014 in"'),
        ),
        "rest measured": (
            Key("sideways_per_click", Kind.LENGTH, "travel of one click sideways; measure ten clicks", '"0.002 in"'),
            Key("height_per_click", Kind.LENGTH, "travel of one click in height; measure ten clicks", '"0.0018 in"'),
            Key("centre_shot", Kind.LENGTH, "riser to the middle of the shaft, as it stands now", '"27/32 in"'),
            Key("rest_height", Kind.LENGTH, "height of the rest over your own mark, as it stands now", '"1 1/4 in"'),
        ),
        "nock point moved": (
            Key("intended", Form.SIDES, "how far it was meant to move", '"up 1/32 in"'),
            Key("measured", Form.SIDES, "how far it did move", '"up 0.03 in"'),
        ),
        "bolts turned": (
            Key("both_bolts", Form.TURNS, "what BOTH limb bolts were turned, equally", '"out 1/2"', needed=True),
            _WEIGHED,
        ),
        "cut": (
            Key("intended", Kind.LENGTH, "what was meant to come off the back", '"1/2 in"'),
            Key("throat_length", Kind.LENGTH, "nock throat to shaft end, measured now", '"29 3/8 in"', needed=True),
            Key("carbon_length", Kind.LENGTH, "shaft end to shaft end, measured now", '"28 3/4 in"', needed=True),
        ),
        "point changed": POINT,
        "nock turned": (
            Key(
                "turned",
                Form.NOCK_TURN,
                "the nocks of the whole set, seen from behind",
                '"clockwise 40 deg"',
                needed=True,
            ),
            Key("shaft", Form.WHOLE, "number of the one shaft whose nock was turned, if it was one alone", "7"),
        ),
        "shaft set aside": (_SHAFT_NUMBER,),
        "shaft changed": (
            Key("shaft", Form.TABLE, "the new shaft; left out = the same kind again", keys=SHAFT),
            Key("throat_length", Kind.LENGTH, "nock throat to shaft end", '"30 1/2 in"', needed=True),
            Key("carbon_length", Kind.LENGTH, "shaft end to shaft end", '"29 7/8 in"', needed=True),
            Key("spare_shafts", Form.WHOLE, "spare shafts of this kind that are left", "3"),
        ),
        "build changed": (
            *(Key(key.name, key.form, key.what, keys=key.keys) for key in ARROW_PARTS),
            Key("throat_length", Kind.LENGTH, "nock throat to shaft end, if the nock sits otherwise", '"29 7/8 in"'),
        ),
        "tape changed": (
            Key("tape", Kind.MASS, "tape on each BARE shaft where the vanes would be", '"21 gr"', needed=True),
        ),
        "bow changed": (
            Key("what", Form.TEXT, "what was done, and by whom", '"new string, by a technician"', needed=True),
            _WEIGHED,
            Key("let_off", Kind.FRACTION, "measured now", '"82 %"'),
            Key("draw_length", Kind.LENGTH, "measured now", '"28 3/4 in"'),
            Key("brace_height", Kind.LENGTH, "measured now", '"6 5/8 in"'),
            Key("axle_to_axle", Kind.LENGTH, "measured now", '"32 3/4 in"'),
            Key("string_mass", Kind.MASS, "the new string", '"98 gr"'),
            Key("on_string", Kind.MASS, "loop, nock sets and what else moves with the nock", '"12 gr"'),
            Key("shape", CurveShape, "how the draw feels now", '"middling"'),
            Key("draw_readings", Form.TABLES, "readings of a scale, taken now", keys=READINGS),
            Key("rest", Form.TABLE, "the new rest", keys=REST),
        ),
        "sight moved": (
            Key("clicks", Form.CLICKS, "clicks", '"left 2, up 4"'),
            Key("measured", Form.SIDES, "how far it moved", '"up 1/16 in"'),
        ),
        "flex check": (
            _SHAFT_NUMBER,
            Key("sound", Form.YES_NO, "flexed, turned and looked at: no crack, no creak", "true", needed=True),
        ),
        "settings good": (),
        "answers": (
            Key("to", Form.TEXT, "the task around the tune that was answered", '"marks"', needed=True),
            Key("answers", Form.TABLES, "what was answered, one section each", needed=True, keys=_ANSWER),
        ),
        "undo": (
            Key("undoes", Form.TEXT, "the id of the event that was written down wrongly", '"e5k2q7xa"', needed=True),
        ),
    }
)
"""The keys of each kind of event, besides ``EVENT_HEAD``."""
