"""Where the tune is, in one sentence without numbers; the numbers stand on the page about the meaning."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from spinewright.evidence import Gap, Visit
from spinewright.logbook import BenchState, Knob
from spinewright.workflow.benches.gap_json import SHOWS, gap_of
from spinewright.workflow.benches.sides import xy
from spinewright.workflow.benches.view import View

__all__ = ["standing_words"]

_SIGHT = (Knob.SIGHT_SIDEWAYS, Knob.SIGHT_HEIGHT)  # where the sight stands moves fletched and bare alike
_MATTERS = 0.38  # of the whole offset: a part that is smaller turns it by under a quarter of a right angle
_NOTHING = "Nothing was seen yet."
_NO_PAIR = "No walk with both bare and fletched arrows counts yet, so nobody can say."


def standing_words(view: View) -> str:
    """Which way bare lies from fletched, whether the archer's scatter may make that, and whether it still holds."""
    state = view.state
    if not state.history.seen:
        return _NOTHING
    found = _last(state, [event.id for event in view.session.events])
    if found is None:
        return _NO_PAIR
    gap, still = found
    where = _side(gap, view)
    if not still:
        return f"Before the last change bare lay {where}; where it lies now, the next shots will say."
    chance = gap.best.p_value
    if chance is None:
        return f"Bare lies {where}; it takes more arrows to hold that against your own scatter."
    if chance < SHOWS:
        return f"Bare lies {where}, further than your own scatter makes it."
    return f"Bare lies {where}, but no further than your own scatter may make it."


def _last(state: BenchState, order: Sequence[str]) -> tuple[Gap, bool] | None:
    """The gap of the last walk that had both, and whether bow and arrow are still as they were then.

    ``order`` are the ids of all events; a change of unknown size leaves the setup as it was but stands in the ledger.
    """
    changed = max((order.index(one.event) for one in state.ledger if one.knob not in _SIGHT), default=-1)
    for item in reversed(state.history.seen[state.cleared :]):
        found = gap_of(state, item.what) if isinstance(item.what, Visit) else None
        if found is not None:
            return found, item.setup == state.now and order.index(item.event) > changed
    return None


def _side(gap: Gap, view: View) -> str:
    x, y = xy(gap.y, gap.z, view.voice.hand)
    size = hypot(x, y)
    if size == 0.0:
        return "right with fletched"
    parts = []
    if abs(x) >= _MATTERS * size:
        parts.append("right" if x > 0.0 else "left")
    if abs(y) >= _MATTERS * size:
        parts.append("high" if y > 0.0 else "low")
    return f"{' and '.join(parts)} of fletched"
