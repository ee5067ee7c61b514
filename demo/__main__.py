"""Runs the demo: a whole invented session for a right-hander, its pictures, and the left-hander's mirror image."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from demo.mirror import MirrorError, hold_against_mirror
from demo.pictures import draw_all
from demo.session import Played, play
from demo.telling import Teller, banner, paragraph
from spinewright.cli.printing import listing, rows, say, sentences
from spinewright.units import Hand, System, show_offset
from spinewright.workflow import NextMove

__all__ = ["main"]


def main(folder: Path = Path("out")) -> int:
    """Runs everything into ``folder``; returns 0, or 1 when the left-hander's advice is not the mirror image."""
    began = time.monotonic()
    banner("spinewright: one tuning session, from the first check to the proof")
    paragraph(
        "EVERYTHING HERE IS INVENTED: the archer, the bow, the arrows and every hole. A small hidden truth makes the",
        "arrows fly; the adviser never sees it, only what is logged. An invented technician does whatever is asked.",
    )
    paragraph(
        "At a real bow: range rules and the bow maker's limits first, a backstop that forgives a wide miss, and never",
        "a broadhead on an unfletched shaft.",
    )
    banner("PART 1. A right-hander's session")
    teller = Teller()
    right = play(folder / "right-handed.toml", Hand.RIGHT, teller.step, teller.done)
    _show_proof(right)

    banner("PART 2. The build sheet and the forgiveness map")
    drawn = draw_all(right.path, folder)

    banner("PART 3. The same as a left-hander's mirror image")
    paragraph(
        "The same hidden truth with left and right exchanged, in a session file of its own. Every step's advice, each",
        "word and number of it, is held against the right-hander's.",
    )
    try:
        _mirror(right, folder / "left-handed.toml")
    except MirrorError as error:
        say(["", *sentences([f"NOT A MIRROR IMAGE: {error}"])])
        return 1
    _show_end(right, [str(path) for path in drawn], time.monotonic() - began)
    return 0


def _show_proof(played: Played) -> None:
    say(
        [
            "",
            "Your own fletched groups at 40 yd, before and after",
            *sentences(played.proof),
            "",
            "The hidden truth, which no archer ever gets to see",
            *rows(
                [
                    ("bare from fletched at 20 yd, at first", _place(played.gap_before)),
                    ("and at the end", _place(played.gap_after)),
                    ("steps, and arrows shot in all", f"{len(played.steps)}, {played.shots}"),
                ]
            ),
        ]
    )


def _place(gap: tuple[float, float]) -> str:
    return show_offset(gap[0], gap[1], Hand.RIGHT, System.INCH)


def _mirror(right: Played, path: Path) -> None:
    """Plays the left-hander's session and holds each step against the right-hander's."""
    sides = 0

    def told(number: int, found: NextMove) -> None:
        nonlocal sides
        if number > len(right.steps):
            raise MirrorError(f"the left-hander's session goes on after step {len(right.steps)}")
        first = right.steps[number - 1]
        sides += hold_against_mirror(first, found, number)
        say(["", *rows([(f"{number:2d}. right", first.explanation.move), ("    left", found.explanation.move)])])

    left = play(path, Hand.LEFT, told, lambda _said: None)
    if len(left.steps) != len(right.steps):
        raise MirrorError(f"the left-hander's session ends after {len(left.steps)} of {len(right.steps)} steps")
    paragraph(f"All {len(left.steps)} steps are mirror images of one another: {sides} sides compared, none astray.")


def _show_end(right: Played, drawn: list[str], seconds: float) -> None:
    banner("What to try next")
    file = right.path
    say(
        [
            *sentences(["Pictures to look at:"]),
            *listing(drawn),
            "",
            *sentences(["The session file is plain text; open it, or ask about it again:"]),
            "",
            f"  .venv/bin/spinewright next {file} --all",
            f"  .venv/bin/spinewright sheet {file} --picture {file.parent}/sheet.png",
            f'  .venv/bin/spinewright map {file} --face "40 cm"',
            f'  .venv/bin/spinewright log {file} rest --clicks "left 3"',
            f"  .venv/bin/spinewright log {file} undo last",
            "",
            *sentences(["The same bench as a page, to look at and to tap in; it prints its address:"]),
            "",
            f"  .venv/bin/spinewright serve --bench {file}",
            "",
            *sentences(["Your own bow, from an empty start (docs/first-session.md walks through it):"]),
            "",
            "  .venv/bin/spinewright new my-bow.toml",
            "",
            f"  Done in {seconds:.0f} s.",
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
