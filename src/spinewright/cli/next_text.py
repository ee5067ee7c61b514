"""The next move as text: what was seen, whether the last prediction held, what it is, the move, its cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.cli.printing import heading, listing, sentences

if TYPE_CHECKING:
    from spinewright.workflow import NextMove, Option

__all__ = ["next_lines"]


def next_lines(result: NextMove, *, everything: bool) -> list[str]:
    """The lines to print; with ``everything`` the other moves and the refused ones with their reasons."""
    words, state = result.explanation, result.state
    logged = f"Last logged: {result.seen}" if result.seen else ""
    lines = [
        *heading("Take care first", listing(state.cautions)),
        *heading("What was seen", [*sentences([words.observed]), *sentences([logged])]),
        *heading("The last prediction", sentences([words.checked])),
        *heading("What it most likely is", sentences(words.diagnosis)),
        *heading("Next move", [*sentences([words.move]), *sentences(words.why)]),
        *heading("What to expect", sentences([words.expect])),
        *heading("What it takes", sentences([words.cost, words.put_back])),
        *heading("Cautions", listing(words.cautions)),
        *heading("Your own groups, before and after", sentences(result.proof)),
        *heading("What this session cannot tell", listing(state.notices)),
    ]
    if everything:
        lines += heading("Other moves, best first", listing(_other(one) for one in result.alternatives))
        lines += heading("Not now, and why", listing(_refused(one) for one in result.refused))
    return lines[1:]


def _other(option: Option) -> str:
    return f"{option.words} ({option.expect})"


def _refused(option: Option) -> str:
    return f"{option.words} Not now: {option.reason}."
