"""What is foretold and what was logged of broadheads on this bench, in SI and the right-handed frame."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from spinewright.advice import Situation
    from spinewright.belief import Belief, Members
    from spinewright.equipment import Head, HeadKind, Setup
    from spinewright.evidence import Visit
    from spinewright.evidence.gaps import Gap
    from spinewright.outlook import Range
    from spinewright.outlook.heads import HeadEffects

__all__ = ["SHARES", "Found", "Logged", "find"]

SHARES = (1.0, 0.5, 1.5)  # of the blades' area: the head itself, and others of its shape
_BOWS, _ROWS = 200, 60
_WELL = 0.25 * 0.0254  # m at 20 yd; a gap to the weak side that is more than a hair (from memory)


@dataclass(frozen=True, slots=True)
class Logged:
    """Groups shot with one setup from one distance: heads against field points.

    foretold  what was foretold for such heads there; None where other heads were asked about
    """

    kind: HeadKind
    gap: Gap
    now: bool
    foretold: HeadEffects | None


@dataclass(frozen=True, slots=True)
class Found:
    """Everything that is shown.

    gap_sideways, gap_height [m at 20 yd] of the bow as it stands, believed
    stiff_aim  [m at 20 yd] where the tune should end for fixed blades
    weak       [1] chance that bare lies well to the weak side of fletched; before any shot, that the shaft leaves the
               bow more bent than a sound one
    shot       whether bare and fletched were compared with this setup
    scatter    [rad] the archer's, believed
    """

    effects: HeadEffects
    gap_sideways: Range
    gap_height: Range
    stiff_aim: tuple[float, float]
    weak: float
    shot: bool
    scatter: float
    logged: tuple[Logged, ...]


@lru_cache(maxsize=8)
def find(situation: Situation, head: Head, distance: float) -> Found:
    """What is foretold for ``head`` at ``distance`` [m]. It has to be steady. Raises SolveError."""
    import numpy as np

    from spinewright.belief import BeliefSettings, What, believe, break_ground
    from spinewright.equipment import Purpose
    from spinewright.outlook import Range, some_rows
    from spinewright.outlook.heads import head_effects, sized, steady

    history, now = situation.history, situation.now
    ground = break_ground(history, (), (), BeliefSettings(bows=_BOWS))
    belief = believe(ground, history, situation.archer)
    bows, gap = belief.bows(), belief.gap(now)
    rows = some_rows(len(bows), _ROWS)
    aim = replace(situation, purpose=Purpose.FIXED_BLADES).aim
    heads = [one for one in (sized(head, share) for share in SHARES) if steady(now, one)]
    effects = head_effects(bows.rows(rows), now, distance, heads, gap[rows], ((0.0, 0.0), aim))
    shot = any(one.output.setup == ground.index(now) and one.output.what is What.GAP for one in belief.sightings)
    # what fixed blades feel is how the arrow leaves, which its gap shows; before any shot only the build can be judged
    weak = gap[:, 0] < -_WELL if shot else _bent(bows.rows(rows), now)
    return Found(
        effects,
        Range.of(gap[:, 0]),
        Range.of(gap[:, 1]),
        aim,
        float(np.mean(weak)),
        shot,
        float(np.median(belief.scatter)),
        _logged(situation, belief, head),
    )


def _bent(bows: Members, setup: Setup) -> NDArray[np.bool_]:
    """Which of the plausible bows leave the shaft more bent than a sound one, of those with an answer."""
    from spinewright.outlook import MOST_BEND
    from spinewright.outlook.leaving import bending_left
    from spinewright.outlook.values import enough_solved

    left = bending_left(bows, setup)
    enough_solved(left.solved, "the bending left in the arrow", "")
    return left.angle[left.solved] > MOST_BEND


def _logged(situation: Situation, belief: Belief, head: Head) -> tuple[Logged, ...]:
    import numpy as np

    from spinewright.equipment import HeadKind
    from spinewright.evidence import head_gap
    from spinewright.outlook import some_rows
    from spinewright.outlook.heads import head_effects, steady

    rows = some_rows(len(belief.particles.theta), _ROWS)
    bows = belief.bows().rows(rows)
    scatter, shafts = float(np.median(belief.scatter)), float(np.median(belief.shaft_sd))
    found = []
    for setup, visit in _joined(situation):
        for kind in (HeadKind.FIXED, HeadKind.MECHANICAL):
            sd = scatter * visit.distance
            gap = head_gap(visit, kind, sd, shafts * visit.distance / (20 * 0.9144))
            if gap is not None:
                effects = None
                if kind is head.kind and steady(setup, head):
                    effects = head_effects(bows, setup, visit.distance, [head], belief.gap(setup)[rows])
                found.append(Logged(kind, gap, setup == situation.now, effects))
    return tuple(found)


def _joined(situation: Situation) -> list[tuple[Setup, Visit]]:
    """Walks with the same setup, distance and sight joined into one, in the order first shot."""
    from spinewright.evidence import Visit

    walks: dict[tuple[Setup, float, int], Visit] = {}
    for seen in situation.history.seen:
        if not isinstance(seen.what, Visit):
            continue
        key = (seen.setup, seen.what.distance, seen.what.sight)
        before = walks.get(key)
        walks[key] = seen.what if before is None else replace(before, impacts=before.impacts + seen.what.impacts)
    return [(setup, visit) for (setup, *_), visit in walks.items()]
