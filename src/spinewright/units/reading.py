"""Reads quantities as archers write them ('29 1/2 in', '1/64 in', '280 fps', '340') into SI floats."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

from spinewright.errors import Place, QuantityError
from spinewright.units.kinds import INCH, TABLE, Kind

__all__ = ["Reading", "parse", "split_number", "to_si"]

_ENDLESS = 2**63  # thousands of digits cannot even be shown
_LONGEST = 60  # characters; a longer text is not a quantity, and reading huge digit runs costs time

_PLAIN = str.maketrans(
    {
        "½": " 1/2",
        "¼": " 1/4",
        "¾": " 3/4",
        "⅛": " 1/8",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
        "⅓": " 1/3",
        "⅔": " 2/3",
        "⁄": "/",
        "−": "-",
        "–": "-",
        "″": '"',
        "”": '"',
        "“": '"',
        "′": "'",
        "’": "'",
        "²": "2",
        "·": " ",
    }
)

_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?: (?: (?P<whole>\d+) (?:\s*-\s*|\s+) )? (?P<top>\d+)\s*/\s*(?P<bottom>\d+)
      | (?P<decimal>\d+(?:\.\d*)?|\.\d+)
    )
    (?P<unit>.*)$""",
    re.VERBOSE | re.ASCII,
)


_BEHIND = re.compile(r"(?P<it>[^()]+?)\s*\((?P<same>[^()]+)\)")


@dataclass(frozen=True, slots=True)
class Reading:
    """A number as written and the unit after it ('' = none), before anything is known of its kind."""

    number: float
    unit: str
    written: str
    whole: bool


def parse(text: object, kind: Kind, *, field: str | None = None) -> float:
    """``text`` read as a quantity of ``kind``, in SI (m, kg, N, m/s, rad, ...; a share as 0 to 1).

    Numbers: decimals with a point, fractions ('1/64 in'), mixed numbers ('29 1/2 in', '29-1/2 inches'). A decimal
    comma is refused because it cannot be told from a thousands separator. Every quantity carries its unit, with two
    exceptions that the trade itself makes: a whole number is a static spine in thousandths of an inch ('340'), and a
    share may be a number from 0 to 1. The same quantity may stand behind in brackets, as it is printed for metric
    archers ('385 (9.78 mm)'). Anything but text is read as it would be written. Raises
    :class:`~spinewright.errors.QuantityError` with ``field`` as its place.
    """
    known = _known(text, kind) if isinstance(text, str) and len(text) <= _LONGEST else None
    return _parsed(text, kind, field) if known is None else known


@lru_cache(maxsize=1024)
def _known(text: str, kind: Kind) -> float | None:
    """What ``text`` says, as the same few quantities stand in all events; None where it is refused."""
    try:
        return _parsed(text, kind, None)
    except QuantityError:
        return None


def _parsed(text: object, kind: Kind, field: str | None) -> float:
    twice = _BEHIND.fullmatch(text.strip()) if isinstance(text, str) and TABLE[kind].beside else None
    if twice is None:
        return to_si(split_number(text, kind, field=field), kind, field=field)
    value, again = (to_si(split_number(twice[name], kind, field=field), kind, field=field) for name in ("it", "same"))
    beside = TABLE[kind].beside
    rounding = 0.0 if beside is None else beside.factor * 10.0 ** -(beside.decimals or 0)
    if abs(value - again) > 0.02 * abs(value) + rounding:
        raise _error(f"'{twice['it']}' and '{twice['same']}' are not the same", kind, field)
    return value


def split_number(text: object, kind: Kind, *, field: str | None = None) -> Reading:
    """The number and the unit of ``text``, the unit not yet looked at; ``kind`` only chooses the examples."""
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise _error(f"{text!r} is not a quantity", kind, field)
    if isinstance(text, int) and abs(text) >= _ENDLESS:
        raise _error("a number has far too many digits", kind, field)
    written = " ".join(str(text).translate(_PLAIN).split())
    if not written:
        raise _error("an empty text is not a quantity", kind, field)
    shown = written if len(written) <= _LONGEST else written[: _LONGEST - 3] + "..."
    if "," in written:
        raise QuantityError(
            f"'{shown}' has a comma in it", "write decimals with a point and leave out thousands separators", _at(field)
        )
    match = _NUMBER.match(written)
    if match is None or len(written) > _LONGEST:
        raise _error(f"'{shown}' does not start with a number", kind, field)
    number = _number(match)
    if number is None:
        raise _error(f"'{shown}' divides by zero", kind, field)
    return Reading(number, _plain_unit(match["unit"]), shown, whole=bool(match["decimal"]) and number.is_integer())


def to_si(reading: Reading, kind: Kind, *, field: str | None = None) -> float:
    """``reading`` as SI value of ``kind``: unit known, kind right, finite, and of a size that can be meant."""
    row = TABLE[kind]
    factor = row.units.get(reading.unit)
    if factor is None:
        factor = _without_unit(reading, kind, field)
    value = reading.number * factor
    if value < 0.0 and not row.signed:
        raise _error(f"'{reading.written}' is negative, which {kind.phrase} cannot be", kind, field)
    if not math.isfinite(value) or not row.low <= abs(value) <= row.high:
        raise _error(f"'{reading.written}' is not a possible {kind}", kind, field)
    return value


def _without_unit(reading: Reading, kind: Kind, field: str | None) -> float:
    """The factor of a number whose unit is missing where the trade allows that; otherwise the fitting error."""
    if reading.unit:
        others = [other for other, row in TABLE.items() if reading.unit in row.units]
        if others:
            raise _error(f"'{reading.written}' is {others[0].phrase}, but {kind.phrase} is wanted", kind, field)
        raise _error(f"'{reading.unit}' in '{reading.written}' is not a unit known here", kind, field)
    if kind is Kind.SPINE and reading.whole:
        return INCH / 1000.0
    if kind is Kind.FRACTION:
        if abs(reading.number) > 1.0:
            raise _error(f"'{reading.written}' has no percent sign", kind, field)
        return 1.0
    raise _error(f"'{reading.written}' has no unit", kind, field)


def _number(match: re.Match[str]) -> float | None:
    sign = -1.0 if match["sign"] == "-" else 1.0
    if match["decimal"] is not None:
        return sign * float(match["decimal"])
    bottom = int(match["bottom"])
    if bottom == 0:
        return None
    return sign * (int(match["whole"] or 0) + int(match["top"]) / bottom)


def _plain_unit(unit: str) -> str:
    """Lower case, single spaces, none around a slash, no full stop at the end ('in.', 'Lb', 'ft / s')."""
    return re.sub(r"\s*/\s*", "/", unit.strip().lower()).rstrip(".").removeprefix("-").strip()


def _error(what: str, kind: Kind, field: str | None) -> QuantityError:
    first, second = TABLE[kind].examples
    return QuantityError(what, f"write for example '{first}' or '{second}'", _at(field))


def _at(field: str | None) -> Place:
    return Place(field=field)
