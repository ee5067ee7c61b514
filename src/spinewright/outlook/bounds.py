"""What keeps a forgiving build from being merely a weak one: the limits a build must keep to be shown as safe."""

from __future__ import annotations

from dataclasses import dataclass

from spinewright.equipment import Limit, LimitKind, LimitState, RestKind, Setup, safety_limits
from spinewright.outlook.values import Range
from spinewright.units import DEGREE, Kind, System, show

__all__ = ["MOST_BEND", "MOST_SWING", "MOST_TURN", "Bound", "Leaving", "broken_bounds"]

#: Beyond about a degree of incidence the flow along the shaft turns turbulent and the drag rises (KAKEN 18K03943
#: report, FY2020). A swing of two degrees spends two thirds of its time there (computed: |sin| over a half), so such an
#: arrow drags and steers as another one does.
MOST_TURN = 2.0 * DEGREE
#: The same degree, made at the nock end by bending alone. With a bare beam's first shape (slope 4.65/length there per
#: unit of amplitude, Thomson) the nock of a 29 in arrow then swings 2.8 mm to either side.
MOST_BEND = 1.0 * DEGREE
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
        digits = self._digits(system)
        present, bound = (show(value, self.kind, system, digits=digits) for value in (self.present, self.bound))
        if present == bound and digits is not None:  # a broken bound must not read as a kept one
            present, bound = (show(value, self.kind, system, digits=digits + 2) for value in (self.present, self.bound))
        return f"{self.what.capitalize()}: {present}, and {edge} {bound} is allowed ({self.because})."

    def _digits(self, system: System) -> int | None:
        if self.kind is Kind.ANGLE:
            return 1
        return 2 if system is System.INCH else 1


@dataclass(frozen=True, slots=True)
class Leaving:
    """How the arrow leaves over the plausible bows.

    turn  [rad]  largest angle to the air in its first swing; its middle counts against the bound
    bend  [rad]  how far the bending left in it turns its nock end; its middle counts
    swing [m]    how far it stands off the rest while the vanes pass; a strike can do harm, so its upper end counts

    With the upper ends of turn and bend a bow that nobody knows yet would forbid every arrow, stiff ones first.
    """

    turn: Range
    bend: Range
    swing: Range


def broken_bounds(
    setup: Setup, leaves: Leaving | None = None, safe_length: float | None = None
) -> tuple[Limit | Bound, ...]:
    """Everything ``setup`` breaks; empty when nothing is known to be wrong.

    leaves                  how its arrow leaves the bow; None = not computed
    safe_length [m]: shortest safe carbon length, from the mark made on the arrow at full draw; once there is a mark it
    alone says how short is too short, and what is computed no longer counts
    Limits nobody has stated (the maker's weakest spine, say) cannot be broken here; the build sheet lists them.
    """
    broken: list[Limit | Bound] = [
        one
        for one in safety_limits(setup)
        if one.state is LimitState.BROKEN and not (one.warning_only and safe_length is not None)
    ]
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
    if leaves is not None:
        broken += _at_release(setup, leaves)
    return tuple(broken)


def _at_release(setup: Setup, leaves: Leaving) -> list[Bound]:
    """The bounds on how the arrow leaves that are broken."""
    kept = (
        ("angle at release", "an arrow that swings wider drags and steers differently", leaves.turn, MOST_TURN),
        ("bending at release", "a shaft that leaves more bent is too weak or badly driven", leaves.bend, MOST_BEND),
    )
    broken = [
        Bound(what, because, value.middle, most, Kind.ANGLE, minimum=False)
        for what, because, value, most in kept
        if value.middle > most
    ]
    most = MOST_SWING[setup.bow.rest.kind]
    if leaves.swing.high > most:
        because = "vanes or shaft could strike the rest"
        what = "swing while the vanes pass the rest"
        broken.append(Bound(what, because, leaves.swing.high, most, Kind.LENGTH, minimum=False))
    return broken
