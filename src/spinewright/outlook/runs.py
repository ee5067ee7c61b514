"""One build through the model with one thing changed at a time: strokes of the plausible bows, and their flights."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import Members
from spinewright.equipment import Bow, CurveShape, DrawCurve, Head, Setup, mass_model
from spinewright.flight import FlightParameters, flight_body, fly
from spinewright.mechanics import BowMotion, StrokeParameters, StrokeResult, bow_motion, build_rod, stroke
from spinewright.outlook.values import FloatArray

__all__ = [
    "AS_BUILT",
    "RIGID",
    "Change",
    "Flown",
    "bow_in",
    "fly_releases",
    "parameters_of",
    "release_states",
    "released",
    "some_members",
    "some_rows",
]

RIGID = 300.0  # stiffness factor that stands for an arrow that does not bend: its release state is within 1 % of 1000 x


@dataclass(frozen=True, slots=True)
class Change:
    """How a shot's stroke differs from the setup's own.

    creep     [m]  draw length shorter
    stiffness [1]  true bending stiffness over the setup's
    heavier   [kg] shaft heavier by so much
    rigid          the arrow does not bend at all (``stiffness`` is then left aside)
    """

    creep: float = 0.0
    stiffness: float = 1.0
    heavier: float = 0.0
    rigid: bool = False


AS_BUILT = Change()


@dataclass(frozen=True, slots=True)
class Flown:
    """K flights of each of N plausible bows: holes (K, N, 2) [m] and which bows solved all of them (N,)."""

    hole: FloatArray
    solved: NDArray[np.bool_]
    reason: str


@dataclass(frozen=True, slots=True)
class _ShorterDraw:
    """A draw curve let go before its end: same force at the same distance from brace, shorter stroke."""

    whole: DrawCurve
    stroke: float

    def force(self, u: FloatArray) -> FloatArray:
        return self.whole.force(u)


def some_members(members: Members, count: int) -> Members:
    """At most ``count`` of ``members``, evenly spread (neighbours may be copies of one particle)."""
    return members.rows(some_rows(len(members), count))


def some_rows(total: int, count: int) -> NDArray[np.intp]:
    """At most ``count`` of ``total`` places, evenly spread from the first to the last."""
    return np.linspace(0, total - 1, min(count, total)).round().astype(np.intp)


def bow_in(bow: Bow, creep: float) -> BowMotion:
    """The bow's motion with the nock let go ``creep`` [m] short of full draw.

    The string does not know where the archer meant to stop: force against distance from brace is unchanged, the last
    part of the curve is left out. The nock is nearer to the rest by the same amount.
    """
    curve = DrawCurve.of(bow)
    if creep == 0.0:
        return bow_motion(curve, bow)
    # The curve is handed over separately, so the shorter bow needs no readings of its own (they would end too late).
    shorter = replace(bow, draw_length=bow.draw_length - creep, curve=CurveShape.MIDDLING)
    return bow_motion(_ShorterDraw(curve, curve.stroke - creep), shorter)


def parameters_of(members: Members, setup: Setup, change: Change) -> StrokeParameters:
    """What the stroke of ``setup`` takes of every plausible bow, with one ``change``."""
    own = members.stroke
    factor = RIGID if change.rigid else change.stiffness
    turned = members.stiffness_turned(setup.build.shaft.stiff_side_difference, setup.nock_angle)
    return replace(
        own,
        force_factor=own.force_factor * setup.present_peak_weight / setup.bow.peak_weight,
        stiffness_factor=factor * turned,
        # A drop-away is let go by a cable, so at the same distance from brace: earlier in a shorter stroke.
        drops_after=np.maximum(members.drops(setup.bow) - change.creep, 1e-3),
    )


def released(members: Members, setup: Setup, change: Change = AS_BUILT) -> StrokeResult:
    """Strokes of the fletched arrow of ``setup`` on every plausible bow, with one ``change``."""
    build = setup.build
    if change.heavier:
        density = build.shaft.linear_density + change.heavier / build.carbon_length
        build = replace(build, shaft=replace(build.shaft, linear_density=density))
    masses = mass_model(build, bare=False)
    # One bending mode is plenty for an arrow 300 times too stiff, and keeps its frequencies computable.
    rod = build_rod(masses, modes=1) if change.rigid else build_rod(masses)
    return stroke(rod, bow_in(setup.bow, change.creep), parameters_of(members, setup, change))


def release_states(stroked: StrokeResult, amplitudes: FloatArray) -> FloatArray:
    """Release columns (..., N, 2, 4) for disturbances ``amplitudes`` (..., N, 2, 8)."""
    return np.asarray(np.einsum("...npc,npcr->...npr", amplitudes, stroked.response))


def fly_releases(
    members: Members,
    setup: Setup,
    states: tuple[FloatArray, FloatArray],
    distance: float,
    *,
    head: Head | None = None,
    vanes: float = 1.0,
) -> Flown:
    """Fly K fletched arrows a bow to ``distance`` [m]: ``states`` are release (K, N, 2, 4) and speed (K, N).

    ``head`` of the same mass in the place of the build's; ``vanes`` [1] factor on their lift.
    """
    release, speed = states
    count, bows = speed.shape
    body = flight_body(setup.build, mass_model(setup.build, bare=False), bare=False, head=head)
    one = replace(members.flight, vane_factor=members.flight.vane_factor * vanes)
    many = FlightParameters(**{name: np.tile(getattr(one, name), count) for name in one.__slots__})
    result = fly(body, speed.reshape(-1), release.reshape(-1, 2, 4), many, np.array([distance]))
    solved = np.asarray(result.solved.reshape(count, bows).all(axis=0), dtype=np.bool_)
    return Flown(result.hole[:, 0].reshape(count, bows, 2), solved, result.reason)
