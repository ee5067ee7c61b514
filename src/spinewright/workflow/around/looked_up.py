"""Limits of rounds or laws as a person looked them up, each with the day and the place; no rule is known here."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date

from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import Kind, System, parse, show
from spinewright.workflow.around.answers import day_in

__all__ = ["RULED", "Rule", "kept_rules", "read_rule"]

_LINE = re.compile(r"(?P<about>[a-z -]+?)\s+at\s+(?P<edge>most|least)\s+(?P<value>.+)", re.IGNORECASE)
_UNIT = re.compile(r"(?P<number>[\d./ -]*\d)\s*(?P<unit>\D.*)")
_EXAMPLE = "write for example 'shaft diameter at most 9.3 mm, 2026-03-01, indoor round'"
#: What can be checked, and the kind of its bound.
RULED: Mapping[str, Kind] = {
    "shaft diameter": Kind.LENGTH,
    "arrow length": Kind.LENGTH,
    "arrow mass": Kind.MASS,
    "arrow speed": Kind.SPEED,
    "kinetic energy": Kind.ENERGY,
    "peak weight": Kind.FORCE,
    "let-off": Kind.FRACTION,
    "head width": Kind.LENGTH,
}


@dataclass(frozen=True, slots=True)
class Rule:
    """One limit: of what, at least or at most, how much [SI] and as it was written, read on which day and where."""

    about: str
    least: bool
    bound: float
    written: str
    dated: date
    where: str

    def sentence(self, system: System) -> str:
        """'at most 9.3 mm': as it was written, with the archer's own unit behind where that is another."""
        own = show(self.bound, RULED[self.about], system)
        said, known = (_UNIT.fullmatch(text) for text in (self.written, own))
        bound = f"{self.written} ({own})"
        if said is None or known is None or said["number"] == known["number"] or own.startswith(self.written):
            bound = own
        elif said["unit"] == known["unit"]:
            bound = self.written
        return f"{'at least' if self.least else 'at most'} {bound}"


def read_rule(line: str) -> Rule:
    """'shaft diameter at most 9.3 mm, 2026-03-01, indoor round'. Raises InputError for what cannot be read."""
    what, *rest = (piece.strip() for piece in line.split(","))
    match = _LINE.fullmatch(" ".join(what.split()))
    place = Place(field="limit")
    if match is None or not rest:
        raise InputError(f"'{line}' is not a limit with the day it was read", _EXAMPLE, place)
    about = match["about"].lower()
    if about not in RULED:
        raise InputError(f"'{about}' cannot be checked here", f"known are {', '.join(RULED)}", place)
    try:
        bound = parse(match["value"], RULED[about])
    except InputError as error:
        raise error.at(field="limit") from None
    least, day = match["edge"].lower() == "least", day_in(rest[0], "limit")
    return Rule(about, least, bound, match["value"], day, ", ".join(rest[1:]))


def kept_rules(state: BenchState, about: str) -> tuple[Rule, ...]:
    """The limits of one thing that were kept for the task 'limits', which itself says what cannot be read of them."""
    found = []
    for question, answer in state.answers.get("limits", ()):
        with suppress(InputError):
            if question == "limit":
                found.append(read_rule(answer))
    return tuple(rule for rule in found if rule.about == about)
