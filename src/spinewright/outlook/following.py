"""Lets a head's offset, and how askew the arrow leaves, follow the gap between bare and fletched this bow has shown."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import GAP_DISTANCE, Members, Output, What, run_physics
from spinewright.equipment import Setup
from spinewright.outlook.values import FloatArray

__all__ = ["follow_gap", "gap_of_physics"]

_NO_SPREAD = 1e-6  # [m] plausible bows whose gaps differ by less say nothing about what follows a gap


def gap_of_physics(members: Members, setup: Setup) -> tuple[FloatArray, NDArray[np.bool_]]:
    """(N, 2) [m at 20 yd] gap that the model alone gives each plausible bow, and which have an answer (N,)."""
    shown = run_physics(members, (setup,), (Output(0, What.GAP, GAP_DISTANCE),))
    return shown.values[:, 0], shown.solved


def follow_gap(value: FloatArray, physics: FloatArray, believed: FloatArray, use: NDArray[np.bool_]) -> FloatArray:
    """(N, 2) ``value`` of N plausible bows in each plane, moved as far as their gap is believed to be another.

    physics, believed (N, 2) [m at 20 yd]  gap of the model alone, and the same bow's with what was learnt from holes
    use (N,)                               bows that count for the slope

    Bare shaft and head feel the same thing, the angle and turning at release, so over plausible bows a head's offset
    lies along the gap (correlation 0.9 and more, computed). In each plane a bow's value moves along that line from the
    gap the model gives it to the one it is believed to have; how far it lay off the line stays (a regression
    adjustment: Beaumont, Zhang & Balding 2002, 'Approximate Bayesian computation in population genetics').
    """
    moved = value.copy()
    if np.count_nonzero(use) < 3:
        return moved
    for plane in range(2):
        gap = physics[use, plane] - physics[use, plane].mean()
        spread = float(np.sqrt(np.mean(gap**2)))
        if spread > _NO_SPREAD:
            slope = float(np.mean(gap * value[use, plane])) / spread**2
            moved[:, plane] += slope * (believed[:, plane] - physics[:, plane])
    return moved
