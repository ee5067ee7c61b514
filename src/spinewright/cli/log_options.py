"""The options of every kind of entry: what a person can say about it on the command line."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

__all__ = ["LOG_KINDS", "LogKind", "Say", "Takes"]


class Takes(Enum):
    """What an option takes."""

    TEXT = "one text"
    TEXTS = "a text, and it may be given again"
    WHOLE = "a whole number"
    YES = "nothing: to name it is to say yes"
    STATE = "nothing: one of its two names is given"
    WORD = "an argument without a name"


@dataclass(frozen=True, slots=True)
class Say:
    """One option: the ``key`` it fills, how it is written, what it says, and what it takes."""

    key: str
    flag: str
    what: str
    takes: Takes = Takes.TEXT
    needed: bool = False


@dataclass(frozen=True, slots=True)
class LogKind:
    """One kind of entry: its ``command``, the ``event`` it becomes, and its options."""

    command: str
    event: str
    what: str
    options: tuple[Say, ...]


def _needed(key: str, what: str, takes: Takes = Takes.TEXT) -> Say:
    return Say(key, _flag(key), what, takes, needed=True)


def _said(key: str, what: str, takes: Takes = Takes.TEXT) -> Say:
    return Say(key, _flag(key), what, takes)


def _flag(key: str) -> str:
    return "--" + key.replace("_", "-")


_RULE = "Bare shafts carry a field point, never a broadhead."
_STATE = Say("bare", "--bare/--fletched", f"The arrow was bare, or fletched. {_RULE}", Takes.STATE, needed=True)
_SHAFT = _needed("shaft", "Number written on the shaft.", Takes.WHOLE)
_WEIGHED = _said("weighed", "Peak weight on a scale now, '61 lb'.")
_BAD = _said("bad", "You called it a bad shot before looking.", Takes.YES)
_HIT = "arrow, '7: left 2.1 in, high 0.6 in; nock right 2 deg' (again for each; end with '; bad' if called bad)."
_TARGET = (
    _needed("distance", "Bow to target, '20 yd'."),
    _said("target", "fresh foam, layered mesh, worn foam, bag, straw or unknown."),
    Say("fletched", "--fletched", f"One fletched {_HIT}", Takes.TEXTS),
    Say("bare", "--bare", f"One bare {_HIT} {_RULE}", Takes.TEXTS),
    Say(
        "bad",
        "--bad",
        "Number of a shaft whose shots here you called bad before looking (again for each).",
        Takes.TEXTS,
    ),
    Say("askew", "--not-square", "The target's front did not stand square to the line of shot.", Takes.YES),
)
_SHAFT_KEYS = (
    _said("name", "Whatever you call the new shaft."),
    _said("material", "carbon, aluminium, carbon over aluminium or wood."),
    _said("spine", "Static spine, '340' or '0.340 in'."),
    _said("spine_test", "current (28 in, 880 g) or older (26 in, 2 lb)."),
    _said("weight", "Mass per length, '8.6 gr/in'."),
    _said("outer_diameter", "Outer diameter."),
    _said("inner_diameter", "Inner diameter."),
    _said("stiff_side_difference", "(weakest - stiffest reading round the shaft) / mean, '3 %'."),
    _said("straightness", "Total indicator reading, '0.003 in'."),
    _said("uncut_length", "Length as bought."),
)
_PART = "'mass 9 gr, length 0.9 in, offset -0.1 in'."

LOG_KINDS = (
    LogKind(
        "bow-check",
        "bow check",
        "The two-minute bow check, item by item.",
        (
            Say("everything", "--all-in-order", "Every item was looked at and is in order.", Takes.YES),
            Say("good", "--in-order", "One item in order, such as 'cam timing' (again for each).", Takes.TEXTS),
            Say("wrong", "--wrong", "One item found wrong, such as 'rest drop' (again for each).", Takes.TEXTS),
            _WEIGHED,
        ),
    ),
    LogKind(
        "contact-check",
        "contact check",
        "Powder on what the arrow may touch.",
        (
            Say("everything", "--all-clean", "Vanes, launcher, cables and shelf are clean.", Takes.YES),
            Say("good", "--clean", "One part that is clean: vanes, launcher, cables or shelf.", Takes.TEXTS),
            Say("wrong", "--touched", "One part that was touched.", Takes.TEXTS),
        ),
    ),
    LogKind(
        "safe-length",
        "safe length",
        "The shortest-safe-length mark, made at full draw.",
        (
            _needed("mark", "Nock throat to the mark, '27 1/4 in'."),
            Say("helper", "--helper", "A helper made the mark.", Takes.YES),
            Say("backstop", "--backstop", "The bow was drawn facing a backstop.", Takes.YES),
        ),
    ),
    LogKind("shots", "shots", "Arrows shot at a target and walked up to.", _TARGET),
    LogKind(
        "proof-group",
        "proof group",
        "Your own fletched group, to hold before against after.",
        (_needed("purpose", "before or after."), *_TARGET),
    ),
    LogKind(
        "tear",
        "tear",
        "One arrow through paper.",
        (
            _SHAFT,
            _STATE,
            _needed("distance", "Bow to paper, '6 ft'."),
            _needed("tail", "Where the TAIL tore from the point's hole, 'right 0.75 in'."),
            _BAD,
        ),
    ),
    LogKind(
        "nock-series",
        "nock series",
        "One shaft shot with its nock turned step by step.",
        (
            _SHAFT,
            _STATE,
            _needed("distance", "Bow to paper or target."),
            _needed("through", "paper or target."),
            _needed("turning", "clockwise or counterclockwise, seen from behind the nock."),
            Say(
                "readings",
                "--reading",
                "Nock angle and where the tail tore (paper) or the hole is (target), '20 deg: right 0.4 in'.",
                Takes.TEXTS,
                needed=True,
            ),
            _said("fletched_centre", "On a target: middle of a fletched group from the same spot, 'right 0.2 in'."),
            _said("fletched_shots", "How many arrows made that group.", Takes.WHOLE),
        ),
    ),
    LogKind(
        "chronograph",
        "chronograph",
        "A chronograph reading.",
        (_STATE, _needed("speed", "What it said, '284 ft/s'."), _said("doubt", "How far single readings stray.")),
    ),
    LogKind(
        "rest",
        "rest moved",
        "The rest was moved.",
        (
            _said("clicks", "Clicks, 'left 3, up 2'."),
            _said("intended", "How far it was meant to move, 'left 1/64 in'."),
            _said("measured", "How far it did move."),
        ),
    ),
    LogKind(
        "rest-measured",
        "rest measured",
        "The rest was measured, not moved: its clicks, or where it stands.",
        (
            _said("sideways_per_click", "Travel of one click sideways: measure ten and divide."),
            _said("height_per_click", "Travel of one click in height: measure ten and divide."),
            _said("centre_shot", "Riser to the middle of the shaft, as it stands now."),
            _said("rest_height", "Height over your own mark, as it stands now."),
        ),
    ),
    LogKind(
        "nock-point",
        "nock point moved",
        "The nock point was moved.",
        (_said("intended", "How far it was meant to move, 'up 1/32 in'."), _said("measured", "How far it did move.")),
    ),
    LogKind(
        "bolts",
        "bolts turned",
        "Both limb bolts were turned equally.",
        (_needed("both_bolts", "What BOTH were turned, 'out 1/2'."), _WEIGHED),
    ),
    LogKind(
        "cut",
        "cut",
        "The set was cut from the back. Cannot be undone.",
        (
            _said("intended", "What was meant to come off."),
            _needed("throat_length", "Nock throat to shaft end, measured now."),
            _needed("carbon_length", "Shaft end to shaft end, measured now."),
            Say(
                "sure",
                "--sure",
                "You are sure: nothing is asked. Without it a terminal asks, and a script is refused.",
                Takes.YES,
            ),
        ),
    ),
    LogKind(
        "point",
        "point changed",
        "Another point or head on the whole set.",
        (
            _needed("mass", "All that screws in, weights behind it included."),
            _said("length", "How far it stands out in front of the shaft."),
            _said("head", "field point, fixed-blade head or mechanical head."),
            _said("blade_area", "Side area of one blade."),
            _said("blades", "How many blades.", Takes.WHOLE),
            _said("width", "Cutting width."),
        ),
    ),
    LogKind(
        "nock",
        "nock turned",
        "The nocks of the whole set were turned, or one shaft's alone.",
        (
            _needed("turned", "Seen from behind, 'clockwise 40 deg'."),
            _said("shaft", "Number of the one shaft whose nock was turned, if one alone.", Takes.WHOLE),
        ),
    ),
    LogKind(
        "set-aside",
        "shaft set aside",
        "A shaft that goes elsewhere than its fellows is left out.",
        (_SHAFT,),
    ),
    LogKind(
        "shaft",
        "shaft changed",
        "A new set of shafts.",
        (
            _needed("throat_length", "Nock throat to shaft end."),
            _needed("carbon_length", "Shaft end to shaft end."),
            _said("spare_shafts", "Spare shafts of this kind that are left.", Takes.WHOLE),
            *_SHAFT_KEYS,
        ),
    ),
    LogKind(
        "build",
        "build changed",
        "Other parts on the same shafts.",
        (
            _said("nock", f"The nock, {_PART}"),
            _said("bushing", f"The bushing, {_PART}"),
            _said("wrap", f"The wrap, {_PART}"),
            _said("insert", f"The insert, {_PART}"),
            _said("collar", f"The collar, {_PART}"),
            _said("vanes", "The vanes, 'count 3, mass 6.8 gr, length 2.1 in, height 0.46 in, offset right 1.5 deg'."),
            _said("throat_length", "Nock throat to shaft end, if the nock sits otherwise."),
        ),
    ),
    LogKind(
        "tape",
        "tape changed",
        "Tape on the bare shafts.",
        (_needed("tape", "Tape on each BARE shaft where the vanes would be, '21 gr'."),),
    ),
    LogKind(
        "bow",
        "bow changed",
        "Work on the bow: string, cables, cams, modules, rest.",
        (
            _needed("what", "What was done, and by whom."),
            _WEIGHED,
            _said("let_off", "Measured now."),
            _said("draw_length", "Measured now."),
            _said("brace_height", "Measured now."),
            _said("axle_to_axle", "Measured now."),
            _said("string_mass", "The new string."),
            _said("on_string", "Loop, nock sets and what else moves with the nock."),
            _said("shape", "gentle, middling or hard."),
            Say("draw_readings", "--draw-reading", "Draw and force, '20 in: 61 lb' (again for each).", Takes.TEXTS),
            _said("rest", "The new rest, 'kind drop-away, ahead -0.4 in'."),
        ),
    ),
    LogKind(
        "sight",
        "sight moved",
        "The sight was moved.",
        (_said("clicks", "Clicks, 'left 2, up 4'."), _said("measured", "How far it moved.")),
    ),
    LogKind(
        "flex-check",
        "flex check",
        "A shaft flexed and looked at after a hard hit.",
        (
            _SHAFT,
            Say(
                "sound",
                "--sound/--broken",
                "No crack and no creak, or never to be shot again.",
                Takes.STATE,
                needed=True,
            ),
        ),
    ),
    LogKind("good", "settings good", "These settings shoot well; come back to them if time is short.", ()),
    LogKind(
        "undo",
        "undo",
        "An earlier entry was wrong: one at a time, and both stay in the file.",
        (
            Say(
                "undoes",
                "entry",
                "'last', the last entry that still counts; or the id of one, as it stands in the file.",
                Takes.WORD,
                needed=True,
            ),
        ),
    ),
)
"""Every kind of entry, in the order of its help."""
