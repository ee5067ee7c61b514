"""The arrow as built: a shaft cut to a length, and everything fixed to it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from spinewright.equipment.shaft import Shaft

__all__ = ["ArrowBuild", "Component", "Fletching", "Head", "HeadKind"]


class HeadKind(StrEnum):
    """What is on the front of the arrow."""

    FIELD = "field point"
    FIXED = "fixed-blade head"
    MECHANICAL = "mechanical head"


@dataclass(frozen=True, slots=True)
class Component:
    """A lump on the shaft.

    mass    [kg]
    length  [m]  extent along the shaft (for its own rotary inertia)
    offset  [m]  distance of its centre of mass from the end it belongs to, positive toward the middle of the
                 shaft; a negative offset lies outside the shaft end
    """

    mass: float
    length: float = 0.0
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Fletching:
    """The vanes.

    count     [1]
    mass      [kg]   of ONE vane with its glue
    length    [m]
    height    [m]    from the shaft's surface
    offset    [rad]  offset or mean helical angle against the shaft's axis, positive turns the arrow clockwise
                     as the archer sees it (mirrored for a left-hander)
    from_rear [m]    rear edge of the vanes to the nock throat
    """

    count: int
    mass: float
    length: float
    height: float
    offset: float = 0.0
    from_rear: float = 0.025


@dataclass(frozen=True, slots=True)
class Head:
    """A point or head.

    mass        [kg]  all of it that screws or glues in, weights behind it included
    length      [m]   how far it stands out in front of the shaft end
    kind              field point, fixed-blade or mechanical head
    blade_area  [m2]  side area of ONE blade in flight (folded for a mechanical head)
    blade_count [1]
    width       [m]   cutting width, 0 for a field point
    """

    mass: float
    length: float = 0.025
    kind: HeadKind = HeadKind.FIELD
    blade_area: float = 0.0
    blade_count: int = 0
    width: float = 0.0


@dataclass(frozen=True, slots=True)
class ArrowBuild:
    """One arrow build, all lengths and masses as measured.

    throat_length [m]  nock throat to the front end of the shaft (the arrow length of the standard)
    carbon_length [m]  shaft end to shaft end ('carbon to carbon'), what the saw leaves
    tape_mass     [kg] tape wrapped where the vanes would be on the BARE shafts; 0 = none. When the tape's mass
                       equals the vanes' the bare shaft is balanced, otherwise it is modelled as the lighter arrow it is
    The nock, bushing and wrap sit at the rear; insert, collar and head at the front.
    """

    shaft: Shaft
    throat_length: float
    carbon_length: float
    nock: Component
    head: Head
    fletching: Fletching
    bushing: Component | None = None
    wrap: Component | None = None
    insert: Component | None = None
    collar: Component | None = None
    tape_mass: float = 0.0
