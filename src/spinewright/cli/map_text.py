"""The forgiveness map as text: two things that are never mixed, and what the rest may be hiding."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.cli.printing import columns, heading, listing, rows, sentences
from spinewright.units import Kind, System, show

if TYPE_CHECKING:
    from spinewright.workflow import MapResult, Meeting

__all__ = ["map_lines"]


def map_lines(result: MapResult) -> list[str]:
    """The lines to print."""
    lines = [
        *heading("Take care", listing(result.state.cautions)),
        *heading("Your own mistakes", [*_mistakes(result), *sentences([result.sizes_sentence, result.own_sentence])]),
        *heading(
            "Heads and differences between arrows",
            [*rows(result.difference_rows), *sentences([result.heads_sentence])],
        ),
        *heading("Where bare meets fletched", [*rows(_meetings(result)), *sentences([result.meeting_sentence])]),
        *heading("Whether the rest hides a wrong spine", sentences(result.hidden_words)),
        *heading("Not safe on this map", listing(_unsafe(result))),
    ]
    return lines[1:]


def _mistakes(result: MapResult) -> list[str]:
    """Each mistake with its size, its miss, and the miss of an arrow that does not bend."""
    body = [
        (f"{name}, {size}", miss, rigid, *([points] if result.face else []))
        for name, size, miss, rigid, points in result.mistake_rows
    ]
    head = ("mistake, its size", "miss", "if it did not bend", *(["points"] if result.face else []))
    return columns(head, body)


def _meetings(result: MapResult) -> list[tuple[str, str]]:
    """For each point owned, the lengths at which bare may meet fletched sideways."""
    found = []
    for one in result.meetings:
        if one.between is not None:
            mass = result.voice.quantity(one.point, Kind.MASS)["text"]
            found.append((f"with {mass} in front", _between(one, result.voice.system)))
    return found


def _between(one: Meeting, system: System) -> str:
    """The lengths of shaft in words; bounds that print alike are one length."""
    digits, fine = (1, "0.1 in") if system is System.INCH else (0, "1 mm")
    low, high = (show(value, Kind.LENGTH, system, digits=digits) for value in one.between or (0.0, 0.0))
    if low == high:
        return f"{low} of shaft, known to better than {fine}"
    likely = "" if one.length is None else f", most likely {show(one.length, Kind.LENGTH, system, digits=digits)}"
    return f"{low} to {high} of shaft{likely}"


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
