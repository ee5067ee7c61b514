"""Sheets to print, as plain blocks from top to bottom; how they are set is the report's business.

Every block is an object with its name under ``block``; lengths are in millimetres and printed true to scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from spinewright.workflow.showing import Json

__all__ = [
    "Paper",
    "beside",
    "blanks",
    "checkline",
    "facts",
    "fitted",
    "grid",
    "heading",
    "labels",
    "picture",
    "signature",
    "strip",
    "words",
]


@dataclass(frozen=True, slots=True)
class Paper:
    """One sheet: ``name`` for its file, ``title`` at its head, ``foot`` on every page."""

    name: str
    title: str
    blocks: tuple[Json, ...]
    foot: str = ""

    def to_json(self) -> Json:
        """The sheet as an object."""
        return {"name": self.name, "title": self.title, "blocks": list(self.blocks), "foot": self.foot}


def heading(text: str) -> Json:
    """A heading inside the sheet."""
    return {"block": "heading", "text": text}


def words(text: str, *, care: bool = False) -> Json:
    """A paragraph; with ``care`` it is set as a caution."""
    return {"block": "words", "text": text, "care": care}


def facts(rows: Sequence[tuple[str, str]]) -> Json:
    """Names with their values, two columns."""
    return {"block": "facts", "rows": [list(row) for row in rows]}


def grid(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> Json:
    """A table of texts."""
    return {"block": "grid", "columns": list(columns), "rows": [list(row) for row in rows]}


def blanks(columns: Sequence[str], rows: int, height: float = 8.0) -> Json:
    """An empty table to fill in by hand, rows ``height`` mm high."""
    return {"block": "blanks", "columns": list(columns), "rows": rows, "height": height}


def checkline() -> Json:
    """A line of 100 mm to lay a ruler on: whether the printer kept the scale."""
    return {"block": "checkline"}


def strip(marks: Sequence[tuple[float, str, bool]], length: float, width: float = 14.0, title: str = "") -> Json:
    """An upright strip ``length`` x ``width`` mm to cut out, with marks at mm from its top, each with a label.

    The third of a mark says whether it is drawn long.
    """
    drawn = [{"at": float(at), "label": label, "long": long} for at, label, long in marks]
    return {"block": "strip", "marks": drawn, "length": float(length), "width": float(width), "title": title}


def labels(texts: Sequence[str], width: float = 60.0, height: float = 12.0) -> Json:
    """Labels to cut out, ``width`` x ``height`` mm each."""
    return {"block": "labels", "texts": list(texts), "width": float(width), "height": float(height)}


def signature(text: str) -> Json:
    """A line to sign on, with what is signed and a place for the date."""
    return {"block": "signature", "text": text}


def picture(plot: Json, height: float = 70.0) -> Json:
    """A plot (as ``Plot.to_json`` gives it), ``height`` mm high."""
    return {"block": "picture", "plot": plot, "height": float(height)}


def beside(left: Sequence[Json], right: Sequence[Json]) -> Json:
    """Blocks in two columns of one width, each from top to bottom."""
    return {"block": "beside", "left": list(left), "right": list(right)}


def fitted(blocks: Sequence[Json]) -> Json:
    """Blocks made smaller, all alike, until they fit on one page under its title; nothing is true to scale then.

    What would have to be set smaller than 8 pt for that goes on to further pages.
    """
    return {"block": "fitted", "blocks": list(blocks)}
