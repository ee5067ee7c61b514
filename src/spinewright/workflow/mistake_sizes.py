"""Whose mistakes a forgiveness map is shot with, as a person says it: a level of skill, or sizes of one's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from spinewright.errors import InputError
from spinewright.logbook import SkillLevel
from spinewright.units import Kind, parse

__all__ = ["SIZES", "SizeField", "level_from", "said_mistakes", "sizes_from"]


@dataclass(frozen=True, slots=True)
class SizeField:
    """A mistake that can be given a size: ``what`` it is, its ``kind`` of quantity, an ``example``, the ``most``.

    ``most`` [SI] is ten times what is stated for an archer who is still learning: more is a slip of the pen.
    """

    what: str
    kind: Kind
    example: str
    most: float


SIZES: Mapping[str, SizeField] = MappingProxyType(
    {
        "kick": SizeField("release kick", Kind.SPEED, "0.08 ft/s", 0.5),
        "hold": SizeField("nock held off the string plane", Kind.LENGTH, "0.014 in", 8.0e-3),
        "nock_height": SizeField("nock height", Kind.LENGTH, "0.006 in", 2.5e-3),
        "creep": SizeField("creeping forward before release", Kind.LENGTH, "0.1 in", 60.0e-3),
        "rest": SizeField("rest not in its place", Kind.LENGTH, "0.004 in", 1.5e-3),
        "torque": SizeField("hand torque", Kind.ANGLE, "0.09 deg", 40.0e-3),
    }
)
"""Every mistake by the key a size is given with, in the order it is shown."""


def level_from(text: str) -> SkillLevel | None:
    """The level of skill called ``text``; None for '', the archer's own. Raises InputError."""
    if not text:
        return None
    known = {str(one): one for one in SkillLevel}
    if text not in known:
        raise InputError(f"'{text}' is no level of skill", f"one of {', '.join(known)}, or none for your own")
    return known[text]


def said_mistakes(said: Sequence[str]) -> tuple[str, dict[str, str]]:
    """A level and sizes, written one by one: 'expert', 'creep: 1/8 in'; what is said last counts."""
    level, found = "", {}
    for one in said:
        key, colon, size = one.partition(":")
        if colon:
            found[key.strip().replace(" ", "_")] = size.strip()
        else:
            level = one.strip()
    return level, found


def sizes_from(said: object) -> dict[str, float]:
    """Sizes [SI] by key from texts such as {'creep': '1/8 in'}; an empty text says nothing. Raises InputError."""
    if not isinstance(said, Mapping):
        raise InputError(f"sizes = {said!r} cannot be", 'an object of texts, such as {"creep": "1/8 in"}')
    found: dict[str, float] = {}
    for key, text in said.items():
        field = SIZES.get(str(key))
        if field is None:
            raise InputError(f"'{key}' is no mistake that can be given a size", f"one of {', '.join(SIZES)}")
        if str(text).strip():
            found[str(key)] = _size(str(key), field, text)
    return found


def _size(key: str, field: SizeField, text: object) -> float:
    size = parse(text, field.kind, field=key)
    if not 0.0 <= size <= field.most:
        raise InputError(f"{field.what}: '{text}' is no size from one shot to the next", f"such as '{field.example}'")
    return size
