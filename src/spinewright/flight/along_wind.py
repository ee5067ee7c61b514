"""A stable arrow in wind from any side, in closed form: how much longer it flies, how far it lags, how it falls."""

from __future__ import annotations

import math
from dataclasses import dataclass

from spinewright.flight.air import GRAVITY

__all__ = ["Blown", "blown"]

_STEPS = 50


@dataclass(frozen=True, slots=True)
class Blown:
    """A level flight over a distance.

    time   [s]
    lag    [s] time beyond that of a flight that never slows in the air it meets: drift = crosswind x lag
    height [m] over the line of the bow's own axis, so minus the drop; a small climb of the line is in it
    """

    time: float
    lag: float
    height: float


def blown(distance: float, speed: float, decay: float, against: float, climb: float = 0.0) -> Blown:
    """Flight over ``distance`` [m] from ``speed`` [m/s] with the wind ``against`` [m/s] it, minus with it.

    ``decay`` [1/m] is that of still air, as in :func:`~spinewright.flight.coast`; ``climb`` [rad] a small angle of the
    line of the shot above the level. In the air's own frame the arrow leaves with U0 = speed + against and coasts:
    with T = 1 + k U0 t the air flown is ln(T)/k, the ground ln(T)/k - against t. Drag turns the small upward speed
    the same way, so z' T = climb v0 - g (t + k U0 t^2/2); integrated once more that is the height. Raises ValueError
    for an arrow that the wind outruns.
    """
    through = speed + against
    if through <= 0.0 or speed <= 0.0:
        raise ValueError("the arrow is not faster than the wind")
    grows = decay * through
    time = _time(distance, against, grows, through)
    if grows * time < 1e-9:
        return Blown(time, 0.0, climb * speed * time - 0.5 * GRAVITY * time**2)
    flown = math.log1p(grows * time) / grows  # in seconds at the first speed
    fall = GRAVITY * (time + 0.5 * grows * time**2 - flown) / (2.0 * grows)
    return Blown(time, time - flown, climb * speed * flown - fall)


def _time(distance: float, against: float, grows: float, through: float) -> float:
    """Time [s] at which ln(1 + a t)/a U0 - w t = x, by Newton from the flight without drag."""
    time = distance / (through - against)
    for _ in range(_STEPS):
        spread = 1.0 + grows * time
        flown = through * (math.log(spread) / grows if grows * time > 1e-12 else time) - against * time
        pace = through / spread - against
        if pace <= 0.0:
            raise ValueError("the arrow does not reach that far against the wind")
        step = (distance - flown) / pace
        time += step
        if abs(step) < 1e-13:
            break
    return time
