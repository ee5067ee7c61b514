"""The flight of the range: small angles, a cross-flow force at two places that grows as a power of incidence, vanes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from benchmarks.virtual_range.world.stroke import Leaving

__all__ = ["Air", "Landing", "Surfaces", "fly"]

FloatArray = NDArray[np.float64]

_STEP = 4.0e-4  # s
_DENSITY = 1.2
_GRAVITY = 9.81


class Air(NamedTuple):
    """The law of the bare shaft: normal force 0.5 rho U^2 d L scale |a|^power, its lift slope and drag.

    scale, power [1]; nose [1/rad] on the cross-section; drag [1] of the shaft on its cross-section at no incidence;
    more [1/rad] drag with incidence; shift [1] by which the force moves forward of the middle, of the length
    """

    scale: float
    power: float
    nose: float
    drag: float
    more: float
    shift: float


class Surfaces(NamedTuple):
    """One arrow: mass, inertia, diameter, length [SI]; places [m] ahead of the balance point; areas [m2/rad].

    vanes = 0 for a bare shaft; blades = 0 for a field point; vane_drag [m2]
    """

    mass: float
    inertia: float
    diameter: float
    length: float
    balance: float
    tip: float
    vane_place: float
    vanes: float
    vane_drag: float
    blades: float


class Landing(NamedTuple):
    """Where and how it arrives: place of the tip [m] (2,), angle [rad] (2,) of the axis, speed [m/s]."""

    place: FloatArray
    angle: FloatArray
    speed: float


@njit(cache=True, error_model="numpy")
def _forces(air: Air, body: Surfaces, speed: float, v: FloatArray, angle: FloatArray, rate: FloatArray) -> FloatArray:
    """Side forces (2,) [N], moments (2,) [N m] and the incidence, as five numbers."""
    out = np.zeros(5)
    pressure = 0.5 * _DENSITY * speed * speed
    section = 0.25 * np.pi * body.diameter**2
    middle = 0.5 * body.length - body.balance + air.shift * body.length
    for place in (middle - 0.289 * body.length, middle + 0.289 * body.length):
        ay = angle[0] - (v[0] + place * rate[0]) / speed
        az = angle[1] - (v[1] + place * rate[1]) / speed
        size = np.sqrt(ay * ay + az * az)
        firm = 0.5 * pressure * body.diameter * body.length * air.scale * (size + 1e-9) ** (air.power - 1.0)
        out[0] += firm * ay
        out[1] += firm * az
        out[2] += place * firm * ay
        out[3] += place * firm * az
        out[4] += 0.5 * size
    fixed = ((body.tip, air.nose * section + body.blades), (body.vane_place, body.vanes))
    for place, area in fixed:
        for plane in range(2):
            force = pressure * area * (angle[plane] - (v[plane] + place * rate[plane]) / speed)
            out[plane] += force
            out[2 + plane] += place * force
    return out


@njit(cache=True, error_model="numpy")
def _fly(air: Air, body: Surfaces, distance: float, state: FloatArray) -> tuple[float, FloatArray, FloatArray]:
    """March ``state`` (speed; place, velocity, angle, rate of each plane) to ``distance`` [m] of the tip."""
    speed = state[0]
    y, v, angle, rate = state[1:3].copy(), state[3:5].copy(), state[5:7].copy(), state[7:9].copy()
    x, end = 0.0, distance - body.tip
    section = 0.25 * np.pi * body.diameter**2
    while x < end:
        dt = min(_STEP, (end - x) / speed + 1e-12)
        first = _forces(air, body, speed, v, angle, rate)
        half_v, half_angle, half_rate = v.copy(), angle + 0.5 * dt * rate, rate.copy()
        for plane in range(2):
            pull = _GRAVITY if plane == 1 else 0.0
            half_v[plane] += 0.5 * dt * (first[plane] / body.mass - pull)
            half_rate[plane] += 0.5 * dt * first[2 + plane] / body.inertia
        mid = _forces(air, body, speed, half_v, half_angle, half_rate)
        drag = (air.drag + air.more * mid[4]) * section + body.vane_drag
        slower = 0.5 * _DENSITY * speed * speed * drag / body.mass
        for plane in range(2):
            pull = _GRAVITY if plane == 1 else 0.0
            y[plane] += dt * half_v[plane]
            v[plane] += dt * (mid[plane] / body.mass - pull)
            angle[plane] += dt * half_rate[plane]
            rate[plane] += dt * mid[2 + plane] / body.inertia
        x += dt * (speed - 0.5 * dt * slower)
        speed -= dt * slower
    return speed, y + body.tip * angle, angle


def fly(air: Air, body: Surfaces, leaving: Leaving, distance: float) -> Landing:
    """Where the tip of an arrow that leaves so arrives at ``distance`` [m]."""
    parts = (leaving.place, leaving.velocity, leaving.angle, leaving.rate)
    state = np.concatenate([np.array([leaving.speed]), *parts])
    speed, place, angle = _fly(air, body, distance, state)
    return Landing(place, angle, float(speed))
