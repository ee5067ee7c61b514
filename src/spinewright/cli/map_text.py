"""The forgiveness map as text: two things that are never mixed, and what the rest may be hiding."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.cli.printing import heading, listing, rows, sentences

if TYPE_CHECKING:
    from spinewright.workflow import MapResult

__all__ = ["map_lines"]


def map_lines(result: MapResult) -> list[str]:
    """The lines to print."""
    lines = [
        *heading("Take care", listing(result.state.cautions)),
        *heading("Your own mistakes", [*rows(_mistakes(result)), *sentences([result.own_sentence])]),
        *heading(
            "Heads and differences between arrows",
            [*rows(result.difference_rows), *sentences([result.heads_sentence])],
        ),
        *heading("Where bare meets fletched", sentences([result.gap_sentence, result.missing])),
        *heading("Whether the rest hides a wrong spine", sentences(result.hidden_words)),
        *heading("Not safe on this map", listing(_unsafe(result))),
    ]
    return lines[1:]


def _mistakes(result: MapResult) -> list[tuple[str, str]]:
    found = []
    for name, size, miss, rigid, points in result.mistake_rows:
        lost = f"; {points} points" if points else ""
        found.append((f"{name}, {size}", f"{miss}; {rigid} if the arrow did not bend{lost}"))
    return found


def _unsafe(result: MapResult) -> list[str]:
    """Each reason once, with how many builds of the map it holds for."""
    counted: dict[str, int] = {}
    total = 0
    for row in result.chart.broken:
        for cell in row:
            total += 1
            for one in cell:
                counted[str(one.what)] = counted.get(str(one.what), 0) + 1
    return [f"{what}: {count} of {total} builds" for what, count in counted.items()]
