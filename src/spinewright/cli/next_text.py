"""The next move as text: what was seen, whether the last prediction held, what it is, the move, its cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.cli.log_hints import items_of, log_hints
from spinewright.cli.printing import command, heading, listing, sentences

if TYPE_CHECKING:
    from spinewright.workflow import NextMove, Option

__all__ = ["next_lines"]


_SHOWN = 5  # other moves on the face; all of them are in the object


def next_lines(result: NextMove, file: str, *, everything: bool) -> list[str]:
    """The lines to print; with ``everything`` the best other moves and the refused ones with their reasons."""
    words, state = result.explanation, result.state
    logged = f"Last seen: {result.seen}" if result.seen else ""
    lines = [
        *heading("Take care first", listing(state.cautions)),
        *heading("What was seen", [*sentences([words.observed]), *sentences([logged])]),
        *heading("The last prediction", sentences([words.checked])),
        *heading("What it most likely is", sentences(words.diagnosis)),
        *heading("Next move", [*sentences([words.move]), *sentences(words.why), *listing(items_of(result))]),
        *heading("What to expect", sentences([words.expect])),
        *heading("What it takes", sentences([words.cost, words.put_back])),
        *heading("Cautions", listing(words.cautions)),
        *heading("To log it once it is done", _hints(result, file)),
        *heading("Your own groups, before and after", sentences(result.proof)),
        *heading("What this session cannot tell", listing(state.notices)),
    ]
    if everything:
        lines += heading("Other moves, best first", _others(result.alternatives))
        lines += heading("Not now, and why", listing(_refused(result.refused)))
    return lines[1:]


def _hints(result: NextMove, file: str) -> list[str]:
    hints = log_hints(result, file)
    return [
        line for hint in hints for line in (command(hint) if hint.startswith("spinewright ") else sentences([hint]))
    ]


def _others(options: tuple[Option, ...]) -> list[str]:
    lines = listing(f"{one.words.rstrip('.')} ({one.expect})." for one in options[:_SHOWN])
    more = len(options) - _SHOWN
    return lines + (sentences([f"And {more} more in --json."]) if more > 0 else [])


def _refused(options: tuple[Option, ...]) -> list[str]:
    """One line for each reason: the kinds of move it holds for, and how many of each."""
    reasons: dict[str, dict[str, int]] = {}
    for one in options:
        counted = reasons.setdefault(one.reason, {})
        counted[str(one.kind)] = counted.get(str(one.kind), 0) + 1
    found = []
    for reason, kinds in reasons.items():
        named = ", ".join(f"{kind} ({count} ways)" if count > 1 else kind for kind, count in kinds.items())
        found.append(f"{named[:1].upper()}{named[1:]}: {reason}.")
    return found
