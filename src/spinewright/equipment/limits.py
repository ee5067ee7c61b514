"""The limits a setup must keep: arrow mass, weakest spine, shortest length, limb bolts."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from spinewright.equipment.setup import Setup
from spinewright.units import GRAIN, INCH, POUND_FORCE, Kind, System, counted, show

__all__ = ["LIGHTEST_PER_FORCE", "REACH_MARGIN", "Limit", "LimitKind", "LimitState", "safety_limits"]

# ASTM F1544 rates a bow's speed with an arrow of 5 gr per lb of peak weight; common practice takes it as the lightest.
LIGHTEST_PER_FORCE = 5.0 * GRAIN / POUND_FORCE
REACH_MARGIN = 1.0 * INCH  # m of shaft in front of the rest at full draw; common practice, no published source


class LimitKind(StrEnum):
    """What a limit is about."""

    ARROW_MASS = "arrow mass"
    WEAKEST_SPINE = "weakest spine"
    SHORTEST_LENGTH = "shortest length"
    BOLT_TURNS = "limb bolts"


class LimitState(StrEnum):
    """Whether a limit is kept; UNKNOWN when nobody has said what it is."""

    KEPT = "kept"
    BROKEN = "broken"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit.

    what, because  what it is about, and where the bound comes from
    present        the setup's value, SI of ``kind`` (turns for limb bolts, whose ``kind`` is None)
    bound          the same for the limit; None = not known
    minimum        whether ``present`` must be at least (True) or at most (False) the bound
    warning_only   computed here, so it warns; it never replaces a mark made on the arrow at full draw
    """

    what: LimitKind
    because: str
    present: float
    bound: float | None
    minimum: bool
    kind: Kind | None
    warning_only: bool = False

    @property
    def state(self) -> LimitState:
        """Kept, broken or unknown; exactly on the bound is kept."""
        if self.bound is None:
            return LimitState.UNKNOWN
        over = self.present - self.bound if self.minimum else self.bound - self.present
        return LimitState.KEPT if over >= -1e-9 * max(abs(self.bound), 1e-3) else LimitState.BROKEN

    def sentence(self, system: System) -> str:
        """The limit and how the setup stands to it, in one sentence."""
        if self.bound is None:
            return f"{self.what.capitalize()}: what is allowed is not known; {self.because}."
        present, bound = self._show(self.present, system), self._show(self.bound, system)
        edge = "at least" if self.minimum else "at most"
        verdict = "" if self.state is LimitState.KEPT else "; do not shoot this"
        if self.warning_only and verdict:
            verdict = "; check at full draw, facing a backstop and with a helper, before shooting"
        return f"{self.what.capitalize()}: {present}, and {edge} {bound} is allowed ({self.because}){verdict}."

    def _show(self, value: float, system: System) -> str:
        return f"{counted(value, 'turn')} out" if self.kind is None else show(value, self.kind, system)


def safety_limits(setup: Setup, *, bare: bool = False) -> list[Limit]:
    """All limits of ``setup`` for the fletched arrow, or for the ``bare`` shaft, which may be the lighter one."""
    return [_arrow_mass(setup, bare=bare), _weakest_spine(setup), _shortest_length(setup), _bolt_turns(setup)]


def _arrow_mass(setup: Setup, *, bare: bool) -> Limit:
    trade = LIGHTEST_PER_FORCE * setup.present_peak_weight
    maker = setup.bow.lightest_arrow
    strict = trade if maker is None else max(trade, maker)
    because = "5 gr per lb of peak weight, the rating arrow of ASTM F1544"
    if maker is not None and maker >= trade:
        because = "the bow maker's lightest arrow"
    present = setup.build.total_mass(bare=bare)
    return Limit(LimitKind.ARROW_MASS, because, present, strict, minimum=True, kind=Kind.MASS)


def _weakest_spine(setup: Setup) -> Limit:
    bound = setup.bow.weakest_spine
    because = "look it up in the shaft maker's chart for this peak weight and length"
    if bound is not None:
        because = "the maker's weakest spine; a larger deflection is a weaker shaft"
    present = setup.build.shaft.static_spine
    return Limit(LimitKind.WEAKEST_SPINE, because, present, bound, minimum=False, kind=Kind.SPINE)


def _shortest_length(setup: Setup) -> Limit:
    return Limit(
        LimitKind.SHORTEST_LENGTH,
        "the rest at full draw and 1 in (25 mm) more, computed from the draw length",
        setup.build.throat_length,
        setup.rest_reach + REACH_MARGIN,
        minimum=True,
        kind=Kind.LENGTH,
        warning_only=True,
    )


def _bolt_turns(setup: Setup) -> Limit:
    bound = setup.bow.turns_allowed
    because = "how many turns out the bow maker allows" if bound is not None else "look it up in the bow's manual"
    present = setup.bow.turns_out_now - setup.bolt_turns
    return Limit(LimitKind.BOLT_TURNS, because, present, bound, minimum=False, kind=None)
