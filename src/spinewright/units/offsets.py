"""Reads and prints places to the side and in height, always in words: 'left 1.2 in, high 0.5 in'."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from spinewright.errors import Place, QuantityError
from spinewright.units.axes import Hand, height_word, side_word
from spinewright.units.kinds import TABLE, Kind, System
from spinewright.units.printing import show
from spinewright.units.reading import Reading, split_number, to_si

__all__ = ["parse_direction", "parse_offset", "show_offset"]

_CENTRE = frozenset({"centre", "center", "straight", "dead centre", "dead center", "square"})
# word -> (axis, sign as the archer sees it): axis 0 is sideways with left positive, axis 1 is height with up positive
_WORDS = {"left": (0, 1.0), "right": (0, -1.0), "high": (1, 1.0), "up": (1, 1.0), "low": (1, -1.0), "down": (1, -1.0)}
_LEVEL = "level"
_EXAMPLE = {Kind.ANGLE: "left 2 deg, low 1 deg"}
_USUAL = re.compile(
    r"(left|right) (\d{1,6}(?:\.\d{1,9})?) ([a-z]+)(?:, (high|low|up|down) (\d{1,6}(?:\.\d{1,9})?) ([a-z]+))?", re.ASCII
)
_DECIMALS = {(Kind.LENGTH, System.INCH): 2, (Kind.LENGTH, System.METRIC): 1}


@dataclass(frozen=True, slots=True)
class _Part:
    """One direction as written, its size still unread ('' = none given)."""

    axis: int
    sign: float
    size: str


def parse_offset(
    text: object, hand: Hand, *, field: str | None = None, kind: Kind = Kind.LENGTH
) -> tuple[float, float]:
    """(y, z) [m, or rad for ``Kind.ANGLE``] in the right-handed frame, y left and z up positive.

    ``text`` says as the archer sees it, in either order and each at most once: left or right, high or low (up,
    down) with a size each; a unit may be given once for both. 'centre' or 'straight' is (0, 0), 'level' beside a side
    is no height. Raises :class:`~spinewright.errors.QuantityError`; a size without a word is refused, so is a
    negative size.
    """
    usual = _as_usual(text, kind)
    if usual is not None:
        return _framed(usual[0], hand), usual[1]
    parts = _parts(text, kind, field)
    readings = [_reading(part, kind, field, text) for part in parts]
    units = {reading.unit for reading in readings if reading.unit}
    place = [0.0, 0.0]
    for part, reading in zip(parts, readings, strict=True):
        if not reading.unit and len(units) == 1:
            reading = replace(reading, unit=next(iter(units)))  # noqa: PLW2901 - the unit given once holds for both
        if reading.number < 0.0:
            raise _error(f"'{reading.written}' beside a direction is negative", kind, field)
        place[part.axis] = part.sign * to_si(reading, kind, field=field)
    return _framed(place[0], hand), place[1]


def _as_usual(text: object, kind: Kind) -> tuple[float, float] | None:
    """(y, z) as the archer sees it of a place in the form that the program itself writes, in a tenth of the time.

    Every hole of a logbook passes here each time it is opened. None for any other form, and for what is wrong with one
    in this form: the reading in words then says it.
    """
    match = _USUAL.fullmatch(text) if isinstance(text, str) else None
    if match is None:
        return None
    row = TABLE[kind]
    side, number, unit, height, more, its_unit = match.groups()
    y, z = float(number) * row.units.get(unit, math.nan), 0.0
    if not row.low <= y <= row.high:
        return None
    if height is not None:
        z = float(more) * row.units.get(its_unit, math.nan)
        if not row.low <= z <= row.high:
            return None
        z *= _WORDS[height][1]
    return y if side == "left" else -y, z


def parse_direction(text: object, hand: Hand, *, field: str | None = None) -> tuple[float, float]:
    """Signs (y, z), each -1, 0 or 1 in the right-handed frame, of words without a size such as 'right, low'."""
    place = [0.0, 0.0]
    for part in _parts(text, Kind.LENGTH, field):
        if part.size:
            raise QuantityError(
                f"'{text}' gives a size", "write only the direction, such as 'right'", Place(field=field)
            )
        place[part.axis] = part.sign
    return _framed(place[0], hand), place[1]


def show_offset(
    y: float,
    z: float,
    hand: Hand,
    system: System,
    *,
    kind: Kind = Kind.LENGTH,
    doubt: tuple[float, float] | None = None,
    digits: int | None = None,
) -> str:
    """``(y, z)`` of the right-handed frame [m or rad] in the words of ``hand``, such as 'left 1.2 in, high 0.5 in'.

    A coordinate that rounds to nothing is left out ('centre' or 'straight' when both do), unless it has a ``doubt``.
    """
    decimals = digits if digits is not None or doubt is not None else _DECIMALS.get((kind, system), 1)
    words = (side_word(y, hand), height_word(z))
    parts = []
    for axis, value in enumerate((y, z)):
        one = None if doubt is None else doubt[axis]
        size = show(abs(value), kind, system, doubt=one, digits=decimals)
        if one is not None or float(size.split()[0]) != 0.0:
            parts.append(f"{words[axis]} {size}")
    return ", ".join(parts) if parts else ("straight" if kind is Kind.ANGLE else "centre")


def _framed(y: float, hand: Hand) -> float:
    return y * hand.sideways_sign if y != 0.0 else 0.0


def _parts(text: object, kind: Kind, field: str | None) -> list[_Part]:
    if not isinstance(text, str):
        raise _error(f"{text!r} does not say which side or height", kind, field)
    plain = " ".join(text.lower().split())
    if plain in _CENTRE or plain == _LEVEL:
        return []
    parts: list[_Part] = []
    level = False
    for piece in re.split(r"\s*[,;]\s*|\s+and\s+", plain):
        if piece == _LEVEL:
            level = True
            continue
        parts.append(_part(piece, text, kind, field))
    axes = [part.axis for part in parts] + [1] * level
    if len(set(axes)) != len(axes):
        raise _error(f"'{text}' gives the same direction twice", kind, field)
    return parts


def _part(piece: str, text: str, kind: Kind, field: str | None) -> _Part:
    named = [word for word in re.findall(r"[a-z]+", piece) if word in _WORDS]
    if len(named) != 1:
        raise _error(f"'{piece or text}' does not say one side or one height", kind, field)
    word = named[0]
    axis, sign = _WORDS[word]
    if not (piece.startswith(word) or piece.endswith(word)):
        raise _error(f"'{piece}' has its direction in the middle", kind, field)
    return _Part(axis, sign, piece.removeprefix(word).removesuffix(word).strip())


def _reading(part: _Part, kind: Kind, field: str | None, text: object) -> Reading:
    if not part.size:
        raise _error(f"'{text}' does not say how far", kind, field)
    return split_number(part.size, kind, field=field)


def _error(what: str, kind: Kind, field: str | None) -> QuantityError:
    example = _EXAMPLE.get(kind, "left 1.2 in, high 0.5 in")
    return QuantityError(what, f"write for example '{example}'", Place(field=field))
