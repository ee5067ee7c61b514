"""The power stroke of the range: Newmark's method on the finite elements, with a rest that can lose the arrow.

Both planes march together, because the rest's sideways grip comes from how hard the arrow presses on it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from benchmarks.virtual_range.world.beam import Beam, add_shape, banded_times, factor, shape, solve
from benchmarks.virtual_range.world.string_and_rest import (
    Pull,
    RestLaw,
    draw_force,
    nock_line,
    rest_force,
    rest_height,
    sideways_force,
)

__all__ = ["Bars", "Leaving", "loose", "march"]

FloatArray = NDArray[np.float64]

STEP = 3.5e-5  # s
GRAVITY = 9.81


class Leaving(NamedTuple):
    """How the arrow leaves: speed [m/s], and per plane (2,) place [m], velocity [m/s], angle [rad], rate [rad/s].

    Place and velocity are those of the balance point; ``bent`` [m] is how far the nock still swings about the axis.
    """

    speed: float
    place: FloatArray
    velocity: FloatArray
    angle: FloatArray
    rate: FloatArray
    bent: FloatArray


class Bars(NamedTuple):
    """The beam as the kernel takes it: banded matrices (4, n), ``system`` what Newmark's method solves
    with but for thrust and string, element length [m], mass [kg] pushed along, and the
    damping [s] that times the stiffness resists bending."""

    mass: FloatArray
    stiff: FloatArray
    thrust: FloatArray
    system: FloatArray
    step: float
    total: float
    damping: float


@njit(cache=True, error_model="numpy")
def march(bars: Bars, pull: Pull, law: RestLaw, faults: FloatArray) -> tuple[float, FloatArray, FloatArray]:
    """Speed, deflections and velocities (2, n) as the arrow is free of string and rest.

    ``faults`` (2, 6): nock, ramp, bump, rest, hold [m] and kick [N s] of each plane.
    """
    n = bars.mass.shape[1]
    state = _State(np.zeros((2, n)), np.zeros((2, n)), np.zeros((2, n)), np.zeros((2, n)), np.zeros(2))
    rigid = np.zeros(n)
    rigid[0::2] = 1.0
    weight = banded_times(bars.mass, rigid)
    for i in range(n):  # what checks a slice's shape takes seconds to compile
        state.weight[1, i] = -GRAVITY * weight[i]
    line = _settle(bars, pull, law, faults, state)
    travel, speed, time, dropped = 0.0, 0.0, 0.0, 0.0
    for _ in range(4000):
        travel, speed, push = _along(pull, bars.total, travel, speed)
        time += STEP
        if travel < law.drops:
            dropped = time
        if law.reach - travel <= law.tail or (travel > pull.stroke and travel > law.drops + 0.03):
            break
        fallen = rest_height(law, travel, time - dropped)
        _advance(bars, pull, law, faults, state, (travel, push, time, line + fallen))
    return speed, state.u, state.v


class _State(NamedTuple):
    """Deflection, velocity, acceleration and weight (2, n) of both planes; the rest's force on each (2,)."""

    u: FloatArray
    v: FloatArray
    a: FloatArray
    weight: FloatArray
    grip: FloatArray


@njit(cache=True, error_model="numpy")
def _along(pull: Pull, total: float, travel: float, speed: float) -> tuple[float, float, float]:
    """Travel, speed and acceleration after one step along the shot (midpoint rule)."""
    moving = total + pull.moving
    half = travel + 0.5 * STEP * speed
    here = pull.share * draw_force(pull, pull.stroke - half) / moving
    travel += STEP * (speed + 0.5 * STEP * here)
    speed += STEP * here
    push = pull.share * draw_force(pull, pull.stroke - travel) / moving
    return travel, speed, push


@njit(cache=True, error_model="numpy")
def _hold(pull: Pull, travel: float, plane: int) -> float:
    """The string's stiffness [N/m] against a nock off its line."""
    if travel >= pull.stroke:
        return 0.0
    left = pull.stroke - travel
    firm = pull.share * draw_force(pull, left) / (left + pull.behind)
    return (firm if plane == 0 else firm * pull.height + 900.0) + pull.tension * pull.behind / (left + pull.behind)


@njit(cache=True, error_model="numpy")
def _settle(bars: Bars, pull: Pull, law: RestLaw, faults: FloatArray, state: _State) -> float:
    """Put the arrow at rest on string and rest at full draw; how high the rest stands so that it lies level [m]."""
    value, slope = np.empty(4), np.empty(4)
    e = min(int(law.reach / bars.step), bars.mass.shape[1] // 2 - 2)
    shape(law.reach / bars.step - e, bars.step, value, slope)
    line = 0.0
    for plane in range(2):
        spring = law.side if plane == 0 else law.up
        firm = _hold(pull, 0.0, plane)
        held = bars.stiff.copy()
        held[0, 0] += firm
        add_shape(held, 2 * e, value, spring)
        factor(held)
        if plane == 1:
            sag = state.weight[1].copy()
            solve(held, sag)
            for k in range(4):
                line -= value[k] * sag[2 * e + k]
        right = state.weight[plane].copy()
        right[0] += firm * (nock_line(faults[plane], 0.0) + faults[plane, 4])
        for k in range(4):
            right[2 * e + k] += spring * (faults[plane, 3] + (line if plane == 1 else 0.0)) * value[k]
        solve(held, right)
        for i in range(right.size):
            state.u[plane, i] = right[i]
    return line


@njit(cache=True, error_model="numpy")
def _advance(
    bars: Bars, pull: Pull, law: RestLaw, faults: FloatArray, state: _State, now: tuple[float, float, float, float]
) -> None:
    """One step of Newmark's average acceleration in both planes; the rest's force is found by bisection."""
    travel, push, time, line = now
    value, slope = np.empty(4), np.empty(4)
    at = law.reach - travel
    last = bars.mass.shape[1] // 2 - 2
    e = min(max(int(at / bars.step), 0), last)
    shape(at / bars.step - e, bars.step, value, slope)
    for plane in (1, 0):
        firm = _hold(pull, travel, plane)
        system = bars.system - push * bars.thrust
        system[0, 0] += firm
        factor(system)
        u, v, a = state.u[plane], state.v[plane], state.a[plane]
        right = state.weight[plane] + banded_times(bars.mass, 4.0 / STEP**2 * u + 4.0 / STEP * v + a)
        right += bars.damping * banded_times(bars.stiff, 2.0 / STEP * u + v)
        right[0] += firm * nock_line(faults[plane], min(travel / pull.stroke, 1.0)) + _kick(faults[plane, 5], time)
        new = right.copy()
        solve(system, new)
        stands = faults[plane, 3] + (line if plane == 1 else 0.0)
        free, last = _at(new, e, value), _at(u, e, value)
        state.grip[plane] = _wanted(law, plane, stands, state.grip, (free, (last - free) / STEP))
        if state.grip[plane] != 0.0:  # else nothing touches, and how the shaft gives way need not be known
            answer = np.zeros(bars.mass.shape[1])
            for k in range(4):
                answer[2 * e + k] = value[k]
            if plane == 1:
                for k in range(4):  # sliding friction pulls the underside of the shaft back and tips it
                    answer[2 * e + k] -= law.friction * law.radius * slope[k]
            solve(system, answer)
            place = (free, last, _at(answer, e, value))
            state.grip[plane] = _contact(law, plane, stands, state.grip, place)
            new += state.grip[plane] * answer
        for i in range(new.size):
            acceleration = 4.0 / STEP**2 * (new[i] - u[i]) - 4.0 / STEP * v[i] - a[i]
            v[i] += 0.5 * STEP * (a[i] + acceleration)
            u[i], a[i] = new[i], acceleration


@njit(cache=True, error_model="numpy")
def _at(u: FloatArray, e: int, value: FloatArray) -> float:
    total = 0.0
    for k in range(4):
        total += value[k] * u[2 * e + k]
    return total


@njit(cache=True, error_model="numpy")
def _kick(impulse: float, time: float) -> float:
    """A push on the nock [N] shaped like half a sine over the first 1.5 ms."""
    lasts = 1.5e-3
    return float(impulse * np.pi / (2.0 * lasts) * np.sin(np.pi * time / lasts)) if time < lasts else 0.0


@njit(cache=True, error_model="numpy")
def _wanted(law: RestLaw, plane: int, stands: float, grip: FloatArray, shaft: tuple[float, float]) -> float:
    """The force [N] the rest gives a shaft at a place [m] that closes on it at a speed [m/s]."""
    here, closing = shaft
    if plane == 1:
        return float(rest_force(law, stands - here, closing))
    return float(sideways_force(law, stands - here, closing, max(grip[1], 0.0)))


@njit(cache=True, error_model="numpy")
def _contact(law: RestLaw, plane: int, stands: float, grip: FloatArray, place: tuple[float, float, float]) -> float:
    """The rest's force [N] that agrees with where the shaft then is; ``place`` = free place, last place, give [m/N].

    The law is piecewise linear and falls with the force, so bisection between two forces always finds it.
    """
    free, last, soft = place
    low, high = -2000.0, 2000.0
    for _ in range(40):
        force = 0.5 * (low + high)
        here = free + soft * force
        wanted = _wanted(law, plane, stands, grip, (here, (last - here) / STEP))
        if wanted == force:
            return force
        if wanted > force:
            low = force
        else:
            high = force
    return 0.5 * (low + high)


def loose(beam: Beam, free: Beam, pull: Pull, law: RestLaw, faults: FloatArray, damping: float) -> Leaving:
    """Shoot ``beam`` (with what of the string moves with it); ``free`` is the arrow without the string."""
    system = (4.0 / STEP**2) * beam.mass + (1.0 + 2.0 * damping / STEP) * beam.stiffness
    bars = Bars(beam.mass, beam.stiffness, beam.thrust, system, beam.step, beam.total, damping)
    speed, u, v = march(bars, pull, law, faults)
    place, velocity, angle, rate, bent = (np.zeros(2) for _ in range(5))
    for plane in range(2):
        place[plane], angle[plane] = _rigid_part(free, u[plane])
        velocity[plane], rate[plane] = _rigid_part(free, v[plane])
        bent[plane] = u[plane, 0] - (place[plane] - free.balance * angle[plane])
    return Leaving(speed, place, velocity, angle, rate, bent)


def _rigid_part(free: Beam, u: FloatArray) -> tuple[float, float]:
    """Mean place and turn of a deflection, by momentum and angular momentum."""
    n = free.mass.shape[1]
    shift, turn = np.zeros(n), np.zeros(n)
    shift[0::2], turn[1::2] = 1.0, 1.0
    turn[0::2] = free.step * np.arange(n // 2) - free.balance
    moved = banded_times(free.mass, u)
    return float(shift @ moved) / free.total, float(turn @ moved) / free.inertia
