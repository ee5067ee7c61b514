"""What a fixed-blade head and the small differences between arrows of a set do to the hits of one build."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import Members, standing
from spinewright.equipment import Head, HeadKind, Setup
from spinewright.mechanics import Channel, StrokeResult
from spinewright.outlook.following import follow_gap, gap_of_physics
from spinewright.outlook.leaving import Passing, bending_left, passing, swing_past
from spinewright.outlook.runs import Change, fly_releases, release_states, released
from spinewright.outlook.values import FloatArray, Range, enough_solved
from spinewright.units import DEGREE, GRAIN

__all__ = [
    "Difference",
    "HeadsAndDifferences",
    "Scattered",
    "SetSpread",
    "fixed_head",
    "heads_and_differences",
    "scatter_draws",
]


class Difference(StrEnum):
    """What differs from arrow to arrow in a set."""

    SPINE = "spine"
    MASS = "mass"
    ORIENTATION = "how the stiff side stands"
    STRAIGHTNESS = "straightness"
    VANES = "vanes"


@dataclass(frozen=True, slots=True)
class SetSpread:
    """One sd of each difference within a set; from memory of good carbon shafts, built with care.

    spine [1] of ln stiffness; mass [kg]; vanes [1] of ln lift; orientation [rad]; straightness comes from the shaft's
    own reading.
    """

    spine: float = 0.03
    mass: float = 1.0 * GRAIN
    vanes: float = 0.05
    orientation: float = 15.0 * DEGREE


@dataclass(frozen=True, slots=True)
class Scattered:
    """N plausible bows: head_offset (N, 2) [m], field and headed (D, N, 2) [m] one sd of each Difference, solved (N,).

    ``leaves`` is how the arrow leaves, taken as straight.
    """

    head_offset: FloatArray
    field: FloatArray
    headed: FloatArray
    leaves: Passing
    solved: NDArray[np.bool_]
    reason: str

    @property
    def spread_field(self) -> FloatArray:
        """(N,) rms distance [m] of arrows of the set from their middle, field points."""
        return np.asarray(np.sqrt(np.sum(self.field**2, axis=(0, 2))))

    @property
    def spread_headed(self) -> FloatArray:
        """(N,) the same with the fixed-blade head."""
        return np.asarray(np.sqrt(np.sum(self.headed**2, axis=(0, 2))))

    @property
    def apart(self) -> FloatArray:
        """(N,) rms distance [m] of arrows with that head from where the field points go."""
        return np.asarray(np.sqrt(np.sum(self.head_offset**2, axis=1) + self.spread_headed**2))


@dataclass(frozen=True, slots=True)
class HeadsAndDifferences:
    """One build at one distance [m] over the plausible bows.

    offset_sideways, offset_height [m] stated head against field point (left, up positive); offset [m] how far
    spread_field, spread_headed    [m] rms of the set about its middle; by_difference the parts, with field points
    apart [m] rms distance of arrows with that head from the field points
    turn, bend [rad], swing [m] at release, as :class:`~spinewright.outlook.leaving.Passing` and ``Bending`` have them
    """

    distance: float
    head: Head
    spread: SetSpread
    offset_sideways: Range
    offset_height: Range
    offset: Range
    spread_field: Range
    spread_headed: Range
    apart: Range
    by_difference: Mapping[Difference, Range]
    turn: Range
    bend: Range
    swing: Range


_STEP = 0.03  # relative step of stiffness; its effect is linear to a few percent of itself


def fixed_head(mass: float) -> Head:
    """A three-blade fixed head of ``mass`` [kg] of middling size; its measures are invented, none of a maker's.

    A blade is a triangle 28 mm long that stands 11 mm out of the shaft, a fifth of it cut away.
    """
    return Head(mass, length=0.033, kind=HeadKind.FIXED, blade_area=1.25e-4, blade_count=3, width=0.0285)


def field_point(head: Head) -> Head:
    """A field point of the same mass and reach as ``head``."""
    return Head(head.mass, length=head.length)


def scatter_draws(
    members: Members,
    setup: Setup,
    line: tuple[float, SetSpread],
    *,
    head: Head | None = None,
    as_built: StrokeResult | None = None,
    gap: FloatArray | None = None,
) -> Scattered:
    """Head offset and what one sd of each difference does at ``line`` (distance [m], spread), on every plausible bow.

    ``head`` is a fixed-blade head of the build's point mass (default :func:`fixed_head`); ``as_built`` saves a stroke.
    ``gap`` (N, 2) [m at 20 yd] is what each bow's true gap is believed to be; the head's offset follows it.
    """
    distance, spread = line
    head = fixed_head(setup.build.head.mass) if head is None else head
    normal = released(members, setup) if as_built is None else as_built
    stiffer = released(members, setup, Change(stiffness=1.0 + _STEP))
    heavier = released(members, setup, Change(heavier=spread.mass))
    states = _states(members, setup, spread, (normal, stiffer, heavier))
    holes, solved = [], normal.solved & stiffer.solved & heavier.solved
    for one in (head, field_point(setup.build.head)):
        flown = fly_releases(members, setup, states, distance, head=one)
        first = (states[0][:1], states[1][:1])
        larger = fly_releases(members, setup, first, distance, head=one, vanes=1.0 + spread.vanes)
        solved = solved & flown.solved & larger.solved
        holes.append(np.concatenate([flown.hole, larger.hole]))
    reasons = dict.fromkeys(r.reason for r in (normal, stiffer, heavier) if r.reason)
    blades, points = holes
    offset, leaves = blades[0] - points[0], passing(members, setup, normal)
    if gap is not None:
        physics, answered = gap_of_physics(members, setup)
        solved = solved & answered
        offset, to_air, turning = (
            follow_gap(one, physics, gap, solved) for one in (offset, leaves.to_air, leaves.turning)
        )
        leaves = replace(leaves, to_air=to_air, turning=turning)
    return Scattered(offset, points[1:] - points[0], blades[1:] - blades[0], leaves, solved, "; ".join(reasons))


def _states(
    members: Members, setup: Setup, spread: SetSpread, strokes: tuple[StrokeResult, StrokeResult, StrokeResult]
) -> tuple[FloatArray, FloatArray]:
    """Release (5, N, 2, 4) and speed (5, N): as built, then one sd of spine, mass, orientation and straightness."""
    normal, stiffer, heavier = strokes
    amplitudes = standing(members, setup)
    base = release_states(normal, amplitudes)
    # In each plane only that plane's stiffness counts, so spine and a turned stiff side are shares of one small step.
    per_stiffness = (release_states(stiffer, amplitudes) - base) / _STEP
    softer = base - per_stiffness * spread.spine
    turned = base + per_stiffness * _turning(members, setup, spread.orientation)[:, :, None]
    crooked = np.zeros(amplitudes.shape[1:])
    # A reading of a rolled shaft is twice its bow; the bow stands anywhere around, so 1/sqrt 2 of it in each plane.
    crooked[:, Channel.BEND] = 0.5 * setup.build.shaft.straightness / np.sqrt(2.0)
    bent = release_states(normal, amplitudes + crooked)
    release = np.stack([base, softer, release_states(heavier, amplitudes), turned, bent])
    speed = np.stack([normal.speed, stiffer.speed, heavier.speed, normal.speed, normal.speed])
    return release, speed


def _turning(members: Members, setup: Setup, angle: float) -> FloatArray:
    """(N, 2) relative change of each plane's stiffness when a shaft sits ``angle`` [rad] off, rms of both ways."""
    difference = setup.build.shaft.stiff_side_difference
    middle = members.stiffness_turned(difference, setup.nock_angle)
    ways = [members.stiffness_turned(difference, setup.nock_angle + a) / middle - 1.0 for a in (-angle, angle)]
    return np.asarray(np.sqrt(0.5 * (ways[0] ** 2 + ways[1] ** 2)))


def heads_and_differences(
    members: Members,
    setup: Setup,
    distance: float,
    spread: SetSpread | None = None,
    head: Head | None = None,
    *,
    gap: FloatArray | None = None,
) -> HeadsAndDifferences:
    """Ranges over the plausible bows; SolveError when fewer than half of them can be computed.

    ``gap`` (N, 2) [m at 20 yd]: the true gap each bow is believed to have; without it the model's own gap stands.
    """
    spread = spread or SetSpread()
    head = fixed_head(setup.build.head.mass) if head is None else head
    draws = scatter_draws(members, setup, (distance, spread), head=head, gap=gap)
    bent = bending_left(members, setup)
    use = draws.solved & bent.solved
    enough_solved(use, "the spread between arrows", draws.reason)
    offset = draws.head_offset[use]
    parts = {difference: Range.of(np.hypot(*draws.field[k, use].T)) for k, difference in enumerate(Difference)}
    return HeadsAndDifferences(
        distance=distance,
        head=head,
        spread=spread,
        offset_sideways=Range.of(offset[:, 0]),
        offset_height=Range.of(offset[:, 1]),
        offset=Range.of(np.hypot(offset[:, 0], offset[:, 1])),
        spread_field=Range.of(draws.spread_field[use]),
        spread_headed=Range.of(draws.spread_headed[use]),
        apart=Range.of(draws.apart[use]),
        by_difference=MappingProxyType(parts),
        turn=Range.of(draws.leaves.turn[use]),
        bend=Range.of(bent.angle[use]),
        swing=Range.of(swing_past(draws.leaves, bent.beside)[use]),
    )
