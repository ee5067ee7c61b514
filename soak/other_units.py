"""The same bench written in other units of length, mass and time: everything that goes in, scaled.

Gravity and the air's viscosity are constants inside. Lengths by T^2 leave gravity as it is, and masses by T^3 the
viscosity, so one number T (the unit of time) scales everything else while both stay what they are. The stroke knows no
viscosity: there masses scale by a number of their own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import cast

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment import DRAW_ALLOWANCE, Bow, DrawCurve, MassModel
from spinewright.flight import FlightBody, FlightParameters
from spinewright.mechanics import BowMotion, StringGeometry, StrokeParameters, bow_motion

__all__ = ["Scale"]

FloatArray = NDArray[np.float64]


class _OtherCurve:
    """A draw curve in other units."""

    def __init__(self, curve: DrawCurve, length: float, force: float) -> None:
        self._curve, self._length, self._force = curve, length, force

    @property
    def stroke(self) -> float:
        return self._curve.stroke * self._length

    def force(self, u: FloatArray, /) -> FloatArray:
        return self._force * self._curve.force(u / self._length)


@dataclass(frozen=True, slots=True)
class Scale:
    """New numbers over old ones for times and masses; lengths follow, so that gravity keeps its number."""

    time: float
    mass: float

    @property
    def length(self) -> float:
        """Of lengths."""
        return self.time**2

    def arrow(self, masses: MassModel) -> MassModel:
        """A mass model; what is not used by mechanics stays."""
        m, x = self.mass, self.length
        return replace(
            masses,
            length=x * masses.length,
            carbon_start=x * masses.carbon_start,
            linear_density=m / x * masses.linear_density,
            EI=m * x**3 / self.time**2 * masses.EI,
            positions=x * masses.positions,
            masses=m * masses.masses,
            inertias=m * x**2 * masses.inertias,
        )

    def motion(self, bow: Bow) -> BowMotion:
        """The bow's motion, tabulated anew from everything in the other units."""
        x, force, usual = self.length, self.mass * self.length / self.time**2, StringGeometry()
        other = SimpleNamespace(
            draw_length=x * bow.nock_to_pivot + DRAW_ALLOWANCE,  # bow_motion takes the allowance off again
            axle_to_axle=x * bow.axle_to_axle,
            rest=SimpleNamespace(ahead=x * bow.rest.ahead),
        )
        geometry = StringGeometry(x * usual.tracks_behind, usual.synchronisation * self.mass / self.time**2)
        return bow_motion(_OtherCurve(DrawCurve.of(bow), x, force), cast(Bow, other), geometry)

    def stroke(self, parameters: StrokeParameters) -> StrokeParameters:
        """The unknowns of a stroke."""
        stiffness = self.mass / self.time**2
        return replace(
            parameters,
            virtual_mass=self.mass * parameters.virtual_mass,
            residual_tension=stiffness * self.length * parameters.residual_tension,
            nock_mass=self.mass * parameters.nock_mass,
            rest_stiffness=stiffness * parameters.rest_stiffness,
            drops_after=self.length * parameters.drops_after,
        )

    @property
    def columns(self) -> FloatArray:
        """Of place, speed, angle, rate, (4,)."""
        return np.array([self.length, self.length / self.time, 1.0, 1.0 / self.time])

    @property
    def channels(self) -> FloatArray:
        """Of the amplitudes of the eight channels, (8,)."""
        out = np.full(8, self.length)
        out[5], out[6] = self.length / self.time, 1.0
        return out

    def body(self, body: FlightBody) -> FlightBody:
        """A body in flight."""
        m, x = self.mass, self.length
        (nose, vanes, blades), (on_nose, on_vanes, on_blades) = body.lift_places, body.lift_areas
        return replace(
            body,
            mass=m * body.mass,
            inertia=m * x**2 * body.inertia,
            diameter=x * body.diameter,
            tip_place=x * body.tip_place,
            nock_place=x * body.nock_place,
            lift_places=(x * nose, x * vanes, x * blades),
            lift_areas=(x**2 * on_nose, x**2 * on_vanes, x**2 * on_blades),
            strip_places=tuple(x * place for place in body.strip_places),
            strip_lengths=tuple(x * length for length in body.strip_lengths),
        )

    def flight(self, parameters: FlightParameters) -> FlightParameters:
        """The unknowns of a flight."""
        return replace(
            parameters,
            wind_y=self.length / self.time * parameters.wind_y,
            air_density=self.mass / self.length**3 * parameters.air_density,
        )
