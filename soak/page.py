"""The page of the figures, docs/reliability.md."""

from __future__ import annotations

from collections.abc import Mapping
from textwrap import fill

from soak.figures import Part
from soak.keeping import Kept

__all__ = ["page_text"]

_WIDE = 120
_HEAD = """# How reliable it is

`make soak` runs long tries and writes this page from what they found: nothing here is written by hand. Each part says
when and where it ran last, and how much; `python -m soak NAME=AMOUNT` runs one alone.
"""


def page_text(kept: Mapping[str, Kept], parts: Mapping[str, Part]) -> str:
    """The page of what was ``kept`` of ``parts``; a part that was never run is said to be so."""
    return "\n".join([_HEAD, *(_part(name, part, kept.get(name)) for name, part in parts.items())])


def _part(name: str, part: Part, kept: Kept | None) -> str:
    if kept is None:
        return f"## {part.title} (`{name}`)\n\nNot run yet.\n"
    figures = kept.figures
    ran = (
        f"Run on {kept.day}: {figures.amount}, {kept.seconds / 60.0:.1f} minutes in all, seed {kept.seed}; "
        f"{kept.machine}; {kept.versions}."
    )
    lines = [
        f"## {part.title} (`{name}`)",
        "",
        fill(figures.about, _WIDE),
        "",
        fill(ran, _WIDE),
        "",
        _row(figures.columns),
        _row(["---"] * len(figures.columns)),
        *(_row(row) for row in figures.rows),
        "",
        *_faults(figures.faults),
        "",
    ]
    return "\n".join(lines)


def _faults(faults: tuple[str, ...]) -> list[str]:
    if not faults:
        return ["Nothing wrong was found."]
    return ["**Wrong:**", "", *(f"- {_plain(one)}" for one in faults)]


def _row(cells: tuple[str, ...] | list[str]) -> str:
    return "| " + " | ".join(_plain(one).replace("|", "\\|") for one in cells) + " |"


def _plain(text: str) -> str:
    return " ".join(text.split())
