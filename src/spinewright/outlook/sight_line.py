"""Where the arrow has to point so that it meets the line from peep through pin at a distance, level or on a slope."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spinewright.equipment import Setup, mass_model
from spinewright.errors import SolveError
from spinewright.flight import AIR_DENSITY, FlightBody, flight_body, fly, nominal_flight
from spinewright.outlook.values import FloatArray

__all__ = ["Aims", "Departure", "Passed", "departure_of", "elevations", "passing_line"]

_TURNS = 12
_CLOSE = 3e-9  # rad


@dataclass(frozen=True, slots=True)
class Departure:
    """An arrow as it flies, and ``start`` [m]: its centre of mass in front of the nock at full draw as it leaves."""

    body: FlightBody
    start: float


@dataclass(frozen=True, slots=True, eq=False)
class Aims:
    """K aims, arrays (K,) each.

    distance [m] from the peep along the line of sight; slope [rad] of that line, up positive
    speed    [m/s] as the arrow leaves; drag [1] true drag over the model's; peep [m] over the arrow at full draw
    """

    distance: FloatArray
    slope: FloatArray
    speed: FloatArray
    drag: FloatArray
    peep: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Passed:
    """Of each aim (K,): ``elevation`` [rad] of the arrow over the line of sight, ``speed`` [m/s] and ``time`` [s]."""

    elevation: FloatArray
    speed: FloatArray
    time: FloatArray


def departure_of(setup: Setup) -> Departure:
    """The fletched arrow of ``setup`` at the end of the power stroke."""
    masses = mass_model(setup.build, bare=False)
    body = flight_body(setup.build, masses, bare=False)
    return Departure(body, setup.bow.stroke - body.nock_place)


def elevations(leaves: Departure, aims: Aims, near: FloatArray | None = None, finer: float = 1.0) -> FloatArray:
    """Angles (K,) [rad] of the arrow over the line of sight; see :func:`passing_line`."""
    return passing_line(leaves, aims, near, finer).elevation


def passing_line(leaves: Departure, aims: Aims, near: FloatArray | None = None, finer: float = 1.0) -> Passed:
    """The angle at which the arrow meets the line of sight, its speed there and the time of flight.

    At elevation e over a line of sight of slope s, the target stands D cos e + h sin e along the line of the shot and
    h cos e - D sin e over it, counted from the nock at full draw, h below the peep. The flown hole there is made to
    meet it by Newton with the slope -D, beginning at ``near`` (K,) [rad]; ``finer`` divides the steps of the flight.
    The arrow is taken to leave along its own axis. Raises SolveError where an arrow does not reach a distance.
    """
    count = len(aims.distance)
    parameters = replace(nominal_flight(count, air_density=AIR_DENSITY), drag_factor=np.asarray(aims.drag, float))
    at_rest = np.zeros((count, 2, 4))
    elevation = np.zeros(count) if near is None else near
    every = np.arange(count)
    for _ in range(_TURNS):
        along = aims.distance * np.cos(elevation) + aims.peep * np.sin(elevation) - leaves.start
        over = aims.peep * np.cos(elevation) - aims.distance * np.sin(elevation)
        angle = aims.slope + elevation
        flown = fly(leaves.body, aims.speed, at_rest, parameters, along, launch_angle=angle, finer=finer)
        if not flown.solved.all():
            break
        step = (over - flown.hole[every, every, 1]) / aims.distance
        elevation = elevation + step
        if np.abs(step).max() < _CLOSE:
            falls = np.hypot(1.0, flown.angle[every, every, 1])  # the arrow points where it flies: speed along the path
            return Passed(elevation, flown.speed[every, every] * falls, flown.time[every, every])
    furthest = float(np.max(aims.distance))
    raise SolveError("the sight line", f"the arrow does not reach {furthest:.0f} m", "ask for shorter distances")
