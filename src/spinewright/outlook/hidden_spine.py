"""Whether a moved rest is hiding a wrong spine, and what that does and does not cost."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spinewright.belief import Belief, Forecast
from spinewright.equipment import Setup
from spinewright.outlook.differences import SetSpread, scatter_draws
from spinewright.outlook.own_mistakes import Line, miss_draws
from spinewright.outlook.runs import released, some_rows
from spinewright.outlook.values import Range, enough_solved
from spinewright.units import INCH, MILLIMETRE, Hand, Kind, System, show, show_offset

__all__ = ["HiddenSpine", "hidden_spine", "hidden_spine_words", "rest_back"]

WIDE = 1.0 * INCH  # m at 20 yd; a gap beyond this is not trimmed away with the rest (common practice)
LIKELY = 0.7
SAME = 0.03  # share of the miss that nobody would notice
_MOVED = 0.05 * MILLIMETRE  # m, less is not a move of the rest


@dataclass(frozen=True, slots=True)
class HiddenSpine:
    """The gap with the rest as it is and with the rest back at its recorded start, and what each costs.

    moved (y, z) [m]       how far the rest (in height: less the nock point) stands from its start
    gap_now, gap_back      [m at 20 yd] true gap, bare minus fletched
    chance                 that the gap is over an inch with the rest back AND smaller now
    own_now, own_back      [m] rms miss from the archer's own mistakes at the archer's distance
    apart_now, apart_back  [m] rms distance of arrows with a stated fixed-blade head from the field points there
    """

    moved: tuple[float, float]
    gap_now: Forecast
    gap_back: Forecast
    chance: float
    own_now: Range
    own_back: Range
    apart_now: Range
    apart_back: Range

    @property
    def rest_moved(self) -> bool:
        """Whether the rest stands away from its start at all."""
        return float(np.hypot(*self.moved)) > _MOVED

    @property
    def hiding(self) -> bool:
        """Whether the rest most likely hides a spine that is wrong."""
        return self.rest_moved and self.chance >= LIKELY


def rest_back(setup: Setup, start: Setup) -> Setup:
    """``setup`` with rest and nock point back where they stood at the recorded ``start``."""
    return replace(setup, rest_y=start.rest_y, rest_z=start.rest_z, nock_z=start.nock_z)


def hidden_spine(
    belief: Belief, now: Setup, line: Line, *, bows: int = 60, spread: SetSpread | None = None
) -> HiddenSpine:
    """Weigh ``now`` against the same arrow with the rest back; both must be setups of the belief's ground.

    Break the ground with :func:`rest_back` among its candidates. Raises ValueError when it is not, SolveError when
    fewer than half of the plausible bows have an answer.
    """
    start = belief.ground.start
    back = rest_back(now, start)
    gaps = [belief.gap(setup) for setup in (now, back)]
    sizes = [np.hypot(gap[:, 0], gap[:, 1]) for gap in gaps]
    chance = float(np.mean((sizes[1] > WIDE) & (sizes[0] < sizes[1])))
    every = belief.bows()
    rows = some_rows(len(every), bows)
    members = every.rows(rows)
    numbers = []
    for setup, gap in zip((now, back), gaps, strict=True):
        as_built = released(members, setup)
        misses = miss_draws(members, setup, line, as_built=as_built)
        draws = scatter_draws(members, setup, (line.distance, spread or SetSpread()), as_built=as_built, gap=gap[rows])
        use = misses.solved & draws.solved
        enough_solved(use, "what a moved rest costs", misses.reason or draws.reason)
        numbers.append((Range.of(misses.combined[use]), Range.of(draws.apart[use])))
    lifted = (now.rest_z - start.rest_z) - (now.nock_z - start.nock_z)
    return HiddenSpine(
        moved=(now.rest_y - start.rest_y, lifted),
        gap_now=Forecast.of(gaps[0]),
        gap_back=Forecast.of(gaps[1]),
        chance=chance,
        own_now=numbers[0][0],
        own_back=numbers[1][0],
        apart_now=numbers[0][1],
        apart_back=numbers[1][1],
    )


def hidden_spine_words(value: HiddenSpine, hand: Hand, system: System) -> tuple[str, ...]:
    """Two to four plain sentences with the numbers that decided."""
    if not value.rest_moved:
        return ("The rest stands where it started, so it hides nothing.",)
    inch = system is System.INCH
    moved = show_offset(*value.moved, hand, system, digits=3 if inch else 1)
    now, back = (show_offset(*gap.middle, hand, system) for gap in (value.gap_now, value.gap_back))
    first = (
        "The rest is most likely hiding a wrong spine" if value.hiding else "The rest may not be hiding a wrong spine"
    )
    own, apart = (
        [show(one.middle, Kind.LENGTH, system, digits=2 if inch else 1) for one in pair]
        for pair in ((value.own_now, value.own_back), (value.apart_now, value.apart_back))
    )
    same = abs(value.own_now.middle - value.own_back.middle) < SAME * value.own_back.middle
    return (
        f"{first}: it stands {moved} of its start. Back there the bare hole would be {back} of the fletched one "
        f"(at 20 yd, most likely), as it is {now}.",
        f"The chance that the gap is over {show(WIDE, Kind.LENGTH, system, digits=1 if inch else 0)} there and smaller "
        f"here is {100 * value.chance:.0f} %.",
        f"Your own mistakes cost {'the same either way' if same else 'not the same'}: {own[0]} as it is, {own[1]} with "
        "the rest back.",
        f"Arrows with a fixed-blade head land {apart[0]} from field points as it is, {apart[1]} with the rest back.",
    )
