"""What can be said of a flight without integrating it: slowing, drift, trim, and the turn of a fletched arrow."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from spinewright.errors import EquipmentError, InputError
from spinewright.flight.air import AIR_DENSITY, AIR_VISCOSITY
from spinewright.flight.body import FlightBody, drag_coefficient
from spinewright.flight.crossflow import FORM, FRICTION

__all__ = ["YawTurn", "coast", "decay_rate", "drift", "trim_angle", "turn_of_fletched"]


@dataclass(frozen=True, slots=True)
class YawTurn:
    """How a small yaw of a fletched arrow goes; all lengths are flown distance and independent of speed.

    wavelength [m] of one full swing, 0 where the vanes are so large that there is none
    shed       [m] over which the swing falls to 1/e
    """

    wavelength: float
    shed: float


def decay_rate(body: FlightBody, speed: float, *, air_density: float = AIR_DENSITY) -> float:
    """Share of the speed lost per metre flown straight [1/m], at ``speed`` [m/s]: rho A CD/(2 m)."""
    coefficient = drag_coefficient(body, air_density * speed * body.diameter / AIR_VISCOSITY)
    return 0.5 * air_density * body.section * coefficient / body.mass


def coast(distance: float, speed: float, decay: float) -> tuple[float, float]:
    """Time [s] and speed left [m/s] after ``distance`` [m] from ``speed`` with a constant ``decay`` [1/m].

    v = v0 exp(-k x) and t = (exp(k x) - 1)/(k v0), for drag that grows with the square of the speed.
    """
    grown = decay * distance
    stretch = math.expm1(grown) / grown if grown != 0.0 else 1.0
    return distance / speed * stretch, speed * math.exp(-grown)


def drift(wind: float, time: float, distance: float, speed: float) -> float:
    """Drift [m] of a stable arrow in a crosswind [m/s]: the lag rule, w (t - x/v0).

    ``time`` [s] of flight over ``distance`` [m] from ``speed`` [m/s]; positive with the wind. It holds for an arrow
    that points into the air it meets, so that drag pulls along its axis and nothing else pushes it aside (Didion's
    rule of exterior ballistics).
    """
    return wind * (time - distance / speed)


def trim_angle(
    body: FlightBody, *, speed: float | None = None, form: float = FORM, density: float = AIR_DENSITY
) -> float:
    """Incidence [rad] at which an arrow flies on without turning: nose and blades against the cross-flow behind.

    Static balance about the centre of mass at incidence a, with s1 = -integral of the place along the shaft:
    ``sum(slope area place) = d s1 (form a + 4 sqrt(nu a/(U d)))``. Without a ``speed`` [m/s] the laminar friction is
    left out. 0 where the vanes hold the arrow straight. Raises EquipmentError where nothing stops the nose, that is
    where the balance point is not ahead of the middle.
    """
    lead = float(body.lift_moments[:, 1].sum())
    if lead <= 0.0:
        return 0.0
    behind = -sum(length * place for length, place in zip(body.strip_lengths, body.strip_places, strict=True))
    if behind <= 0.0:
        raise EquipmentError(
            "the balance point lies at or behind the middle of the shaft, so no angle is held in flight",
            "use more weight in front",
        )
    wanted = lead / (body.diameter * behind)
    friction = 0.0 if speed is None else FRICTION * math.sqrt(AIR_VISCOSITY / (density * speed * body.diameter))
    root = (math.sqrt(friction**2 + 4.0 * form * wanted) - friction) / (2.0 * form)
    return root**2


def turn_of_fletched(body: FlightBody, *, air_density: float = AIR_DENSITY) -> YawTurn:
    """Wavelength and damping of a small yaw of a fletched ``body``.

    The lift of nose, vanes and blades alone (cross-flow on the shaft grows with the square of a small yaw), with the
    states (v/U, psi, r/U) over the distance flown:

        (v/U)' = [c0 (psi - v/U) - c1 r/U]/m,  psi' = r/U,  (r/U)' = [c1 (psi - v/U) - c2 r/U]/I

    with ck = 0.5 rho sum(slope area place^k). Raises InputError for a body that nothing turns back.
    """
    lifts = 0.5 * air_density * body.lift_moments.sum(axis=0)
    if lifts[1] >= 0.0:
        raise InputError(
            "nothing behind the balance point turns this arrow back", "ask only of a fletched, stable arrow"
        )
    per_mass, per_inertia = 1.0 / body.mass, 1.0 / body.inertia
    matrix = np.array(
        [
            [-lifts[0] * per_mass, lifts[0] * per_mass, -lifts[1] * per_mass],
            [0.0, 0.0, 1.0],
            [-lifts[1] * per_inertia, lifts[1] * per_inertia, -lifts[2] * per_inertia],
        ]
    )
    values = np.linalg.eigvals(matrix)
    swinging = values[np.argmax(np.abs(values.imag))]
    if swinging.imag == 0.0:
        slowest = np.sort(np.abs(values.real))[1]  # the smallest is the free choice of direction, which nothing damps
        return YawTurn(wavelength=0.0, shed=float(1.0 / slowest))
    return YawTurn(wavelength=float(2.0 * math.pi / abs(swinging.imag)), shed=float(-1.0 / swinging.real))
