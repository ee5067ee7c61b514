"""How far bare may lie from fletched further back if the bow is tuned at 20 yd, and how many shots settle it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, hypot, sqrt

import numpy as np

from spinewright.belief import FURTHER_SD, GAP_DISTANCE, VISIT_SD, Members, Output, What, run_physics
from spinewright.equipment import Setup
from spinewright.evidence import laws
from spinewright.outlook.values import FloatArray, enough_solved

__all__ = ["Tuned", "far_sd", "held_against", "settling_shots", "tuned_gaps"]

SHARE = 0.8
_EDGE = 1.2815515655446004  # sds of a normal that hold the central 80 %
_NO_SPREAD = 1e-6  # [m] gaps that differ by less say nothing about what follows them
_LEAST_SHARE, _MOST_SHARE = 0.02, 1.0  # of the plausible disturbances; below it rounding counts


@dataclass(frozen=True, slots=True)
class Tuned:
    """What a tuned bow shows at ``distance`` [m]; pairs are sideways and height, left and up positive.

    middle  [m]  bare less fletched, its middle; the bare shaft is lighter and slower, so its height is seldom zero
    growth  [1]  how many times as large a small gap is as at 20 yd
    best    [m]  half the central 80 %, each way, where nothing at all is left at 20 yd
    still   [m]  the same where at 20 yd no more is left than was called near
    """

    distance: float
    middle: tuple[float, float]
    growth: tuple[float, float]
    best: float
    still: tuple[float, float]

    @property
    def radius(self) -> float:
        """[m] of the circle that holds 80 % where nothing is left at 20 yd."""
        return self.best / _EDGE * sqrt(laws.chi2_quantile(SHARE, 2))


def far_sd(distance: float) -> float:
    """One sd, each way, of how bare shafts of one kind stray from what 20 yd foretell at ``distance`` [m]."""
    return FURTHER_SD * max(distance / GAP_DISTANCE - 1.0, 0.0)


def tuned_gaps(
    members: Members, setup: Setup, distances: Sequence[float], near: float, aim: tuple[float, float]
) -> list[Tuned]:
    """What ``setup`` shows at ``distances`` [m] once its gap at 20 yd is within ``near`` [m] of ``aim`` (four in five).

    The plausible bows' standing disturbances are made so small that their gaps at 20 yd are about ``near``: bare shafts
    that leave nearly straight turn on in another way than those that leave askew. Over those bows the gap further back
    is regressed on the one at 20 yd, each plane by itself; read at ``aim`` it is the middle, its slope the growth.
    Raises SolveError when fewer than half of the bows have an answer.
    """
    small = replace(members, amplitudes=members.amplitudes * _share(members, setup, near))
    values = _gaps(small, setup, distances)
    found = []
    for q, distance in enumerate(distances, start=1):
        middle, growth, still = [], [], []
        for plane in range(2):
            level, slope, left = _line(values[:, 0, plane], values[:, q, plane], aim[plane])
            # what the bows leave open and what bare shafts stray by are one doubt told twice: the larger counts
            stray = max(left, far_sd(distance))
            middle.append(level)
            growth.append(slope)
            still.append(hypot(slope * near, _EDGE * stray))
        found.append(
            Tuned(
                float(distance),
                (middle[0], middle[1]),
                (growth[0], growth[1]),
                _EDGE * far_sd(distance),
                (still[0], still[1]),
            )
        )
    return found


def settling_shots(sd: tuple[float, float], distance: float, offset: float, power: float = SHARE) -> int | None:
    """How many bare AND fletched arrows show a true gap of ``offset`` [m] at 5 % with chance ``power``.

    ``sd`` (bare, fletched) [m] one-axis scatter at ``distance`` [m]. What differs from walk to walk does not shrink
    with the arrows of one walk; None where it hides such a gap by itself. Chi-square of 2 degrees of freedom, as
    :func:`~spinewright.evidence.shots_needed` has it.
    """
    wanted = laws.chi2_noncentrality(laws.chi2_quantile(0.95, 2), 2, power)
    room = offset**2 / wanted - (VISIT_SD * distance / GAP_DISTANCE) ** 2
    if room <= 0.0:
        return None
    return max(1, ceil((sd[0] ** 2 + sd[1] ** 2) / room))


def held_against(tuned: Tuned, seen: tuple[float, float], variance: float) -> float:
    """Chance that a tuned bow shows a gap as far off as ``seen`` [m], measured with ``variance`` [m2] on each axis."""
    squares = ((tuned.still[p] / _EDGE) ** 2 + variance for p in range(2))
    return laws.chi2_tail(sum((seen[p] - tuned.middle[p]) ** 2 / v for p, v in enumerate(squares)), 2)


def _gaps(members: Members, setup: Setup, distances: Sequence[float]) -> FloatArray:
    """(bows, 1 + distances, 2) gap [m] at 20 yd and at each distance, of the bows that have an answer."""
    outputs = tuple(Output(0, What.GAP, float(d)) for d in (GAP_DISTANCE, *distances))
    physics = run_physics(members, (setup,), outputs)
    enough_solved(physics.solved, "the gap further back", physics.reason)
    return physics.values[physics.solved]


def _share(members: Members, setup: Setup, near: float) -> float:
    """How much of the standing disturbances leaves gaps at 20 yd of about ``near`` [m]."""
    spread = float(_gaps(members, setup, ())[:, 0].std(axis=0).max())
    return float(np.clip(near / max(spread, 1e-9), _LEAST_SHARE, _MOST_SHARE))


def _line(x: FloatArray, y: FloatArray, at: float) -> tuple[float, float, float]:
    """Value of the least-squares line of ``y`` on ``x`` at ``at``, its slope, and one sd of what it leaves."""
    about = x - x.mean()
    spread = float(about @ about)
    slope = float(about @ y) / spread if spread > len(x) * _NO_SPREAD**2 else 0.0
    left = y - y.mean() - slope * about
    return float(y.mean() + slope * (at - x.mean())), slope, float(np.sqrt(left @ left / max(len(x) - 2, 1)))
