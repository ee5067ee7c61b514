"""Where bare should lie from fletched before and after one cut, over the bows that fit everything seen."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from spinewright.advice import GOOD_GAP
from spinewright.belief import BeliefSettings, Forecast, believe, break_ground
from spinewright.equipment import Archer, Setup
from spinewright.evidence import History
from spinewright.outlook.values import FloatArray

__all__ = ["AfterCut", "after_cut"]

_SETTINGS = BeliefSettings(bows=120)


@dataclass(frozen=True, slots=True)
class AfterCut:
    """Bare minus fletched at 20 yd [m], left and up positive, ``now`` and ``after``.

    near_now, near_after  [1] chance that it is under an inch from the aim
    stiff                 [1] chance that the arrow as it is lies to the stiff side of the aim
    seen                  whether bare and fletched were compared at all
    """

    now: Forecast
    after: Forecast
    near_now: float
    near_after: float
    stiff: float
    seen: bool


@lru_cache(maxsize=8)
def after_cut(history: History, archer: Archer, cut: Setup, aim: tuple[float, float]) -> AfterCut:
    """What ``cut`` should do; ``aim`` [m] is the gap wanted. Raises SolveError when most bows have no answer."""
    belief = believe(break_ground(history, (cut,), (), _SETTINGS), history, archer)
    now, after = belief.gap(history.now), belief.gap(cut)
    stiff = float(np.mean(now[:, 0] > aim[0]))
    return AfterCut(
        Forecast.of(now), Forecast.of(after), _near(now, aim), _near(after, aim), stiff, bool(belief.sightings)
    )


def _near(gap: FloatArray, aim: tuple[float, float]) -> float:
    return float(np.mean(np.hypot(*(gap - np.array(aim)).T) < GOOD_GAP))
