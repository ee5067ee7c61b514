"""How the pictures look: one palette that colour-blind eyes can tell apart, one typeface, paper and ink.

Blue and ochre differ in lightness as well as in hue, so they stay apart without red-green vision and in grey print;
what matters is also drawn differently (ring, dashes, hatching), never by colour alone.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from spinewright.units import unbroken

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = [
    "BLUE",
    "DOTS_PER_INCH",
    "FAINT",
    "GROUND",
    "INK",
    "OCHRE",
    "QUIET",
    "SAND",
    "TEXT",
    "WIDTH",
    "as_written",
    "blank_page",
    "harmless",
    "paragraph",
]

GROUND = "#fcfbf7"
INK = "#22303a"
QUIET = "#6d7a82"
FAINT = "#c9cfd2"
BLUE = "#1d5f8a"
OCHRE = "#b0651a"
SAND = "#ecd9a3"

WIDTH = 4.6  # inches of every page: at phone width (390 dots) letters of TEXT are still 12 dots high
DOTS_PER_INCH = 240
TEXT = 10.4  # points
_PER_LINE = 58  # characters of TEXT that fit between the margins


def blank_page(height: float) -> Figure:
    """An empty page ``height`` inches high; no global state of matplotlib is touched."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    page = Figure(figsize=(WIDTH, height), dpi=DOTS_PER_INCH, facecolor=GROUND)
    FigureCanvasAgg(page)
    return page


def paragraph(text: str, per_line: int = _PER_LINE) -> list[str]:
    """``text`` broken into lines that fit the page; a number and its unit stay together."""
    return textwrap.wrap(unbroken(text), per_line, break_long_words=False) or [""]


def as_written(page: Figure) -> None:
    """Make every text of ``page`` stand there as it was written: no formulas, nothing that steers lines or a reader."""
    from matplotlib.text import Text

    for text in page.findobj(Text):
        assert isinstance(text, Text)  # noqa: S101 - it was asked for these alone
        if "$" in text.get_text():
            text.set_parse_math(False)
        text.set_text(harmless(text.get_text()))


def harmless(text: str) -> str:
    """``text`` without what steers lines or a reader."""
    return "".join(one for one in text if one.isprintable() or one in "\n\N{NO-BREAK SPACE}")


def lines_of(texts: Sequence[str], per_line: int = _PER_LINE) -> int:
    """How many lines ``texts`` take on the page."""
    return sum(len(paragraph(text, per_line)) for text in texts)
