"""What keeps a forgiving build from being merely a weak one: the limits a build must keep to be shown as safe."""

from __future__ import annotations

from dataclasses import dataclass

from spinewright.equipment import Limit, LimitKind, LimitState, RestKind, Setup, safety_limits
from spinewright.outlook.values import Range
from spinewright.units import DEGREE, Kind, System, show

__all__ = ["MOST_SWING", "MOST_TURN", "Bound", "broken_bounds"]

#: Beyond about a degree of incidence the flow along the shaft turns turbulent and the drag rises (KAKEN 18K03943
#: report, FY2020), so an arrow that leaves more askew is another arrow.
MOST_TURN = 1.0 * DEGREE
#: [m] room between shaft and rest while the vanes pass; from memory of common rests, not measured on this bow. Vanes
#: pass through what contains the shaft anyway, so there it is the shaft that must not strike the ring.
MOST_SWING = {RestKind.DROP_AWAY: 10e-3, RestKind.BLADE: 5e-3, RestKind.CONTAINED: 8e-3}


@dataclass(frozen=True, slots=True)
class Bound:
    """A bound that a build breaks: ``what`` it is about, ``present`` and ``bound`` [SI of ``kind``], and why it is."""

    what: str
    because: str
    present: float
    bound: float
    kind: Kind
    minimum: bool

    def sentence(self, system: System) -> str:
        """The bound and how the build stands to it, in one sentence."""
        edge = "at least" if self.minimum else "at most"
        present, bound = (
            show(value, self.kind, system, digits=self._digits(system)) for value in (self.present, self.bound)
        )
        return f"{self.what.capitalize()}: {present}, and {edge} {bound} is allowed ({self.because})."

    def _digits(self, system: System) -> int | None:
        if self.kind is Kind.ANGLE:
            return 1
        return 2 if system is System.INCH else 1


def broken_bounds(
    setup: Setup, turn: Range | None = None, swing: Range | None = None, safe_length: float | None = None
) -> tuple[Limit | Bound, ...]:
    """Everything ``setup`` breaks; empty when nothing is known to be wrong.

    turn [rad] and swing [m]: angle at release and room at the rest over the plausible bows; their upper ends count
    safe_length [m]: shortest safe carbon length, from the mark made on the arrow at full draw
    Limits nobody has stated (the maker's weakest spine, say) cannot be broken here; the build sheet lists them.
    """
    broken: list[Limit | Bound] = [one for one in safety_limits(setup) if one.state is LimitState.BROKEN]
    if not any(one.what is LimitKind.ARROW_MASS for one in broken if isinstance(one, Limit)):
        broken += [
            Bound("mass of the bare shaft", one.because, one.present, one.bound or 0.0, Kind.MASS, minimum=True)
            for one in safety_limits(setup, bare=True)
            if one.what is LimitKind.ARROW_MASS and one.state is LimitState.BROKEN
        ]
    length = setup.build.carbon_length
    if safe_length is not None and length < safe_length - 1e-9:
        because = "the mark made on the arrow at full draw"
        broken.append(Bound("shaft length", because, length, safe_length, Kind.LENGTH, minimum=True))
    if turn is not None and turn.high > MOST_TURN:
        because = "an arrow that leaves more askew drags and steers differently"
        broken.append(Bound("angle at release", because, turn.high, MOST_TURN, Kind.ANGLE, minimum=False))
    most = MOST_SWING[setup.bow.rest.kind]
    if swing is not None and swing.high > most:
        because = "vanes or shaft could strike the rest"
        broken.append(
            Bound("swing while the vanes pass the rest", because, swing.high, most, Kind.LENGTH, minimum=False)
        )
    return tuple(broken)
