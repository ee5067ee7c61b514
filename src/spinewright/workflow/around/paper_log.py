"""The log on paper, where phones are barred: a sheet to fill in, and its lines made into one entry afterwards."""

from __future__ import annotations

import re
import shlex
from collections.abc import Sequence

from spinewright.errors import InputError, Place
from spinewright.logbook.event_reading import read_event
from spinewright.units import Hand, Kind, System, show
from spinewright.workflow import phrases
from spinewright.workflow.around import papers
from spinewright.workflow.around.papers import Paper

__all__ = ["log_command", "log_sheet"]

_LINE = re.compile(r"(?:shaft\s+)?(?P<shaft>\d{1,6})\s+(?P<state>bare|fletched)\s*:\s*(?P<rest>.+)", re.IGNORECASE)
_EXAMPLE = "write for example '7 bare: left 2.1 in, high 0.6 in; nock right 2 deg; bad'"
_ROWS = 18
_SPECIAL = re.compile(r'["$`\\!]')


def log_command(lines: Sequence[str], distance: str, target: str, hand: Hand) -> list[str]:
    """The one command that logs the arrows of ``lines``, on lines that a shell takes as one.

    Raises InputError that names the line, counted from 1.
    """
    said = []
    for number, line in enumerate(lines, 1):
        match = _LINE.fullmatch(" ".join(line.split()))
        place = Place(line=number, field="arrow")
        if match is None:
            raise InputError(f"'{line}' is not an arrow of the paper log", _EXAMPLE, place)
        state, text = match["state"].lower(), f"{match['shaft']}: {match['rest']}"
        try:
            hit = phrases.hit(text, state, "arrow")
            event = {"kind": "shots", "distance": distance, "target": target, "hits": [hit]}
            read_event(event, 1, hand)
        except InputError as error:
            raise InputError(error.what, error.right, place) from error
        said.append(f"--{state} {_quoted(text)}")
    head = f"spinewright log FILE shots --distance {_quoted(distance)} --target {_quoted(target)}"
    return [f"{one} \\" for one in (head, *said[:-1])] + said[-1:]


def _quoted(text: str) -> str:
    """``text`` as one word of a command line, in double quotes where these will do on every system."""
    return shlex.quote(text) if _SPECIAL.search(text) else f'"{text}"'


def log_sheet(distance: float, system: System, *, cautions: Sequence[str] = ()) -> Paper:
    """The sheet to fill in: its columns are what an entry of shots takes, in that order."""
    unit = "in" if system is System.INCH else "mm"
    at = show(distance, Kind.DISTANCE, system)
    first = "7 bare: left 2.1 in, high 0.6 in; nock right 2 deg" if system is System.INCH else (
        "7 bare: left 53 mm, high 15 mm; nock right 2 deg"
    )  # fmt: skip
    return Paper(
        "paper-log",
        "Log on paper",
        (
            *(papers.words(one, care=True) for one in cautions),
            papers.facts(
                [
                    ("Distance, bow to target", f"{at}, or: ______________"),
                    ("Target", "fresh foam / layered mesh / worn foam / bag / straw"),
                    ("Day and time", "____________________"),
                    ("Target square to the line of shot", "yes / no"),
                ]
            ),
            papers.words(
                "The hole is where the point went in, from that arrow's own aiming spot. Left and right as you see "
                "them at full draw. Write down a shot you called bad before you looked, too, and mark it. Pull nothing "
                "before both numbers stand here."
            ),
            papers.blanks(
                (
                    "shaft",
                    "bare or fletched",
                    f"left or right ({unit})",
                    f"high or low ({unit})",
                    "nock leans (deg)",
                    "bad",
                ),
                _ROWS,
                8.5,
            ),
            papers.words(
                f"Afterwards type each row as one line, such as '{first}', into 'recheck' (its question 'an arrow of "
                "the paper log'): it gives the one command that logs them all. On the page enter the holes under 'At "
                "the line'."
            ),
        ),
    )
