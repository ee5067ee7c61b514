"""What goes into and comes out of a flight: plain arrays in SI, one row a plausible bow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["FlightParameters", "FlightResult"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FlightParameters:
    """What differs between plausible flights; each array has N rows.

    drag_factor  (N,) [1]   true drag over the model's
    cross_factor (N,) [1]   true cross-flow force of the shaft over the model's
    vane_factor  (N,) [1]   true lift slope of the vanes over the model's
    head_factor  (N,) [1]   true lift of nose and blades over the model's
    wind_y       (N,) [m/s] crosswind, blowing toward the archer's left positive
    air_density  (N,) [kg/m3]
    """

    drag_factor: FloatArray
    cross_factor: FloatArray
    vane_factor: FloatArray
    head_factor: FloatArray
    wind_y: FloatArray
    air_density: FloatArray


@dataclass(frozen=True, slots=True)
class FlightResult:
    """What a batch of flights gave at D distances.

    hole   (N, D, 2) [m]   where the point passes each distance, from the line of the shot (left, up positive)
    angle  (N, D, 2) [rad] yaw and pitch there against the line of the shot (positive: point left/up, so the nock leans
                           right/low)
    tail   (N, D, 2) [m]   where the nock end passes a paper screen at that distance, from the point's hole
    speed  (N, D) [m/s], time (N, D) [s]
    solved (N,) bool       False where no finite answer was reached: those rows are zero, never NaN
    reason                 '' when all were solved
    """

    hole: FloatArray
    angle: FloatArray
    tail: FloatArray
    speed: FloatArray
    time: FloatArray
    solved: NDArray[np.bool_]
    reason: str
