"""The gap of one walk beside what the archer's own scatter makes of so many shots."""

from __future__ import annotations

from math import hypot, log, sqrt

from spinewright.evidence import Ellipse, Gap, Visit, gap, shots_needed
from spinewright.logbook import BenchState
from spinewright.units import Kind, show
from spinewright.workflow.benches.sides import ellipse, place
from spinewright.workflow.showing import Json, Voice

__all__ = ["SHOWS", "gap_json", "gap_of", "last_gap", "scatter_at"]

SHOWS = 0.05
"""Chance that scatter alone does as much, below which a gap counts as shown (common practice)."""

_MOST_SHOTS = 60  # more arrows of each than this are nobody's afternoon
_SHARE = 0.8


def scatter_at(state: BenchState, distance: float) -> float:
    """The archer's one-axis scatter [m] at ``distance`` [m], as the session says it."""
    return state.archer.scatter * distance


def gap_of(state: BenchState, visit: Visit) -> Gap | None:
    """Bare from fletched of one walk, held against the archer's scatter; None while one of the groups is missing."""
    return gap(visit, scatter_at(state, visit.distance))


def last_gap(state: BenchState) -> Gap | None:
    """The gap of the last walk that had both."""
    for item in reversed(state.history.seen[state.cleared :]):
        if isinstance(item.what, Visit):
            found = gap_of(state, item.what)
            if found is not None:
                return found
    return None


def gap_json(found: Gap, voice: Voice) -> Json:
    """``found`` as docs/page.md has it."""
    best = found.best
    at = (found.y, found.z)
    known = found.known.covariance
    allowed = None
    if known is not None:
        # a circular normal of this variance keeps four in five within sd sqrt(-2 ln 0.2)
        radius = sqrt(known[0][0]) * sqrt(-2.0 * log(1.0 - _SHARE))
        allowed = ellipse((0.0, 0.0), Ellipse(radius, radius, 0.0), voice.hand)
    where = place(at, voice)
    shows = best.p_value is not None and best.p_value < SHOWS
    return {
        **where,
        "size": hypot(*at),
        "size_text": show(hypot(*at), Kind.LENGTH, voice.system),
        "words": _words(found, str(where["text"]), shows, voice),
        "ellipse": None if best.ellipse is None else ellipse(at, best.ellipse, voice.hand),
        "allowed": allowed,
        "chance": best.p_value,
        "shows": shows,
        "need": _need(found),
        "cautions": list(found.cautions),
        "distance": voice.quantity(found.distance, Kind.DISTANCE),
    }


def _need(found: Gap) -> int | None:
    """Shots of each that show a gap as large as this one in four cases of five; None for too many to be shot."""
    known = found.known.covariance
    if known is None or found.size <= 0.0:
        return None
    sd = sqrt(known[0][0] / (1 / found.bare.count + 1 / found.fletched.count))
    needed = max(shots_needed(sd, found.size), 2)
    return needed if needed <= _MOST_SHOTS else None


def _words(found: Gap, where: str, shows: bool, voice: Voice) -> str:
    far = show(found.distance, Kind.DISTANCE, voice.system)
    count = f"{found.bare.count} bare from {found.fletched.count} fletched at {far}"
    chance = found.best.p_value
    if chance is None:
        return f"Bare holes lie {where} from the fletched ones ({count}). {found.best.why_not}"
    percent = "less than 1" if chance < 0.01 else f"{100 * chance:.0f}"
    head = f"Bare holes lie {where} from the fletched ones ({count})."
    if shows:
        return f"{head} Your own scatter alone does as much in {percent} of 100 such walks."
    needed = _need(found)
    more = f" It takes about {needed} of each to tell." if needed is not None else ""
    return f"{head} That may be your own scatter: it does as much in {percent} of 100 such walks.{more}"
