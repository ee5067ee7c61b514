"""What each numbered shaft has shot: counts from everything that was seen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from spinewright.evidence.values import Evidence, NockSeries, Seen, Tear, Visit

__all__ = ["ShaftUse", "shaft_use"]


@dataclass(frozen=True, slots=True)
class ShaftUse:
    """Shots of one shaft: ``bare`` and ``fletched`` into a target, and through ``paper`` either way."""

    bare: int = 0
    fletched: int = 0
    paper: int = 0

    @property
    def total(self) -> int:
        """All of them."""
        return self.bare + self.fletched + self.paper

    def plus(self, more: ShaftUse) -> ShaftUse:
        """With so many more."""
        return ShaftUse(self.bare + more.bare, self.fletched + more.fletched, self.paper + more.paper)


def shaft_use(seen: Iterable[Seen]) -> Mapping[int, ShaftUse]:
    """Shots by shaft number. A shot called bad, or of a shaft set aside since, was shot all the same.

    Chronograph readings name no shaft, so they are in no count.
    """
    found: dict[int, ShaftUse] = {}
    for item in seen:
        for shaft, shots in _shots(item.what):
            found[shaft] = found.get(shaft, ShaftUse()).plus(shots)
    return found


def _shots(what: Evidence) -> list[tuple[int, ShaftUse]]:
    if isinstance(what, Visit):
        return [(one.shaft, ShaftUse(bare=int(one.bare), fletched=int(not one.bare))) for one in what.impacts]
    if isinstance(what, Tear):
        return [(what.shaft, ShaftUse(paper=1))]
    if isinstance(what, NockSeries):
        count = len(what.readings)
        if what.paper:
            return [(what.shaft, ShaftUse(paper=count))]
        return [(what.shaft, ShaftUse(bare=count) if what.bare else ShaftUse(fletched=count))]
    return []
