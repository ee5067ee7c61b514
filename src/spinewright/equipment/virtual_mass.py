"""Virtual mass and energy factor of a bow from chronograph readings, and what they say about any arrow mass."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from spinewright.equipment.bow import SpeedReading
from spinewright.equipment.draw_curve import DrawCurve
from spinewright.equipment.plausible import both, refuse
from spinewright.units import Kind

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["CHRONOGRAPH_OFF", "PRIOR", "Launch", "VirtualMassFit", "VirtualMassPrior", "fit_virtual_mass"]

CHRONOGRAPH_OFF = 0.005  # sd of the share all readings of one chronograph are off by: what it is sold as (from memory)
_STEPS = 50
_CONTRADICTION = 2.5  # sds below zero at which two readings contradict each other and do not merely scatter
_CONFLICT = 3.0  # sds beyond which readings do not go with the draw curve or with one another


@dataclass(frozen=True, slots=True)
class VirtualMassPrior:
    """What is believed before any chronograph reading; both are lognormal.

    mass           [kg] median virtual mass of string, cams and limbs; ``mass_spread`` [1] sd of its ln
    energy_factor  [1]  median share of the drawn energy that comes back; ``energy_spread`` [1] sd of its ln
    """

    mass: float = 5.0e-3
    mass_spread: float = 0.35
    energy_factor: float = 0.94
    energy_spread: float = 0.05


PRIOR = VirtualMassPrior()  # from memory of compound bows' static hysteresis and of fitted virtual masses


@dataclass(frozen=True, slots=True)
class Launch:
    """What one arrow mass leaves the string with.

    speed [m/s], energy [J], momentum [kg m/s], mass_per_force [kg/N] of peak weight, efficiency [1] of the stored
    energy, time_on_string [s]
    """

    arrow_mass: float
    speed: float
    energy: float
    momentum: float
    mass_per_force: float
    efficiency: float
    time_on_string: float


@dataclass(frozen=True, slots=True, eq=False)
class VirtualMassFit:
    """The posterior of virtual mass and energy factor, lognormal about its most probable value.

    curve                the draw curve it belongs to
    mass, mass_sd        [kg] virtual mass: median, and that times the sd of its ln (so the readings are met by it)
    energy_factor, energy_factor_sd  [1] the same of the energy factor
    correlation          [1]  of the two logarithms: a larger mass goes with more energy
    readings             how many chronograph readings went in; 0 is the prior
    conflict             a sentence when the readings do not go with the draw curve or with one another, else ''
    """

    curve: DrawCurve
    mass: float
    mass_sd: float
    energy_factor: float
    energy_factor_sd: float
    correlation: float
    readings: int
    conflict: str = ""

    def speed(self, arrow_mass: float) -> float:
        """Speed [m/s] at which ``arrow_mass`` [kg] leaves the string: (m + m_v) v^2 / 2 = factor x stored energy."""
        return math.sqrt(2.0 * self.energy_factor * self.curve.stored_energy / (arrow_mass + self.mass))

    def speed_sd(self, arrow_mass: float) -> float:
        """One sd [m/s] of :meth:`speed` from what is not known of virtual mass and energy factor (first order)."""
        by_mass = -0.5 * self.mass_sd / (arrow_mass + self.mass)
        by_energy = 0.5 * self.energy_factor_sd / self.energy_factor
        square = by_mass**2 + by_energy**2 + 2.0 * self.correlation * by_mass * by_energy
        return self.speed(arrow_mass) * math.sqrt(max(square, 0.0))

    def time_on_string(self, arrow_mass: float) -> float:
        """Time [s] from release to leaving the string."""
        return self.curve.time(arrow_mass + self.mass, self.energy_factor)

    def launch(self, arrow_mass: float) -> Launch:
        """Everything about how ``arrow_mass`` [kg] leaves."""
        speed = self.speed(arrow_mass)
        energy = arrow_mass * speed**2 / 2.0
        return Launch(
            arrow_mass=arrow_mass,
            speed=speed,
            energy=energy,
            momentum=arrow_mass * speed,
            mass_per_force=arrow_mass / self.curve.peak,
            efficiency=energy / self.curve.stored_energy,
            time_on_string=self.time_on_string(arrow_mass),
        )


def fit_virtual_mass(
    curve: DrawCurve, readings: tuple[SpeedReading, ...] = (), prior: VirtualMassPrior = PRIOR
) -> VirtualMassFit:
    """Virtual mass and energy factor from chronograph ``readings`` and ``prior``.

    Model: v = (1 + b) sqrt(2 f W / (m + m_v)), W the stored energy of ``curve`` and b what the chronograph is off by,
    the same for every reading (sd ``CHRONOGRAPH_OFF``). The posterior of (ln m_v, ln f, b) is taken as normal about its
    maximum (Gauss-Newton; covariance from the curvature there). Two arrow weights far apart determine
    both; one leaves a ridge that the prior closes. Raises EquipmentError for readings that would need a virtual mass
    below zero by more than their doubt allows. The curve's own ``energy_doubt`` widens the prior of f.
    """
    import numpy as np

    _refuse_contradiction(readings)
    centre = np.array([math.log(prior.mass), math.log(prior.energy_factor), 0.0])
    spread = np.array([prior.mass_spread, math.hypot(prior.energy_spread, curve.energy_doubt), CHRONOGRAPH_OFF])
    masses = np.array([reading.arrow_mass for reading in readings])
    speeds = np.array([reading.speed for reading in readings])
    doubts = np.array([reading.doubt for reading in readings])
    at = centre.copy()
    for _ in range(_STEPS):
        residual, jacobian = _residuals(at, curve.stored_energy, masses, speeds, doubts)
        rows = np.vstack([jacobian, np.diag(1.0 / spread)])
        errors = np.concatenate([residual, (centre - at) / spread])
        step = np.linalg.lstsq(rows, errors, rcond=None)[0]
        at += step
        if np.abs(step).max() < 1e-12:
            break
    covariance = np.linalg.inv(rows.T @ rows)
    sds = np.sqrt(np.diag(covariance))
    return VirtualMassFit(
        curve=curve,
        mass=float(np.exp(at[0])),
        mass_sd=float(np.exp(at[0]) * sds[0]),
        energy_factor=float(np.exp(at[1])),
        energy_factor_sd=float(np.exp(at[1]) * sds[1]),
        correlation=float(covariance[0, 1] / (sds[0] * sds[1])),
        readings=len(readings),
        conflict=_conflict(errors, curve, float(np.exp(at[1]))),
    )


def _residuals(
    at: NDArray[np.float64],
    energy: float,
    masses: NDArray[np.float64],
    speeds: NDArray[np.float64],
    doubts: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Measured less predicted speeds and their derivatives by (ln m_v, ln f, b), both in doubts."""
    import numpy as np

    virtual, factor = np.exp(at[:2])
    true = np.sqrt(2.0 * factor * energy / (masses + virtual))
    predicted = (1.0 + at[2]) * true
    by_mass = -0.5 * predicted * virtual / (masses + virtual)
    jacobian = np.stack([by_mass, 0.5 * predicted, true], axis=1) / doubts[:, None]
    return (speeds - predicted) / doubts, jacobian


def _refuse_contradiction(readings: tuple[SpeedReading, ...]) -> None:
    """1/v^2 is a straight line in the arrow mass whose start at mass zero is m_v/(2 f W): it cannot be negative."""
    import numpy as np

    masses = np.array([reading.arrow_mass for reading in readings])
    if len(readings) < 2 or np.ptp(masses) == 0.0:
        return
    inverse = np.array([reading.speed**-2 for reading in readings])
    doubts = np.array([2.0 * reading.doubt / reading.speed**3 for reading in readings])
    rows = np.stack([np.ones_like(masses), masses], axis=1) / doubts[:, None]
    covariance = np.linalg.inv(rows.T @ rows)
    start, slope = covariance @ rows.T @ (inverse / doubts)
    if start > -_CONTRADICTION * math.sqrt(covariance[0, 0]) and slope > -_CONTRADICTION * math.sqrt(covariance[1, 1]):
        return
    light, heavy = readings[int(masses.argmin())], readings[int(masses.argmax())]
    refuse(
        "chronograph readings",
        f"{both(light.arrow_mass, Kind.MASS)} at {both(light.speed, Kind.SPEED)} and "
        f"{both(heavy.arrow_mass, Kind.MASS)} at {both(heavy.speed, Kind.SPEED)} cannot both come from one bow",
        "weigh both arrows and shoot each again at one peak weight",
    )


def _conflict(errors: NDArray[np.float64], curve: DrawCurve, factor: float) -> str:
    """What does not go together: the readings with one another, or with the draw curve (the prior's three rows)."""
    n = len(errors) - 3
    apart, beyond = math.sqrt(float(errors[:n] @ errors[:n])), math.sqrt(float(errors[n:] @ errors[n:]))
    if beyond > _CONFLICT:
        return (
            f"the chronograph readings need {factor:.2f} times the energy of the draw curve ({curve.stated}); "
            "read the draw curve from a scale, weigh the arrows, or check the chronograph"
        )
    if apart > _CONFLICT * math.sqrt(max(n, 1)):
        return "the chronograph readings do not agree with one another within their doubts; shoot them again"
    return ""
