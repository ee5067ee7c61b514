"""Puts together everything advice is given on from the bench as it stands."""

from __future__ import annotations

from dataclasses import replace

from spinewright.advice import Situation
from spinewright.evidence import History, Visit
from spinewright.logbook import BenchState

__all__ = ["situation_of"]

_USUAL_DISTANCE = 20 * 0.9144  # m, where bare shafts are compared (common practice)


def situation_of(state: BenchState, budget: float = 0.02) -> Situation:
    """Everything advice is given on; ``budget`` is the share of hunts that may end with too short an arrow."""
    build = state.now.build
    mark = state.safe_length
    return Situation(
        archer=state.archer,
        history=replace(state.history, seen=state.history.seen[state.cleared :]),
        purpose=state.scope.purpose,
        time=state.scope.time_at_hand,
        heads_owned=tuple(replace(build.head, mass=mass) for mass in state.owned.points),
        shafts_owned=state.owned.shafts,
        # the mark is measured from the nock throat; what the saw leaves is shorter by what the nock adds
        safe_length=None if mark is None else mark - build.carbon_start,
        last_good=state.last_good,
        budget=budget,
        distance=_distance(state.history),
        rest_known=state.rest_known,
    )


def _distance(history: History) -> float:
    """Where the archer tests [m]: the distance of the last walk to a target that was not a proof group."""
    visits = (item.what for item in history.seen if isinstance(item.what, Visit))
    walks = [visit.distance for visit in visits if not visit.purpose]
    return walks[-1] if walks else _USUAL_DISTANCE
