"""Writes docs/proof.md from the records of a campaign: nothing in it is written by hand."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from benchmarks.virtual_range.pictures import draw
from benchmarks.virtual_range.source_marks import source_mark
from benchmarks.virtual_range.stories import stories
from benchmarks.virtual_range.tables import (
    ablation_table,
    cover_table,
    goal_table,
    left_open_table,
    players_table,
    reachable_words,
    short_words,
)

__all__ = ["write_proof"]

Record = dict[str, Any]

_TOP = """# How often the advice is right

Written by `{command}` from {worlds} worlds of the [virtual range](virtual-range.md), seeds {first} to {last},
{bows} plausible bows and {particles} particles; source {source}. No world shares the adviser's physics. Every figure
carries its 95 % interval over worlds; 'arrows' counts every arrow shot, bare and fletched, nock series included.

Both players start from the same bench, shoot groups of three bare and three fletched unless they ask for more, and are
dealt the same chance: arrow k of walk n strays alike for both.
"""

_OPEN = """### Where the gap stays open

Every world that the adviser left over an inch, under the first line that fits it. What was tried against them, and what
it bought or did not, is kept in [decision 4](decisions/0004-advice-tried-on-the-range.md).

"""

_PLAYERS = """## Both players

Spine gap: the gap with the rest back at its recorded start. Heads over best: how much farther a fixed-blade head lands
from field points than at the best of lengths, points and places of the rest there. Own mistakes over best: how much
farther a nock held half a millimetre off and a release kicked by 0.25 mN s, each sideways and in height, throw a
fletched arrow than at the best of lengths and points. Nobody aims at these two but through the gap.

"""


def write_proof(records: Sequence[Record], page: Path, command: str, settings: tuple[int, int]) -> None:
    """Write the page and its pictures beside it, whole or not at all."""
    seeds = [r["seed"] for r in records]
    pictures = draw(records, page.parent / "pictures")
    source = source_mark()
    parts = [
        _TOP.format(
            command=command,
            worlds=len(records),
            first=min(seeds),
            last=max(seeds),
            bows=settings[0],
            particles=settings[1],
            source=source,
        ),
        "## The goals\n\nOver all worlds whose archer can show the gap, unless the line says otherwise.\n\n"
        + goal_table(records)
        + "\n\n"
        + reachable_words(records)
        + "\n\n"
        + short_words(records)
        + "\n\n"
        + _OPEN
        + left_open_table(records),
        _PLAYERS + players_table(records),
        *(f"![{shown}](pictures/{name})" for name, shown in pictures),
        "## Do the stated intervals hold?\n\n"
        "Share of stated 80 % intervals (each plane counted) that held the truth.\n\n" + cover_table(records),
    ]
    ablated = ablation_table(records)
    if ablated:
        parts.append("## What each part buys\n\nOver the worlds that every one of them played.\n\n" + ablated)
    parts.append(
        "## The ten worst worlds\n\nThe worlds in which the adviser did most harm; the reasons are found by "
        "rule from the record.\n\n" + stories(records)
    )
    text = "\n\n".join(part.strip() for part in parts) + "\n"
    page.parent.mkdir(parents=True, exist_ok=True)
    half = page.with_suffix(".part")
    half.write_text(text, encoding="utf-8")
    os.replace(half, page)
