"""What pushes and holds the arrow of the range: a trapezoid of force, the string, and a rest that only pushes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["Pull", "RestLaw", "draw_force", "nock_line", "rest_force", "rest_height", "sideways_force"]

FloatArray = NDArray[np.float64]


class Pull(NamedTuple):
    """The bow along the shot.

    stroke [m]; peak, holding [N]; rise, fall [1] shares of the stroke (from brace) where the plateau begins and ends;
    share [1] of the force that reaches the arrow; moving [kg] of limbs and string; behind [m] from the nock at brace
    to where the string's hold comes from; height [1] of that hold against the sideways one; tension [N/m] left at brace
    """

    stroke: float
    peak: float
    holding: float
    rise: float
    fall: float
    share: float
    moving: float
    behind: float
    height: float
    tension: float


class RestLaw(NamedTuple):
    """The rest.

    reach [m] nock to contact at full draw; tail [m] from the throat, behind which the shaft is past the rest;
    side, up [N/m]; damping [N s/m]; grip [1] largest sideways force over the upward one; friction [1]; radius [m]
    of the shaft; slack [m] of a ring; drops [m] travel at which it falls, by ``falls`` [m/s2];
    ring 1.0 = contained, can pull
    """

    reach: float
    tail: float
    side: float
    up: float
    damping: float
    grip: float
    friction: float
    radius: float
    slack: float
    drops: float
    falls: float
    ring: float


@njit(cache=True, error_model="numpy")
def draw_force(pull: Pull, u: float) -> float:
    """Force [N] at ``u`` [m] from brace: straight up, flat, straight down to what is held."""
    part = u / pull.stroke
    if part <= 0.0:
        return 0.0
    if part < pull.rise:
        return pull.peak * part / pull.rise
    if part < pull.fall:
        return pull.peak
    return pull.peak + (pull.holding - pull.peak) * min((part - pull.fall) / (1.0 - pull.fall), 1.0)


@njit(cache=True, error_model="numpy")
def nock_line(faults: FloatArray, done: float) -> float:
    """Where the string would put the nock [m]: height, a drift growing as the square, a late bump, what is held off.

    ``faults`` = nock, ramp, bump, rest, hold, kick of one plane; ``done`` = share of the stroke done (0 = full draw).
    """
    late = max(done - 0.25, 0.0) / 0.75
    return float(faults[0] + faults[1] * done**1.7 + faults[2] * np.sin(np.pi * late) ** 2)


@njit(cache=True, error_model="numpy")
def rest_height(rest: RestLaw, travel: float, since: float) -> float:
    """How far the launcher has fallen [m], ``since`` [s] after it was let go."""
    if travel < rest.drops:
        return 0.0
    return -0.5 * rest.falls * since * since


@njit(cache=True, error_model="numpy")
def rest_force(rest: RestLaw, pressed: float, closing: float) -> float:
    """Upward push [N] on a shaft pressed ``pressed`` [m] into it at ``closing`` [m/s]; a ring also holds from above."""
    if pressed > 0.0:
        return max(rest.up * pressed + rest.damping * closing, 0.0)
    if rest.ring > 0.0 and pressed < -rest.slack:
        return min(rest.up * (pressed + rest.slack) + rest.damping * closing, 0.0)
    return 0.0


@njit(cache=True, error_model="numpy")
def sideways_force(rest: RestLaw, off: float, closing: float, push: float) -> float:
    """Sideways force [N]: a groove that slips when it has to hold more than its grip on the upward push allows."""
    if rest.ring > 0.0:
        inside = max(abs(off) - rest.slack, 0.0)
        return float(np.sign(off) * rest.side * inside) if inside > 0.0 else 0.0
    most = rest.grip * push
    return min(max(rest.side * off + rest.damping * closing, -most), most)
