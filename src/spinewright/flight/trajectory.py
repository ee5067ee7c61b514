"""Flights of one arrow, a batch at a time: from the release to paper and to the target."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from spinewright.errors import InputError
from spinewright.flight.body import FlightBody
from spinewright.flight.kernel import ACROSS, LARGEST_ANGLE, SLOWED, SOLVED, TURNED, constants, fly_rows, steps_needed
from spinewright.flight.values import FlightParameters, FlightResult

__all__ = ["fly", "steps_taken"]

FloatArray = NDArray[np.float64]

# Together good to 5 micrometres in hole and tail at 20 yd, and to 1e-4 of how far the release moves the hole wherever
# that is more than a few millimetres (3,000 random flights each of four arrows against ten times finer steps).
# About 40 steps fletched and 21 bare.
LONGEST_STEP = 0.9  # [m]
MOST_ACROSS = 0.015  # [1] energy across the line of the shot over that along it: beyond it the power stroke, which took
# nothing off the speed for what went across, gave more than the bow had (assumed)
STEP_TURN = 0.15  # [rad] of the yaw's own oscillation that one step may cover at most

_REASONS = {
    SLOWED: "lost too much speed or met a number that is not finite",
    ACROSS: f"left with more than {100.0 * MOST_ACROSS:g} % of their energy across the shot: the shaft is far too "
    "weak, or something threw it aside",
    TURNED: f"turned further than {math.degrees(LARGEST_ANGLE):.0f} degrees, where small angles no longer hold",
}


def _rows(body: FlightBody, parameters: FlightParameters, launch_angle: float | FloatArray) -> FloatArray:
    """Constants of all flights, one row each, in the order of :class:`~spinewright.flight.kernel.Row`."""
    p = parameters
    varied = (p.air_density, p.drag_factor, p.cross_factor, p.vane_factor, p.head_factor, p.wind_y)
    size = np.array((body.mass, body.inertia, body.section, body.diameter))
    climb = np.full(p.air_density.size, launch_angle)
    return constants(size, body.lift_moments, varied, climb)


def _steps(furthest: float, rows: FloatArray, finer: float) -> NDArray[np.int64]:
    """How many equal steps each flight takes, from the fastest turn its lift can make (rad per metre flown)."""
    return steps_needed(furthest, rows, (LONGEST_STEP, STEP_TURN, finer))


def steps_taken(body: FlightBody, parameters: FlightParameters, distances: FloatArray) -> int:
    """How many steps the first flight of ``parameters`` takes to ``distances`` [m]."""
    furthest = float(np.max(distances)) - body.nock_place
    return int(_steps(furthest, _rows(body, parameters, 0.0), 1.0)[0])


def _checked(
    body: FlightBody, speed: FloatArray, release: FloatArray, parameters: FlightParameters, distances: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The arrays as contiguous floats of the stated shapes, or an InputError that says which is not.

    Writable ones: for one that may only be read the kernel would be compiled again.
    """
    speed, release, distances = (np.require(a, np.float64, ["C", "W"]) for a in (speed, release, distances))
    rows = speed.shape[0] if speed.ndim == 1 else -1
    if rows < 0 or release.shape != (rows, 2, 4):
        raise InputError(
            f"speed has the shape {speed.shape} and release {release.shape}", "they must be (N,) and (N, 2, 4)"
        )
    for name in parameters.__slots__:
        if getattr(parameters, name).shape != (rows,):
            raise InputError(f"the flight parameter {name} has not one value a flight", f"give {rows} values")
    if distances.ndim != 1 or distances.size == 0 or not np.all(np.isfinite(distances)):
        raise InputError("the distances are not a list of finite numbers", "give at least one distance")
    if distances.min() < body.tip_place:
        raise InputError(
            f"a distance of {distances.min():.3f} m is reached before the arrow is free",
            f"the point is already {body.tip_place:.3f} m ahead of the centre of mass, from which distances count",
        )
    return speed, release, distances


def _result(read: FloatArray, codes: NDArray[np.int64]) -> FlightResult:
    """The batch's result from what the kernel noted (N, D, 8)."""
    solved = codes == SOLVED
    counts = {code: int(np.count_nonzero(codes == code)) for code in _REASONS} if not solved.all() else {}
    hole = read[:, :, 0:2]
    return FlightResult(
        hole=hole,
        angle=read[:, :, 2:4],
        tail=read[:, :, 6:8] - hole,
        speed=read[:, :, 4],
        time=read[:, :, 5],
        solved=solved,
        reason="; ".join(f"{n} of {codes.size} arrows {_REASONS[code]}" for code, n in counts.items() if n),
    )


def fly(
    body: FlightBody,
    speed: FloatArray,
    release: FloatArray,
    parameters: FlightParameters,
    distances: FloatArray,
    *,
    launch_angle: float | FloatArray = 0.0,
    finer: float = 1.0,
) -> FlightResult:
    """Fly ``body`` from N release states and tell what passes D distances.

    speed     (N,) [m/s] along the line of the shot
    release   (N, 2, 4) planes sideways and height; position [m] and velocity [m/s] of the centre of mass, angle [rad]
              (positive: point left/up) and rate [rad/s], from the line of the shot
    distances (D,) [m] along the line of the shot from where the centre of mass is at release, in any order
    launch_angle [rad] of the line of the shot above the horizontal, one for all or (N,): gravity is split along and
              across that line; holes are still measured from it
    finer     [1] divides every step; 1 is good to 1e-4 of the response at 20 yd, more shows convergence, less is for
              many flights of bows that are not known any better

    Wrong shapes and distances raise InputError; a row that cannot be flown comes back as not ``solved``.
    """
    speed, release, distances = _checked(body, speed, release, parameters, distances)
    if np.shape(launch_angle) not in {(), speed.shape}:
        raise InputError("the angles of launch are not one a flight", f"give one for all, or {speed.size} of them")
    table = _rows(body, parameters, launch_angle)
    count = distances.size
    reads = np.empty((4, count))
    reads[0] = distances - body.tip_place
    reads[1] = distances - body.nock_place
    reads[2], reads[3] = body.tip_place, body.nock_place
    strips = np.array((body.strip_places, body.strip_lengths))
    steps = _steps(float(reads[1].max()), table, finer)
    out = np.zeros((speed.size, count, 8))
    codes = fly_rows((speed, release, MOST_ACROSS), table, body.drag, strips, reads, steps, out)
    return _result(out, codes)
