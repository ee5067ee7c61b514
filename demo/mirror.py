"""Holds the advice for a left-hander against the right-hander's: it has to be its mirror image, word by word."""

from __future__ import annotations

import re
from itertools import zip_longest
from typing import cast

from spinewright.workflow import NextMove

__all__ = ["MirrorError", "hold_against_mirror", "mirrored_sides"]

_PAIRS = (
    ("left", "right"),
    ("left-handed", "right-handed"),
    ("clockwise", "anticlockwise"),
    ("clockwise", "counterclockwise"),
)
_OPPOSITE = frozenset(_PAIRS) | frozenset((other, one) for one, other in _PAIRS)
_SIDES = frozenset(word for pair in _PAIRS for word in pair)
#: Sentences in which 'left' and 'right' are not sides: 'put right first', '28 in of shaft are left'.
_NO_SIDE = re.compile(r"\b(?:put|are|is|probably|best|set|not) (?:right|left)\b|\bwould be left\b")
_SIGNED = frozenset({"left", "nock_turned_clockwise"})


class MirrorError(Exception):
    """The advice for the two hands differs in more than its sides."""


def hold_against_mirror(right: NextMove, left: NextMove, number: int) -> int:
    """Compares everything a program and a person are told in step ``number``; returns how many sides were mirrored.

    Raises MirrorError at the first difference.
    """
    return _compare(right.to_json(), left.to_json(), f"step {number}")


def mirrored_sides(right: str, left: str, where: str) -> int:
    """Compares two texts word by word: the same, or a side and its opposite. Returns how many sides were mirrored."""
    sides = 0
    for one, other in zip_longest(_words(right), _words(left), fillvalue=""):
        if (one, other) in _OPPOSITE:
            sides += 1
        elif one != other or one in _SIDES:
            raise MirrorError(f"{where}: the right-hander is told '{right}' and the left-hander '{left}'")
    return sides


def _words(text: str) -> list[str]:
    """Words and what stands between them; a phrase without a side counts as one word."""
    plain = _NO_SIDE.sub(lambda found: found.group().replace(" ", "_"), text.lower())
    return re.findall(r"[\w-]+|[^\w\s]", plain)


def _compare(right: object, left: object, where: str) -> int:
    if type(right) is not type(left):
        raise MirrorError(f"{where}: {right!r} and {left!r} are not of one kind")
    if isinstance(right, dict):
        other = cast("dict[str, object]", left)
        if right.keys() != other.keys():
            raise MirrorError(f"{where}: the two have different fields")
        if {"low", "high"} <= right.keys() and isinstance(right["low"], dict):
            return _bounds(right, other, where)
        return sum(_field(key, right[key], other[key], f"{where}, {key}") for key in right)
    if isinstance(right, list):
        others = cast("list[object]", left)
        if len(right) != len(others):
            raise MirrorError(f"{where}: {len(right)} and {len(others)} items")
        return sum(_compare(a, b, f"{where}[{n}]") for n, (a, b) in enumerate(zip(right, others, strict=True)))
    if isinstance(right, str):
        return mirrored_sides(right, cast("str", left), where)
    if right != left:
        raise MirrorError(f"{where}: {right!r} and {left!r}")
    return 0


def _bounds(right: dict[str, object], left: dict[str, object], where: str) -> int:
    """A forecast: each counts its lower bound to its own left, so sideways the bounds change places."""
    for key, opposite in (("low", "high"), ("high", "low")):
        mine, same, other = (cast("dict[str, float]", each) for each in (right[key], left[key], left[opposite]))
        if mine["left"] != -other["left"] or mine["up"] != same["up"]:
            raise MirrorError(f"{where}, {key}: {mine} is not the mirror image of {other}")
    return 2 + _compare(right["middle"], left["middle"], f"{where}, middle")


def _field(key: str, right: object, left: object, where: str) -> int:
    """One field; those that count to one side change their sign."""
    if key not in _SIGNED:
        return _compare(right, left, where)
    first, second = (value["value"] if isinstance(value, dict) else value for value in (right, left))
    if not isinstance(first, float) or not isinstance(second, float) or first != -second:
        raise MirrorError(f"{where}: {first!r} and {second!r} are not each other's mirror image")
    return 1
