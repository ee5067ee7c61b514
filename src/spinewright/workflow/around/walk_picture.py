"""The holes of the last walk to the target, as the archer sees them."""

from __future__ import annotations

from spinewright.evidence import Impact, Visit, read_back
from spinewright.logbook import BenchState
from spinewright.units import INCH, System, show_distance
from spinewright.workflow.around.account import Plot, Series

__all__ = ["last_walk"]


def last_walk(state: BenchState) -> Plot | None:
    """The last walk that was not a proof group: right and up positive; None when none was logged."""
    visits = [item.what for item in state.history.seen if isinstance(item.what, Visit)]
    visit = next((one for one in reversed(visits) if not one.purpose), None)
    if visit is None:
        return None
    system, hand = state.scope.system, state.scope.hand
    unit, size = ("in", INCH) if system is System.INCH else ("mm", 1e-3)
    told = read_back(visit, hand, system)

    def series(name: str, bare: bool) -> Series:
        holes = [one for one in visit.impacts if one.bare is bare and one.counts]
        right = tuple(_right(one, hand.sideways_sign) / size for one in holes)
        up = tuple(one.z / size for one in holes)
        return Series(name, right, up, line=False, labels=tuple(str(one.shaft) for one in holes))

    at = show_distance(visit.distance, system)
    drawn = tuple(one for one in (series("fletched", False), series("bare", True)) if one.x)
    spot = Series("aiming spot", (0.0,), (0.0,), line=False)
    words = f"{told[:1].upper()}{told[1:].rstrip('.')}. Numbers are the shafts'; left and right as you see them."
    return Plot(
        f"Last walk, {at}", f"right of the spot ({unit})", f"above it ({unit})", (*drawn, spot), words, even=True
    )


def _right(one: Impact, sign: float) -> float:
    """How far right of the spot the archer sees a hole; y is left in the right-handed frame."""
    return -one.y * sign if one.y else 0.0
