"""Prints SI values in the archer's own system, with their doubt where there is one."""

from __future__ import annotations

import math
import re

from spinewright.units.kinds import FOOT, INCH, TABLE, YARD, Kind, Style, System

__all__ = ["counted", "show", "show_distance", "unbroken", "yards_beside"]

_THIRTY_SECOND = 32
_READ_TO = 0.004  # in; nearer than this to a thirty-second, a length is read off the ruler as that
_FRACTIONS_FROM = 5.0 * INCH  # a ruler with fractions is read for arrows and bows, not for holes or clicks
_FEET_BELOW = 10.0 * YARD  # paper stands at so many feet, targets at so many yards


def show(value: float, kind: Kind, system: System, *, doubt: float | None = None, digits: int | None = None) -> str:
    """``value`` [SI] as text of ``kind`` in ``system``, such as '29 1/2 in', '350 gr' or '2.1 ± 0.4 in'.

    ``doubt`` [SI] is one figure of the same kind; it is printed with one significant figure (two when the first is a 1)
    and sets the decimals of the value. ``digits`` fixes the number of decimals instead. Without either, three
    significant figures within the decimals that its :class:`~spinewright.units.kinds.Style` allows (a balance is read
    to 0.1 gr, an arrow to 0.1 mm), zeros at the end left out; a length of 5 in or more within 0.004 in of a
    thirty-second of an inch is printed as a fraction, a shorter one as a calliper reads it. What metric archers still
    say in the trade's own numbers (static spine, draw weight, grains per inch and per pound) comes in those, with the
    SI value behind: '385 (9.78 mm)'. What is printed without a doubt is read back by :func:`~spinewright.units.parse`.
    Raises ValueError for a number that is not finite.
    """
    if not math.isfinite(value) or (doubt is not None and not math.isfinite(doubt)):
        raise ValueError(f"{kind} is not finite: {value!r}, doubt {doubt!r}")
    beside = TABLE[kind].beside if system is System.METRIC else None
    behind = "" if beside is None else f" ({_fixed(value / beside.factor, beside.decimals or 0)} {beside.label})"
    return _printed(value, kind, system, doubt, digits) + behind


def show_distance(value: float, system: System) -> str:
    """A distance [m] to be recognised: whole metres or yards of the other system first, '18 m (19.7 yd)'.

    For reading alone; what is to be read back by :func:`~spinewright.units.parse` is written by :func:`show`.
    """
    own = show(value, Kind.DISTANCE, system)
    whole_own = (YARD, FOOT) if system is System.INCH else (1.0,)
    other, label = (1.0, "m") if system is System.INCH else (YARD, "yd")
    if any(_whole(value / one) for one in whole_own) or not _whole(value / other):
        return own
    return f"{value / other:.0f} {label} ({own})"


def _whole(number: float) -> bool:
    return abs(number - round(number)) < _EXACTLY


_EXACTLY = 1e-6


def unbroken(text: str) -> str:
    """``text`` with no-break spaces between a number and its unit, fraction and doubt, and in '5 in 100' and 'to 3'.

    Alone in the next line of a narrow column a fraction reads as another number, and a number without its unit as none.
    """
    return _WITHIN.sub("\N{NO-BREAK SPACE}", text)


_LABELS = {one.label for row in TABLE.values() for one in (row.inch, row.metric, row.beside) if one and one.label}
_UNITS = "|".join(sorted(map(re.escape, _LABELS | {"ft", "mph"})))
_WITHIN = re.compile(
    rf"(?<=\d) (?=\d+/\d|(?:{_UNITS})(?![\w/]))|(?<=±) (?=\d)|(?<=\d in) (?=100\b)|(?<=\bto) (?=\d)"
    r"|(?<=ft) (?=lbf\b)|(?<=lbf) (?=s\b)|(?<=kg) (?=m/s\b)"
)


def yards_beside(text: str, system: System) -> str:
    """``text`` with metres beside yards that stand for a fixed distance: '20 yd (18.3 m)' for metric archers.

    Bare and fletched are compared at 20 yd whatever the units (common practice); a metric range's 18 m is another one.
    What stands between quotation marks is to be typed again and stays as it is.
    """
    if system is not System.METRIC:
        return text
    return _YARDS.sub(lambda found: f"{found[0]} ({float(found[1]) * YARD:.1f} m)", text)


_YARDS = re.compile(r"\b(\d+) yd\b(?! \()(?![\"'])")


def counted(number: float, what: str) -> str:
    """'3 clicks', '1 turn', '0.5 turns': how many of ``what``, without a sign."""
    return f"{abs(number):g} {what}{'' if abs(number) == 1.0 else 's'}"


def _printed(value: float, kind: Kind, system: System, doubt: float | None, digits: int | None) -> str:
    """The number with its unit, nothing behind."""
    style = _style(value, kind, system)
    number = value / style.factor
    if doubt is not None:
        spread = abs(doubt) / style.factor
        decimals = digits if digits is not None else _doubt_decimals(spread)
        return f"{_fixed(number, decimals)} ± {_fixed(spread, decimals)} {style.label}".rstrip()
    if digits is None:
        digits = style.decimals
    if digits is not None:
        return f"{_fixed(number, digits)} {style.label}".rstrip()
    if kind is Kind.LENGTH and system is System.INCH and abs(value) >= _FRACTIONS_FROM:
        fraction = _on_the_ruler(number)
        if fraction is not None:
            return f"{fraction} {style.label}"
    return f"{_three_figures(number, style)} {style.label}"


def _style(value: float, kind: Kind, system: System) -> Style:
    if kind is Kind.DISTANCE and system is System.INCH and abs(value) < _FEET_BELOW:
        return Style("ft", FOOT, least=1)
    if kind is Kind.LENGTH and system is System.INCH and abs(value) < _FRACTIONS_FROM:
        return Style("in", INCH, least=3)
    if kind is Kind.TIME and abs(value) >= 1.0:
        return Style("min", 60.0) if abs(value) >= 60.0 else Style("s", 1.0)
    return TABLE[kind].style(system)


def _fixed(number: float, decimals: int) -> str:
    """``number`` rounded to ``decimals`` places (negative: tens, hundreds), never '-0'."""
    text = f"{round(number, decimals):.{max(decimals, 0)}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def _doubt_decimals(spread: float) -> int:
    """Decimals that keep one significant figure of ``spread``, two when the first would be a 1."""
    if spread == 0.0:
        return 3
    leading = math.floor(math.log10(spread))
    first = spread / 10.0**leading
    return -leading + (1 if first < 1.95 else 0)


def _three_figures(number: float, style: Style) -> str:
    if number == 0.0:
        return "0"
    decimals = min(max(style.least, 2 - math.floor(math.log10(abs(number)))), style.most)
    text = _fixed(number, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _on_the_ruler(number: float) -> str | None:
    """'29 1/2' when ``number`` [in] lies on a thirty-second as near as a ruler is read, else None."""
    parts = round(abs(number) * _THIRTY_SECOND)
    if abs(abs(number) - parts / _THIRTY_SECOND) > _READ_TO:
        return None
    sign = "-" if number < 0 else ""
    whole, rest = divmod(parts, _THIRTY_SECOND)
    if rest == 0:
        return f"{sign}{whole}"
    shared = math.gcd(rest, _THIRTY_SECOND)
    return f"{sign}{whole} {rest // shared}/{_THIRTY_SECOND // shared}"
