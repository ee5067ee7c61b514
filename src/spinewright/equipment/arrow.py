"""The arrow as built: a shaft cut to a length, and everything fixed to it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from spinewright.equipment.plausible import both, check_count, check_range, refuse
from spinewright.equipment.shaft import Shaft
from spinewright.units import DEGREE, GRAIN, INCH, Kind

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

    def __post_init__(self) -> None:
        check_range("mass of a component", self.mass, 0.0, 300 * GRAIN, Kind.MASS)
        check_range("length of a component", self.length, 0.0, 0.35, Kind.LENGTH)
        check_range("place of a component", self.offset, -0.06, 0.35, Kind.LENGTH)

    @classmethod
    def inside(cls, mass: float, length: float) -> Component:
        """One that begins at its shaft end and reaches ``length`` [m] toward the middle (insert, bushing, wrap)."""
        return cls(mass, length, length / 2.0)


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

    def __post_init__(self) -> None:
        check_count("number of vanes", self.count, 2, 6)
        if self.count != int(self.count):
            refuse("number of vanes", f"{self.count:g} is not a whole number", "count the vanes")
        check_range("mass of one vane", self.mass, 0.0, 60 * GRAIN, Kind.MASS)
        check_range("length of a vane", self.length, 0.4 * INCH, 7.0 * INCH, Kind.LENGTH)
        check_range("height of a vane", self.height, 0.05 * INCH, 1.5 * INCH, Kind.LENGTH)
        check_range("offset of the vanes", self.offset, -15 * DEGREE, 15 * DEGREE, Kind.ANGLE)
        check_range("distance of the vanes from the nock throat", self.from_rear, 0.0, 5.0 * INCH, Kind.LENGTH)

    @property
    def total_mass(self) -> float:
        """Mass [kg] of all vanes."""
        return self.count * self.mass

    def mirrored(self) -> Fletching:
        """The same vanes turning the arrow the other way."""
        return replace(self, offset=-self.offset if self.offset else 0.0)


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

    def __post_init__(self) -> None:
        check_range("point weight", self.mass, 20 * GRAIN, 450 * GRAIN, Kind.MASS)
        check_range("length of the point", self.length, 0.0, 0.12, Kind.LENGTH)
        check_range("area of one blade", self.blade_area, 0.0, 0.003, Kind.AREA)
        check_count("number of blades", self.blade_count, 0, 8)
        check_range("cutting width", self.width, 0.0, 0.1, Kind.LENGTH)
        if self.kind is HeadKind.FIELD and (self.blade_count or self.blade_area or self.width):
            refuse(
                "kind of head", "a field point has no blades", "leave out blades and width, or name the kind of head"
            )
        if self.kind is HeadKind.FIXED and not (self.blade_count and self.blade_area):
            refuse(
                "kind of head",
                "a fixed-blade head without its blades cannot be computed",
                "give the number of blades and the side area of one blade",
            )


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

    def __post_init__(self) -> None:
        check_range("arrow length", self.throat_length, 18.0 * INCH, 34.0 * INCH, Kind.LENGTH)
        check_range("shaft length", self.carbon_length, 16.0 * INCH, 34.0 * INCH, Kind.LENGTH)
        if not 0.0 <= self.throat_length - self.carbon_length <= 2.5 * INCH:
            refuse(
                "shaft length",
                f"the shaft is {both(self.carbon_length, Kind.LENGTH)} from end to end and "
                f"{both(self.throat_length, Kind.LENGTH)} from the nock throat, which do not go together",
                "measure both to the same front end, where the nock makes a difference of 0 to 2.5 in",
            )
        uncut = self.shaft.uncut_length
        if uncut is not None and self.carbon_length > uncut + 0.001:
            refuse(
                "shaft length",
                f"{both(self.carbon_length, Kind.LENGTH)} is longer than the uncut shaft, {both(uncut, Kind.LENGTH)}",
                "measure the shaft again, end to end",
            )
        if self.fletching.from_rear + self.fletching.length > 0.5 * self.throat_length:
            refuse("vanes", "the vanes reach beyond the middle of the arrow", "measure them from the nock throat")
        check_range("mass of the tape", self.tape_mass, 0.0, 200 * GRAIN, Kind.MASS)
        check_range("mass of the whole arrow", self.total_mass(bare=False), 150 * GRAIN, 1000 * GRAIN, Kind.MASS)

    @property
    def carbon_start(self) -> float:
        """Rear end of the shaft [m] from the nock throat."""
        return self.throat_length - self.carbon_length

    @property
    def balanced(self) -> bool:
        """Whether the bare shafts' tape makes up for the vanes, to a grain."""
        return abs(self.tape_mass - self.fletching.total_mass) <= 1.0 * GRAIN

    def total_mass(self, *, bare: bool) -> float:
        """Mass [kg] of the whole arrow: fletched, or bare with its tape."""
        parts = (self.nock, self.bushing, self.wrap, self.insert, self.collar)
        fixed = sum(part.mass for part in parts if part is not None)
        tail = self.tape_mass if bare else self.fletching.total_mass
        return self.shaft.linear_density * self.carbon_length + fixed + self.head.mass + tail

    def mirrored(self) -> ArrowBuild:
        """The same arrow for the other hand: only the vanes' turning direction changes."""
        return replace(self, fletching=self.fletching.mirrored())
