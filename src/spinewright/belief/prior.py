"""The prior: what could be true of a bow, an archer and an arrow before anything was shot.

Every unknown is one standard normal number (a column of ``xi``), turned into a physical value by a stated rule. That
keeps draws repeatable, makes the later shift of a plausible bow (``Belief.bows``) a plain addition, and
puts every prior belief in the one table below. Widths are judgements 'from memory' unless a line says otherwise; they
are tested for calibration, not defended.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment import Bow, DrawCurve, RestKind, Setup, fit_virtual_mass
from spinewright.evidence import BowCheck
from spinewright.flight import FlightParameters
from spinewright.mechanics import Channel, StrokeParameters

__all__ = ["UNKNOWNS", "Members", "Unknown", "draw_members", "members_from"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Unknown:
    """One unknown: its ``name``, in plain words, and one sd of its prior in its own coordinate."""

    name: str
    words: str
    sd: float


#: Order of the columns of xi. 'ln' unknowns are lognormal with that sd of the logarithm, the others normal in SI.
UNKNOWNS: tuple[Unknown, ...] = (
    Unknown("ln stiffness", "true stiffness of this cut of shaft against its label", 0.03),
    Unknown("stiff side", "where the stiff side stands (uniform angle)", 1.0),
    Unknown("ln force", "share of the drawn energy that comes back", 1.0),
    Unknown("ln virtual mass", "mass of string, cams and limbs that moves with the arrow", 1.0),
    Unknown("ln string y", "sideways stiffness of the string", 0.30),
    Unknown("ln string z", "stiffness of the string in height, cams' synchronisation included", 0.50),
    Unknown("ln tension", "string tension that still holds the nock near brace", 0.50),
    Unknown("ln nock mass", "part of string, loop and peep that moves sideways", 0.30),
    Unknown("ln rest y", "sideways stiffness of the rest", 0.70),
    Unknown("ln rest z", "stiffness of the rest in height", 0.70),
    Unknown("drop", "travel at which the rest lets go", 1.0),
    Unknown("ln damping", "damping of the shaft", 0.50),
    Unknown("ln drag", "drag", 0.12),
    Unknown("ln cross-flow", "cross-flow force on the shaft", 0.25),
    Unknown("ln vanes", "lift of the vanes", 0.25),
    Unknown("ln nose", "lift of the nose", 0.15),
    Unknown("ramp y", "nock travel drifting sideways (cam lean, cable guard)", 0.8e-3),
    Unknown("bump y", "a sideways bump in nock travel", 0.5e-3),
    Unknown("rest y", "rest off the nock-travel line, sideways", 0.5e-3),
    Unknown("hold y", "nock held off the string's line (face, hand), sideways", 0.7e-3),
    Unknown("kick y", "sideways kick as the string is let go", 0.12),
    Unknown("nock z", "nock height off square", 0.8e-3),
    Unknown("ramp z", "nock travel drifting in height (cam timing)", 0.8e-3),
    Unknown("bump z", "a bump in nock travel in height (cam timing)", 0.6e-3),
    Unknown("rest z", "rest height off the nock-travel line", 0.4e-3),
    Unknown("hold z", "nock held high or low of the string's line", 0.5e-3),
    Unknown("kick z", "up or down kick as the string is let go", 0.12),
)
_COLUMN = {unknown.name: j for j, unknown in enumerate(UNKNOWNS)}

# Which item of the bow check vouches for which unknown; unchecked widens it, found wrong widens it more.
_VOUCHED = {
    "ramp y": "cam_lean",
    "bump y": "cam_lean",
    "rest y": "centre_shot",
    "nock z": "nock_height",
    "ramp z": "cam_timing",
    "bump z": "cam_timing",
    "rest z": "rest_drop",
}
_UNCHECKED, _WRONG = 1.3, 2.0


@dataclass(frozen=True, slots=True)
class Members:
    """N plausible bows: the standard normals behind them and the arrays the solvers take.

    xi         (N, P)      standard normal coordinates, columns as in UNKNOWNS
    stroke, flight         solver parameters, N rows each
    amplitudes (N, 2, 8)   standing disturbances per plane and Channel at the recorded start
    """

    xi: FloatArray
    stroke: StrokeParameters
    flight: FlightParameters
    amplitudes: FloatArray

    def __len__(self) -> int:
        return len(self.xi)

    def stiffness_turned(self, stiff_side_difference: float, angle: float) -> FloatArray:
        """Stiffness factors (N, 2) of the planes with the nock turned by ``angle`` [rad] on the shaft."""
        return _stiffness(self.xi, stiff_side_difference, angle)

    def drops(self, bow: Bow) -> FloatArray:
        """Travel [m] (N,) at which the rest now on ``bow`` lets go: another rest than at the start drops elsewhere."""
        return _drops(self.xi, bow)

    def rows(self, index: NDArray[np.intp]) -> Members:
        """The members at ``index`` (n,), in that order."""
        stroke = replace(self.stroke, **{k: getattr(self.stroke, k)[index] for k in self.stroke.__slots__})
        flight = replace(self.flight, **{k: getattr(self.flight, k)[index] for k in self.flight.__slots__})
        return Members(self.xi[index], stroke, flight, self.amplitudes[index])


def draw_members(n: int, setup: Setup, check: BowCheck | None, rng: np.random.Generator) -> Members:
    """``n`` plausible bows for ``setup``, from the prior, with ``check`` deciding how far the bow may be out."""
    return members_from(rng.standard_normal((n, len(UNKNOWNS))), setup, check)


def members_from(xi: FloatArray, setup: Setup, check: BowCheck | None) -> Members:
    """The plausible bows that belong to standard normal coordinates ``xi`` (N, P)."""
    return Members(xi, _stroke(xi, setup), _flight(xi), _amplitudes(xi, check))


def _scaled(xi: FloatArray, name: str) -> FloatArray:
    """Column ``name`` of ``xi`` times its prior sd."""
    j = _COLUMN[name]
    return np.asarray(xi[:, j] * UNKNOWNS[j].sd)


def _stiffness(xi: FloatArray, stiff_side_difference: float, angle: float) -> FloatArray:
    """Bending stiffness of the two planes over nominal: the stiff side stands at a uniform angle plus ``angle``."""
    from scipy.special import ndtr

    common = np.exp(_scaled(xi, "ln stiffness"))
    side = np.pi * ndtr(_scaled(xi, "stiff side")) + angle
    part = 0.5 * stiff_side_difference * np.cos(2 * side)
    return np.stack([common * (1 + part), common * (1 - part)], axis=1)


def _stroke(xi: FloatArray, setup: Setup) -> StrokeParameters:
    bow, shaft = setup.bow, setup.build.shaft
    fit = fit_virtual_mass(DrawCurve.of(bow), bow.speeds)
    # The readings fix a mix of virtual mass and energy better than either, so the two are drawn together.
    mass, energy_sd = _scaled(xi, "ln virtual mass"), fit.energy_factor_sd / fit.energy_factor
    along, across = fit.correlation, float(np.sqrt(1 - fit.correlation**2))
    nock_mass = bow.on_string + 0.33 * bow.string_mass  # a third of a string pulled at its middle (computed)
    return StrokeParameters(
        stiffness_factor=_stiffness(xi, shaft.stiff_side_difference, setup.nock_angle),
        force_factor=fit.energy_factor * np.exp(energy_sd * (along * mass + across * _scaled(xi, "ln force"))),
        virtual_mass=fit.mass * np.exp(fit.mass_sd / fit.mass * mass),
        string_factor=np.stack([np.exp(_scaled(xi, "ln string y")), np.exp(_scaled(xi, "ln string z"))], axis=1),
        residual_tension=600.0 * np.exp(_scaled(xi, "ln tension")),
        nock_mass=nock_mass * np.exp(_scaled(xi, "ln nock mass")),
        rest_stiffness=np.stack(
            [8.0e3 * np.exp(_scaled(xi, "ln rest y")), 4.0e3 * np.exp(_scaled(xi, "ln rest z"))], axis=1
        ),
        drops_after=_drops(xi, bow),
        damping=0.01 * np.exp(_scaled(xi, "ln damping")),
    )


def _drops(xi: FloatArray, bow: Bow) -> FloatArray:
    """Travel of the nock [m] (N,) at which the rest of ``bow`` lets go; beyond the stroke where it does not drop."""
    if bow.rest.kind is not RestKind.DROP_AWAY:
        return np.full(len(xi), 10.0 * bow.stroke)
    # Not known: the usual drop-away lets go in the first third to half of the stroke (from memory).
    middle, sd = (0.10, 0.035) if bow.rest.drops_after is None else (bow.rest.drops_after, 0.008)
    return np.asarray(np.clip(middle + sd * _scaled(xi, "drop"), 0.02, bow.stroke))


def _flight(xi: FloatArray) -> FlightParameters:
    n = len(xi)
    return FlightParameters(
        drag_factor=np.exp(_scaled(xi, "ln drag")),
        cross_factor=np.exp(_scaled(xi, "ln cross-flow")),
        vane_factor=np.exp(_scaled(xi, "ln vanes")),
        head_factor=np.exp(_scaled(xi, "ln nose")),
        wind_y=np.zeros(n),
        air_density=np.full(n, 1.2),
    )


def _amplitudes(xi: FloatArray, check: BowCheck | None) -> FloatArray:
    amplitudes = np.zeros((len(xi), 2, len(Channel)))
    amplitudes[:, 1, Channel.GRAVITY] = 1.0
    for plane, letter in enumerate("yz"):
        for channel in (Channel.NOCK, Channel.RAMP, Channel.BUMP, Channel.REST, Channel.HOLD, Channel.KICK):
            name = f"{channel.name.lower()} {letter}"
            if name in _COLUMN:
                amplitudes[:, plane, channel] = widening(name, check) * _scaled(xi, name)
    return amplitudes


def widening(name: str, check: BowCheck | None) -> float:
    """How much wider than its prior an unknown is because of what the bow check found or left out."""
    item = _VOUCHED.get(name)
    if item is None:
        return 1.0
    found = None if check is None else getattr(check, item)
    if found is None:
        return _UNCHECKED
    return 1.0 if found else _WRONG
