"""Reads the small phrases that are not quantities: clicks ('left 3, up 2'), bolt turns ('out 1/2'), nock turns."""

from __future__ import annotations

import re

from spinewright.errors import Place, QuantityError
from spinewright.logbook.events import Way
from spinewright.units import DEGREE, Hand, Kind, parse, parse_direction, parse_offset

__all__ = ["SEEN_LEAN", "read_clicks", "read_lean", "read_nock_turn", "read_turns", "read_way"]

SEEN_LEAN = 2.0 * DEGREE
"""[rad] what 'right' without a size is taken as: about the least lean of a nock that an eye can tell (from memory)."""

_AXES = {"left": "y", "right": "y", "high": "z", "up": "z", "low": "z", "down": "z"}
_SIGNS = {"left": 1.0, "right": -1.0, "high": 1.0, "up": 1.0, "low": -1.0, "down": -1.0}
_DIGITS = r"\d{1,6}"  # nobody counts further, and endless digits are no finite number
_NUMBER = (
    rf"(?:(?P<whole>{_DIGITS})[\s-]+)?"
    rf"(?:(?P<top>{_DIGITS})\s*/\s*(?P<bottom>[1-9]\d{{0,5}})|(?P<decimal>{_DIGITS}(?:\.\d{{1,30}})?))"
)
_CLICKS = re.compile(rf"(?P<word>left|right|up|down|high|low)\s+{_NUMBER}(?:\s+clicks?)?", re.ASCII)
_TURNS = re.compile(rf"(?P<word>in|out)\s+{_NUMBER}(?:\s+turns?)?", re.ASCII)
_NOCK = re.compile(r"(?:(?P<first>clockwise|counterclockwise|anticlockwise)\s+)?(?P<size>.+)", re.ASCII)


def read_clicks(text: object, hand: Hand, *, field: str | None = None) -> Way:
    """Clicks [1] of 'left 3, up 2' in the right-handed frame; a direction not named stays None."""
    found: dict[str, float] = {}
    for piece in re.split(r"\s*,\s*", _plain(text)):
        match = _CLICKS.fullmatch(piece)
        if match is None or _AXES[match["word"]] in found:
            raise QuantityError(
                f"{text!r} does not say which way and how many clicks",
                "write for example 'left 3' or 'left 3, up 2'",
                Place(field=field),
            )
        found[_AXES[match["word"]]] = _SIGNS[match["word"]] * _amount(match)
    return Way(_mirrored(found.get("y"), hand), found.get("z"))


def read_way(text: object, hand: Hand, *, field: str | None = None) -> Way:
    """An offset such as 'left 1/32 in' [m] in the right-handed frame; a direction not named stays None."""
    y, z = parse_offset(text, hand, field=field)
    if y and z:
        return Way(y, z)
    named = {_AXES[word] for word in re.findall(r"[a-z]+", _plain(text)) if word in _AXES}
    return Way(y, z) if not named else Way(y if "y" in named else None, z if "z" in named else None)


def read_lean(text: object, hand: Hand, *, field: str | None = None) -> tuple[float, float]:
    """(y, z) [rad] of a nock's lean: 'right 2 deg, low 1 deg', 'straight', or 'right' alone (see ``SEEN_LEAN``)."""
    if isinstance(text, str) and not re.search(r"\d", text):
        y, z = parse_direction(text, hand, field=field)
        return y * SEEN_LEAN, z * SEEN_LEAN
    return parse_offset(text, hand, field=field, kind=Kind.ANGLE)


def read_turns(text: object, *, field: str | None = None) -> float:
    """Turns [1] of both limb bolts, in positive: 'out 1/2', 'in 1 1/4 turns'."""
    match = _TURNS.fullmatch(_plain(text))
    if match is None:
        raise QuantityError(
            f"{text!r} does not say which way and how many turns",
            "write for example 'out 1/2' or 'in 1'",
            Place(field=field),
        )
    return _amount(match) * (1.0 if match["word"] == "in" else -1.0)


def read_nock_turn(text: object, hand: Hand, *, field: str | None = None) -> float:
    """A turn of the nock [rad], clockwise seen from behind positive, in the right-handed frame."""
    match = _NOCK.fullmatch(_plain(text))
    if match is None or match["first"] is None:
        raise QuantityError(
            f"{text!r} does not say which way the nock was turned",
            "write for example 'clockwise 20 deg' or 'counterclockwise 40 deg', seen from behind the nock",
            Place(field=field),
        )
    size = parse(match["size"], Kind.ANGLE, field=field)
    return size * (1.0 if match["first"] == "clockwise" else -1.0) * hand.sideways_sign


def _plain(text: object) -> str:
    return " ".join(text.lower().split()) if isinstance(text, str) else ""


def _mirrored(y: float | None, hand: Hand) -> float | None:
    return y if not y else y * hand.sideways_sign


def _amount(match: re.Match[str]) -> float:
    if match["decimal"] is not None:
        return float(match["decimal"])
    return int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
