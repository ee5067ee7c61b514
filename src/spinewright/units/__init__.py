"""Quantities as archers write them, axes, signs and hands. Knows nothing of equipment or anything above.

Here live reading ('29 1/2 in' to 0.7493) and printing, the words for left, right, high and low, and the mirror between
hands. Not here: what is plausible for a bow or an arrow (``equipment``), or any text of the session file (``logbook``).
"""

from __future__ import annotations

from spinewright.units.axes import Hand, height_word, side_word
from spinewright.units.both_ways import own_first
from spinewright.units.kinds import (
    DEGREE,
    FOOT,
    FOOT_POUND,
    GRAIN,
    INCH,
    KILOGRAM_FORCE,
    MILLIMETRE,
    POUND_FORCE,
    YARD,
    Kind,
    System,
)
from spinewright.units.offsets import parse_direction, parse_offset, show_offset
from spinewright.units.printing import counted, show, show_distance, unbroken, yards_beside
from spinewright.units.reading import parse

__all__ = [
    "DEGREE",
    "FOOT",
    "FOOT_POUND",
    "GRAIN",
    "INCH",
    "KILOGRAM_FORCE",
    "MILLIMETRE",
    "POUND_FORCE",
    "YARD",
    "Hand",
    "Kind",
    "System",
    "counted",
    "height_word",
    "own_first",
    "parse",
    "parse_direction",
    "parse_offset",
    "show",
    "show_distance",
    "show_offset",
    "side_word",
    "unbroken",
    "yards_beside",
]
