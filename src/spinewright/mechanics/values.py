"""What goes into and comes out of a power stroke: plain arrays in SI, one row a plausible bow.

Planes: index 0 = sideways (y, left positive), 1 = height (z, up positive).
Release columns: 0 = position [m] of the centre of mass, 1 = its velocity [m/s], 2 = angle [rad] (yaw or pitch; positive
= the POINT is to the left or up of the tail), 3 = its rate [rad/s]; all measured at the moment the arrow is free of
string and rest, from the line of the shot (the line the nock would travel with every disturbance at zero).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

__all__ = ["Channel", "FloatArray", "StrokeParameters", "StrokeResult"]

FloatArray = NDArray[np.float64]


class Channel(IntEnum):
    """What can disturb a shot; the release state is linear in the amplitudes.

    x is the fraction of the stroke done: 0 at full draw, 1 at brace.
    """

    NOCK = 0  # [m] the whole nock-travel line displaced: y_n = A (nock height; string line beside the rest)
    RAMP = 1  # [m] nock travel drifting off: y_n = A x (cam lean, side load of the cable guard)
    BUMP = 2  # [m] a bump mid-stroke: y_n = 4 A x (1 - x) (timing, cable guard)
    REST = 3  # [m] the rest displaced: y_r = A
    HOLD = 4  # [m] the nock held off the string's line by A at full draw, let go with the string (face, hand)
    KICK = 5  # [m/s] the nock has the velocity A when the string is let go (trigger, finger)
    GRAVITY = 6  # [1] A = 1: weight of the arrow, from its sagged rest on string and rest
    BEND = 7  # [m] the unloaded shaft is crooked: its middle stands A off the line through its ends (parabola)


@dataclass(frozen=True, slots=True)
class StrokeParameters:
    """What differs between plausible bows; each array has N rows.

    stiffness_factor (N, 2) [1]    true bending stiffness over nominal, in each plane
    force_factor     (N,)   [1]    true draw force over the draw curve's
    virtual_mass     (N,)   [kg]   of string, cams and limbs, moving with the arrow
    string_factor    (N, 2) [1]    string's transverse stiffness over the nominal of physics.md section 2
    residual_tension (N,)   [N]    string's tension near brace that still holds the nock sideways
    nock_mass        (N,)   [kg]   part of string, loop and peep moving sideways with the nock
    rest_stiffness   (N, 2) [N/m]
    drops_after      (N,)   [m]    travel of the nock at which the rest lets go; >= the stroke = holds past the string
    damping          (N,)   [1]    damping ratio of every bending mode
    """

    stiffness_factor: FloatArray
    force_factor: FloatArray
    virtual_mass: FloatArray
    string_factor: FloatArray
    residual_tension: FloatArray
    nock_mass: FloatArray
    rest_stiffness: FloatArray
    drops_after: FloatArray
    damping: FloatArray


@dataclass(frozen=True, slots=True)
class StrokeResult:
    """What a batch of strokes gave.

    response       (N, 2, 8, 4)  release columns per plane, per unit amplitude of each Channel
    speed          (N,) [m/s]    of the arrow as it leaves the string
    time_on_string (N,) [s]
    solved         (N,) bool     False where no finite answer was reached: those rows are zero, never NaN
    reason         what went wrong in the rows that were not solved, '' when all were
    """

    response: FloatArray
    speed: FloatArray
    time_on_string: FloatArray
    solved: NDArray[np.bool_]
    reason: str
