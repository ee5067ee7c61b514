"""What a small slip of one setting does to the fletched hit: how far string creep, heat or a loose screw would show."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from spinewright.belief import draw_members, standing
from spinewright.equipment import Setup
from spinewright.evidence import BowCheck
from spinewright.outlook.runs import fly_releases, release_states, released
from spinewright.outlook.values import Range, enough_solved

__all__ = ["Slip", "slips"]


@dataclass(frozen=True, slots=True)
class Slip:
    """Where a small change moves the fletched hit [m], sideways (left positive) and in height, and how far."""

    sideways: Range
    height: Range
    size: Range


@lru_cache(maxsize=8)
def slips(
    setup: Setup, check: BowCheck | None, slipped: tuple[Setup, ...], distance: float, bows: int = 60, seed: int = 20
) -> tuple[Slip, ...]:
    """What each of ``slipped`` moves the fletched hit of ``setup`` by at ``distance`` [m], over plausible bows.

    Each is a stroke and a flight of the same plausible bow with that one thing changed, less the hit without it; aim,
    sight and archer stay. Gravity is in it, so that a change of speed shows in height. Raises SolveError when most bows
    have no answer.
    """
    members = draw_members(bows, setup, check, np.random.default_rng([seed, 9]))
    hits, solved = [], np.ones(bows, dtype=np.bool_)
    for one in (setup, *slipped):
        stroked = released(members, one)
        states = release_states(stroked, standing(members, one))
        flown = fly_releases(members, one, (states[None], stroked.speed[None]), distance)
        solved &= stroked.solved & flown.solved
        hits.append(flown.hole[0])
    enough_solved(solved, "what a small slip does", "most plausible bows gave no finite answer")
    moved = [(hit - hits[0])[solved] for hit in hits[1:]]
    return tuple(Slip(Range.of(m[:, 0]), Range.of(m[:, 1]), Range.of(np.hypot(m[:, 0], m[:, 1]))) for m in moved)
