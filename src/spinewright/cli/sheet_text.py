"""The build sheet as text: settings, figures with their doubts, the ledger, how to put it all back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.cli.printing import columns, heading, listing, rows, sentences

if TYPE_CHECKING:
    from spinewright.workflow import Sheet

__all__ = ["sheet_lines"]


def sheet_lines(result: Sheet) -> list[str]:
    """The lines to print."""
    state = result.state
    own = [f"{one.about}: {one.says} (looked up {one.dated.isoformat()})" for one in state.limits]
    lines = [
        *heading("Build sheet", sentences([f"{result.subject[:1].upper()}{result.subject[1:]}."])),
        *heading("Take care", listing(result.cautions)),
        *_blocks(result.blocks[:2]),
        *heading("Figures", _figures(result)),
        *_blocks(result.blocks[2:]),
        *heading("Your own groups, before and after", sentences(result.proof)),
        *heading("Limits you looked up yourself", listing(own)),
        *heading("What this session cannot tell", listing(state.notices)),
    ]
    return lines[1:]


def _blocks(blocks: list[tuple[str, list[tuple[str, str]]]]) -> list[str]:
    """Rows side by side; those without a label as a list."""
    lines = []
    for title, pairs in blocks:
        sentence = all(not label for label, _ in pairs)
        lines += heading(title, listing(text for _, text in pairs) if sentence else rows(pairs))
    return lines


def _figures(result: Sheet) -> list[str]:
    """The arrow's figures side by side, then the bow's."""
    bare = {figure.name: figure.text for figure in result.figures if figure.of == "bare"}
    arrow = [(one.label, one.text, bare[one.name]) for one in result.figures if one.of == "fletched" and one.on_face]
    bow = [(one.label, one.text) for one in result.figures if one.of == "bow"]
    return [*columns(("", "fletched", "bare"), arrow), *rows(bow)]
