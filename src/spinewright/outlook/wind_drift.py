"""How far a wind of a stated speed and direction moves the hit, with what is not known of speed and drag.

The crosswind's share is flown (the arrow leaves along the line of the shot, its vanes turn it into the air it meets);
a wind along the line makes it meet more or less air, which changes lag and drop by the closed form of
:mod:`spinewright.flight.along_wind`. Both shares are small beside the flight, so they are taken one on the other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spinewright.flight import AIR_DENSITY, blown, fly, nominal_flight
from spinewright.outlook.sight_line import Aims, Departure, passing_line
from spinewright.outlook.sight_marks import MarkFit, Unknown
from spinewright.outlook.values import FloatArray

__all__ = ["Moved", "moved_by_wind"]

_STEPS = np.array([0.01, 0.05])  # of ln speed and ln drag for the derivatives


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """Of W winds at D distances, arrays (W, D) [m]: ``side`` left positive, ``height`` up positive, each with one sd.

    blunt (W, D) [m] drift by the lag rule alone, for comparison
    """

    side: FloatArray
    side_sd: FloatArray
    height: FloatArray
    height_sd: FloatArray
    blunt: FloatArray


def moved_by_wind(fit: MarkFit, distance: FloatArray, across: FloatArray, against: FloatArray) -> Moved:
    """Hits moved by winds ``across`` (W,) [m/s] blowing to the left and ``against`` (W,) [m/s] blowing at the archer.

    Doubt is first order in ln speed and ln drag, with their covariance. Raises SolveError, and ValueError for a wind
    that outruns the arrow.
    """
    aims = fit.passing(distance)
    logs = fit.at[[Unknown.SPEED, Unknown.DRAG]]
    seen = (distance, aims.elevation, float(fit.at[Unknown.PEEP]))
    middle = _moved(fit.leaves, logs, seen, (across, against))
    rows = []
    for j, step in enumerate(_STEPS):
        moved = np.zeros(2)
        moved[j] = step
        high, low = (_moved(fit.leaves, logs + sign * moved, seen, (across, against)) for sign in (1.0, -1.0))
        rows.append((high - low) / (2.0 * step))
    slopes = np.stack(rows)
    covariance = fit.covariance[np.ix_([Unknown.SPEED, Unknown.DRAG], [Unknown.SPEED, Unknown.DRAG])]
    sd = np.sqrt(np.maximum(np.einsum("icwd,ij,jcwd->cwd", slopes, covariance, slopes), 0.0))
    return Moved(middle[0], sd[0], middle[1], sd[1], middle[2])


def _moved(
    leaves: Departure,
    logs: FloatArray,
    aims: tuple[FloatArray, FloatArray, float],
    winds: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """(3, W, D) [m] side, height and the lag rule's drift, with ``logs`` of speed and drag."""
    (distance, climb, peep), (across, against) = aims, winds
    speed, drag = np.exp(logs)
    count = len(across) + 1
    calm = nominal_flight(count, air_density=AIR_DENSITY)
    parameters = replace(calm, drag_factor=np.full(count, drag), wind_y=np.concatenate([[0.0], across]))
    flown = fly(leaves.body, np.full(count, speed), np.zeros((count, 2, 4)), parameters, distance - leaves.start)
    one = np.ones(len(distance))
    still_aims = Aims(distance, 0.0 * one, speed * one, drag * one, peep * one)
    way = distance - leaves.start - leaves.body.tip_place
    passed = passing_line(leaves, still_aims, climb)
    decay = np.log(speed / passed.speed) / way
    found = np.zeros((3, len(across), len(distance)))
    for d, (path, k, e) in enumerate(zip(way, decay, climb, strict=True)):
        still = blown(float(path), float(speed), float(k), 0.0, float(e))
        for w, headwind in enumerate(against):
            windy = blown(float(path), float(speed), float(k), float(headwind), float(e))
            found[0, w, d] = flown.hole[1 + w, d, 0] * (windy.lag / still.lag if still.lag > 0.0 else 1.0)
            found[1, w, d] = windy.height - still.height
            found[2, w, d] = across[w] * windy.lag
    return found
