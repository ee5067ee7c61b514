"""The air an arrow flies through: its constants, and parameters for a nominal flight."""

from __future__ import annotations

import numpy as np

from spinewright.flight.values import FlightParameters

__all__ = ["AIR_DENSITY", "AIR_VISCOSITY", "GRAVITY", "nominal_flight"]

GRAVITY = 9.80665
"""[m/s2] standard acceleration of free fall (ISO 80000-3)."""

AIR_DENSITY = 1.204
"""[kg/m3] dry air at 20 C and 1013.25 hPa (ideal gas law, R = 287.05 J/kg K)."""

AIR_VISCOSITY = 1.81e-5
"""[Pa s] dynamic viscosity of air at 20 C; it depends on temperature only, so the density may vary beside it."""


def nominal_flight(rows: int, *, air_density: float = AIR_DENSITY, wind_y: float = 0.0) -> FlightParameters:
    """Parameters for ``rows`` flights that are all as the model says, in air of ``air_density`` [kg/m3].

    ``wind_y`` [m/s] blows toward the archer's left when positive.
    """
    one = np.ones(rows)
    return FlightParameters(
        drag_factor=one,
        cross_factor=one,
        vane_factor=one,
        head_factor=one,
        wind_y=np.full(rows, float(wind_y)),
        air_density=np.full(rows, float(air_density)),
    )
