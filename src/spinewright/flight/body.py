"""The arrow as the air sees it: where along it the forces act, and how large the surfaces are."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment.arrow import ArrowBuild, Fletching, Head, HeadKind
from spinewright.equipment.masses import MassModel
from spinewright.errors import EquipmentError
from spinewright.flight.drag import (
    TAIL_STEP,
    DragParts,
    axial_coefficient,
    fin_friction,
    shaft_friction,
    turbulent_share,
)

__all__ = ["FlightBody", "drag_coefficient", "flight_body"]

STRIPS = 5  # Gauss points along the shaft for its own turning
_STRIP_RULE = np.polynomial.legendre.leggauss(STRIPS)  # worked out once: it takes longer than all the rest of a body
PROFILE_SHARE = 0.65  # side area of a trade vane over length x height (common practice, no published source)
FOLDED_BLADES = (
    2 * 30e-6
)  # [m2] what folded blades of a mechanical head show where their area was not measured (invented)
SHORTEST_HEAD = 0.01  # [m] blades are at least this long
SAME_MASS = 1e-4  # [kg] heads that differ by less may be exchanged on one mass model


def _blades_without_vanes(head: str) -> EquipmentError:
    return EquipmentError(
        f"{head} on an unfletched shaft is never flown: without vanes the blades steer it anywhere",
        "fit a field point of the same mass to every bare shaft",
    )


@dataclass(frozen=True, slots=True)
class FlightBody:
    """One arrow in flight; every ``*_place`` is [m] ahead of the centre of mass (negative: behind).

    mass [kg], inertia [kg m2] (end over end, about the centre of mass), diameter [m]
    tip_place, nock_place       the point's tip; the nock throat
    lift_places, lift_areas     nose, vanes, blades, in that order: where their lift acts, and lift slope x area per
                                plane [m2/rad], so that the lift is 0.5 rho U^2 area angle
    strip_places, strip_lengths Gauss strips of the shaft: place and weight [m]
    drag                        parts of the drag coefficient
    fletched                    False for a bare shaft
    """

    mass: float
    inertia: float
    diameter: float
    tip_place: float
    nock_place: float
    lift_places: tuple[float, float, float]
    lift_areas: tuple[float, float, float]
    strip_places: tuple[float, ...]
    strip_lengths: tuple[float, ...]
    drag: DragParts
    fletched: bool

    def __post_init__(self) -> None:
        if self.lift_areas[2] > 0.0 and not (self.fletched and self.lift_areas[1] > 0.0):
            raise _blades_without_vanes("a head with blades")

    @property
    def section(self) -> float:
        """Cross-section of the shaft, the reference area of all coefficients [m2]."""
        return 0.25 * math.pi * self.diameter**2

    @property
    def lift_moments(self) -> NDArray[np.float64]:
        """Lift area x place^0, 1, 2 (columns) of nose, vanes and blades (rows) [m2, m3, m4 per rad]."""
        pairs = zip(self.lift_areas, self.lift_places, strict=True)
        return np.array([(area, area * place, area * place * place) for area, place in pairs])


def _fin_lift(count: int, area: float, height: float, diameter: float) -> float:
    """Lift slope x area [m2/rad] in one plane of ``count`` fins of side ``area`` [m2] standing ``height`` [m] out.

    Fins spread evenly around the shaft act in any plane as half their number. Slope of a pair by Helmbold,
    2 pi AR/(2 + sqrt(4 + AR^2)), which becomes Jones' pi AR/2 for a low aspect ratio; the body between them
    strengthens it by 1 + r/(r + h) (Barrowman 1967, 'The practical calculation of the aerodynamic characteristics
    of slender finned vehicles').
    """
    aspect = 2.0 * height**2 / area
    slope = 2.0 * math.pi * aspect / (2.0 + math.sqrt(4.0 + aspect**2))
    radius = 0.5 * diameter
    return 0.5 * count * area * slope * (1.0 + radius / (radius + height))


def _vanes(fletching: Fletching, diameter: float) -> tuple[float, float]:
    """Lift slope x area [m2/rad] and drag factor of the vanes."""
    area = PROFILE_SHARE * fletching.length * fletching.height
    lift = _fin_lift(fletching.count, area, fletching.height, diameter)
    return lift, fin_friction(fletching.count * area, fletching.length, diameter)


def _blades(head: Head, diameter: float) -> tuple[float, float]:
    """Lift slope x area [m2/rad] and drag factor of a head's blades; a field point has none."""
    if head.kind is HeadKind.FIELD:
        return 0.0, 0.0
    count, area = head.blade_count, head.blade_area
    if head.kind is HeadKind.MECHANICAL and count * area == 0.0:
        count, area = 2, 0.5 * FOLDED_BLADES
    chord = max(head.length, SHORTEST_HEAD)
    # Folded blades stand out only by their area over their length; open ones by half the cutting width.
    open_height = 0.5 * (head.width - diameter) if head.kind is HeadKind.FIXED else 0.0
    height = max(open_height, area / chord)
    return _fin_lift(count, area, height, diameter), fin_friction(count * area, chord, diameter)


def _check_head(build: ArrowBuild, head: Head, bare: bool) -> None:
    """Refuse what must not fly: blades without vanes, and a head the mass model does not know."""
    if bare and head.kind is not HeadKind.FIELD:
        raise _blades_without_vanes(f"a {head.kind.value}")
    if abs(head.mass - build.head.mass) > SAME_MASS:
        raise EquipmentError(
            f"the head weighs {1e3 * head.mass:.2f} g and the one of the build {1e3 * build.head.mass:.2f} g",
            "make a build with that head, so that balance and mass follow it",
        )


def flight_body(build: ArrowBuild, mass_model: MassModel, *, bare: bool, head: Head | None = None) -> FlightBody:
    """The body that flies: ``build`` with ``mass_model`` (bare or fletched as ``bare`` says) and ``head``.

    ``head`` takes the place of the build's at equal mass (a broadhead for a field point, say); only its surfaces and
    its length change. Raises EquipmentError for a fixed-blade or mechanical head on an unfletched shaft.

    The nose's lift is 2 per rad on the cross-section (slender-body potential flow, Munk 1924), put half way along
    the point; that of the vanes at their quarter chord, that of blades at the middle of the head.
    """
    head = build.head if head is None else head
    vanes = build.fletching
    _check_head(build, head, bare)
    diameter, length, balance = build.shaft.outer_diameter, build.throat_length, mass_model.balance
    vane_lift, vane_drag = (0.0, 0.0) if bare else _vanes(vanes, diameter)
    blade_lift, blade_drag = _blades(head, diameter)
    laminar, turbulent = shaft_friction(length / diameter)
    knots, weights = _STRIP_RULE
    nose_place = length + 0.5 * head.length - balance
    vane_place = vanes.from_rear + 0.75 * vanes.length - balance
    return FlightBody(
        mass=mass_model.total_mass,
        inertia=mass_model.inertia,
        diameter=diameter,
        tip_place=length + head.length - balance,
        nock_place=-balance,
        lift_places=(nose_place, vane_place, nose_place),
        lift_areas=(0.5 * math.pi * diameter**2, vane_lift, blade_lift),
        strip_places=tuple((0.5 * length * (1.0 + knots) - balance).tolist()),
        strip_lengths=tuple((0.5 * length * weights).tolist()),
        drag=DragParts(
            tail=TAIL_STEP,
            laminar=laminar,
            turbulent=turbulent,
            fins=vane_drag + blade_drag,
            tripped=0.0 if head.kind is HeadKind.FIELD else 1.0,
        ),
        fletched=not bare,
    )


def drag_coefficient(body: FlightBody, reynolds: float, tripped: bool = False, incidence: float = 0.0) -> float:
    """Drag coefficient [1] on the shaft's cross-section at Re_d ``reynolds`` [1] and ``incidence`` [rad].

    ``tripped`` says that something at the front makes the layer turbulent whatever the speed (a bluff point, an edge
    where point meets shaft); blades do so by themselves.
    """
    share = turbulent_share(reynolds, abs(incidence), 1.0 if tripped else body.drag.tripped)
    return axial_coefficient(body.drag, reynolds, share)
