"""How the arrow leaves: how far it will swing in flight, what bending is left in it, and the room it needs at the rest.

A weak shaft soaks up an archer's mistakes, but it leaves bent and turning. These numbers are what keeps a map from
rewarding it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import Members, standing
from spinewright.equipment import ArrowBuild, Head, MassModel, Setup, mass_model
from spinewright.errors import InputError, SolveError
from spinewright.flight import flight_body, turn_of_fletched
from spinewright.mechanics import Channel, StrokeResult, StrokeSettings, build_rod
from spinewright.mechanics.bow_motion import BowMotion
from spinewright.mechanics.held_rod import HeldRod, rod_arrays
from spinewright.mechanics.release_energy import free_release
from spinewright.mechanics.reweigh import reweighed
from spinewright.mechanics.stroke import checked_rows, hold_for
from spinewright.outlook.runs import Change, bow_in, parameters_of, release_states
from spinewright.outlook.values import FloatArray
from spinewright.units import YARD

__all__ = ["Bending", "Passing", "bending_left", "passing", "swing_past"]

_SHAPES = 3  # within 1 % of seven shapes (computed, 40 bows of the prior)
_NOT_TURNED_BACK = 20 * YARD  # [m] an arrow that its vanes do not turn back goes on turning as far as this


@dataclass(frozen=True, slots=True)
class Passing:
    """N plausible bows, the arrow taken as straight.

    to_air (N, 2) [rad]   angle to the air it meets at release: yaw less sideways speed over speed, and so in height
    turning (N, 2) [rad]  how far the turning at release alone would carry that angle in the first swing
    off  (N, 3, 2) [m]    how far its axis stands off the rest when front, middle and rear of the vanes pass the rest
    time (N, 3) [s]       when they do, from the release
    """

    to_air: FloatArray
    turning: FloatArray
    off: FloatArray
    time: FloatArray

    @property
    def turn(self) -> FloatArray:
        """(N,) [rad] largest angle to the air in the first swing, both planes together."""
        return np.asarray(np.sqrt(np.sum(self.to_air**2 + self.turning**2, axis=1)))


@dataclass(frozen=True, slots=True)
class Bending:
    """Bending that goes on after N plausible bows have let the arrow go.

    angle  (N,) [rad]      how far it turns the nock end, at the widest of its swing, both planes together
    beside (N, 3, 2) [m]   how far it holds front, middle and rear of the vanes beside the arrow's straight axis as they
                           pass the rest
    solved (N,)            False where no finite answer was reached; those rows are zero
    """

    angle: FloatArray
    beside: FloatArray
    solved: NDArray[np.bool_]


def passing(members: Members, setup: Setup, as_built: StrokeResult) -> Passing:
    """From the release of the fletched arrow of ``setup`` on its standing disturbances.

    The turning's share is its rate over speed and wave number of the fletched arrow's own small swing, a quarter of a
    swing after the angle's. What the vanes damp of that first swing is left out.
    """
    masses = mass_model(setup.build, bare=False)
    amplitudes = standing(members, setup)
    release, speed = release_states(as_built, amplitudes), np.maximum(as_built.speed, 1.0)
    to_air = release[:, :, 2] - release[:, :, 1] / speed[:, None]
    turning = release[:, :, 3] / speed[:, None] * _swing_radius(setup.build, masses)
    places = _vane_places(setup)
    time = _pass_times(setup, speed)
    lever = (places - masses.balance)[None, :, None]
    moved = (
        release[:, None, :, 0]
        + lever * release[:, None, :, 2]
        + (release[:, None, :, 1] + lever * release[:, None, :, 3]) * time[:, :, None]
    )
    off = moved - amplitudes[:, None, :, Channel.REST]
    return Passing(to_air, turning, off, time)


def swing_past(straight: Passing, beside: FloatArray) -> FloatArray:
    """(N,) [m] how far the shaft stands off the rest at most as the vanes pass; ``beside`` as in :class:`Bending`."""
    away = straight.off + beside
    return np.asarray(np.hypot(away[..., 0], away[..., 1]).max(axis=1))


def bending_left(members: Members, setup: Setup) -> Bending:
    """What bending is left in the fletched arrow of ``setup``, run forward through the stroke.

    After the string has gone every bending shape of the free arrow swings on at its own frequency with its own damping.
    """
    count = len(members)
    rod, bow = build_rod(mass_model(setup.build, bare=False), modes=_SHAPES), bow_in(setup.bow, 0.0)
    try:
        rows = checked_rows(rod, bow, parameters_of(members, setup, Change()))
    except SolveError:
        return Bending(np.zeros(count), np.zeros((count, 3, 2)), np.zeros(count, dtype=np.bool_))
    held = hold_for(rod, bow, rows, StrokeSettings())
    with np.errstate(all="ignore"):
        place, speed = free_release(held, bow, rows, standing(members, setup))
    solved = np.asarray(np.isfinite(place + speed).all(axis=(1, 2)), dtype=np.bool_)
    place, speed = place[..., 2:], speed[..., 2:]
    place[~solved], speed[~solved] = 0.0, 0.0
    shapes = _FreeShapes.of(held)
    rate = np.sqrt(shapes.squares * rows[:, :2, None])
    ends = np.hypot(place, speed / rate) * np.abs(shapes.slope_at_nock)
    time = _pass_times(setup, np.maximum(_speed(held, bow, rows), 1.0))[:, :, None, None]
    swinging = place[:, None] * np.cos(rate[:, None] * time) + (speed / rate)[:, None] * np.sin(rate[:, None] * time)
    swinging *= np.exp(-rows[:, 11, None, None, None] * rate[:, None] * time)
    beside = np.einsum("nwpk,wk->nwp", swinging, shapes.at(_vane_places(setup)))
    # Shapes swing at frequencies of their own, so at some time their largest angles nearly meet.
    return Bending(np.hypot(*ends.sum(axis=2).T), beside, solved)


@dataclass(frozen=True, slots=True)
class _FreeShapes:
    """Bending shapes of the arrow once the string's mass has left its nock, k of them.

    squares (k,) [rad2/s2]  of their frequencies
    places, values (c,), (c, k)  along the shaft;  slope_at_nock (k,)
    """

    squares: FloatArray
    places: FloatArray
    values: FloatArray
    slope_at_nock: FloatArray

    @classmethod
    def of(cls, held: HeldRod) -> _FreeShapes:
        count, length = held.stiffness.size, held.body[3]
        free, _ = reweighed(rod_arrays(held), -held.nock_mass)
        places = np.linspace(0.0, length, len(free.table))
        return cls(free.stiffness, places, free.table[:, 0, :count], free.table[0, 1, :count] / places[1])

    def at(self, places: FloatArray) -> FloatArray:
        """(len(places), k) the shapes there."""
        return np.stack([np.interp(places, self.places, column) for column in self.values.T], axis=1)


def _speed(held: HeldRod, motion: BowMotion, rows: FloatArray) -> FloatArray:
    """(N,) [m/s] of the arrow as it leaves the string."""
    return np.asarray(np.sqrt(2.0 * motion.energy * rows[:, 2] / (held.free.mass + rows[:, 3])))


def _vane_places(setup: Setup) -> FloatArray:
    """(3,) [m] from the nock throat: front, middle and rear of the vanes."""
    vanes = setup.build.fletching
    return vanes.from_rear + vanes.length * np.array([1.0, 0.5, 0.0])


def _pass_times(setup: Setup, speed: FloatArray) -> FloatArray:
    """(N, 3) [s] from the release until those places pass the rest; 0 where they have passed before."""
    rest = setup.bow.brace_height + setup.bow.rest.ahead
    return np.maximum(rest - _vane_places(setup), 0.0) / speed[:, None]


def _swing_radius(build: ArrowBuild, masses: MassModel) -> float:
    """[m/rad] largest angle per turning rate over speed: one over the wave number of the arrow's own swing."""
    body = flight_body(build, masses, bare=False, head=Head(build.head.mass, length=build.head.length))
    try:
        own = turn_of_fletched(body)
    except InputError:
        return _NOT_TURNED_BACK
    return own.wavelength / (2.0 * np.pi) if own.wavelength > 0.0 else own.shed
