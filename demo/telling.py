"""Tells one step the way the command line would, but a caution or what came of a prediction in full only once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from spinewright.cli.printing import WIDTH, heading, listing, say, sentences
from spinewright.workflow import NextMove

__all__ = ["Teller", "banner", "paragraph"]


def banner(title: str) -> None:
    """A heading over a whole part."""
    say(["", "=" * WIDTH, title, "=" * WIDTH])


def paragraph(*parts: str) -> None:
    """Whole sentences, wrapped."""
    say(["", *sentences(parts)])


class Teller:
    """Prints steps, and remembers what was said of cautions and of the last prediction."""

    def __init__(self) -> None:
        self._said: set[str] = set()
        self._checked = ""

    def step(self, number: int, found: NextMove) -> None:
        """What was seen, whether the last prediction came true, what it is, the move, its cautions."""
        words = found.explanation
        checked = words.checked if words.checked != self._checked else ""
        self._checked = words.checked
        logged = f"Last seen: {found.seen}" if found.seen else ""
        say(
            [
                "",
                f"--- Step {number} ".ljust(WIDTH, "-"),
                *heading("What was seen", [*sentences([words.observed]), *sentences([logged])]),
                *heading("The last prediction", sentences([checked])),
                *heading("What it most likely is", sentences(words.diagnosis)),
                *heading("NEXT MOVE", [*sentences([words.move]), *sentences(words.why)]),
                *heading("What to expect", sentences([words.expect])),
                *heading("What it takes", sentences([words.cost, words.put_back])),
                *heading("Cautions", self._cautions([*found.state.cautions, *words.cautions])),
            ]
        )

    def done(self, said: Iterable[str]) -> None:
        """What the technician did, as the session file read it back."""
        say(heading("Done and logged", listing(said)))

    def _cautions(self, cautions: Sequence[str]) -> list[str]:
        new = [one for one in dict.fromkeys(cautions) if one not in self._said]
        again = len(set(cautions)) > len(new)
        self._said.update(new)
        return listing([*new, *(["What was said above still holds."] if again else [])])
