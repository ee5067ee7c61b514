"""The one budget of a hunt: how likely it may be made that the arrow ends too short, and what has been spent of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from spinewright.advice.moves import Move, MoveKind
from spinewright.advice.weighing import too_short
from spinewright.belief import Belief, Recall
from spinewright.equipment import Setup
from spinewright.evidence import Seen

__all__ = ["added_risk", "over_budget", "spent_so_far", "stiffens_for_good"]

_NOTHING = 1e-6  # m or kg: less than this is no change


def stiffens_for_good(move: Move) -> bool:
    """Whether a move makes the arrow read stiffer and cannot simply be forgotten: cuts and lighter points."""
    return move.kind is MoveKind.CUT or (move.kind is MoveKind.POINT and move.amount < 0)


def added_risk(belief: Belief, before: Setup, after: Setup) -> float:
    """How much likelier the change of the arrow alone makes it that the arrow ends too short.

    Held against the arrow of ``before`` with everything else as in ``after``: what bolts or rest did in between can
    be put back, and must not hide what the cut does.
    """
    uncut = replace(after, build=before.build)
    return float(np.mean(too_short(belief, after) & ~too_short(belief, uncut)))


def over_budget(risk: float, spent: float, budget: float) -> str:
    """Why a stiffening move is refused for the chance of ending too short; '' when it fits the hunt's one budget."""
    if risk + spent <= budget:
        return ""
    return (
        f"the chance that the arrow ends too short would reach {100 * (risk + spent):.1f} %, "
        f"over the {100 * budget:.0f} % allowed for the whole hunt"
    )


def spent_so_far(recall: Recall) -> float:
    """The risk of ending too short that was accepted at every cut and lighter point so far, as it was believed then.

    The same change made again after it was put back is counted once.
    """
    history = recall.history
    order = [history.start, *history.setups, history.now]
    seen_before = _seen_before(order, history.seen)
    changes: dict[tuple[Setup, Setup], int] = {}
    for place, (before, after) in enumerate(pairwise(order)):
        if _stiffened(before, after):
            changes.setdefault((before, after), seen_before[place + 1])
    spent = 0.0
    for (before, after), first in changes.items():
        spent += added_risk(recall.before(first), before, after)
    return spent


def _stiffened(before: Setup, after: Setup) -> bool:
    """Whether the same shafts were cut or given a lighter point; another shaft begins with a length of its own."""
    if before.build.shaft != after.build.shaft:
        return False
    shorter = after.build.carbon_length < before.build.carbon_length - _NOTHING
    return shorter or after.build.head.mass < before.build.head.mass - _NOTHING


def _seen_before(order: Sequence[Setup], seen: Sequence[Seen]) -> list[int]:
    """How many things had been seen when each setup of ``order`` was made; a setup can come more than once."""
    counts = [0] * len(order)
    place = 0
    for number, item in enumerate(seen, 1):
        here = next((k for k in range(place, len(order)) if order[k] == item.setup), place)
        counts[here + 1 :] = [number] * (len(order) - here - 1)
        place = here
    return counts
