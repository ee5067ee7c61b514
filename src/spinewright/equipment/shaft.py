"""The shaft: a tube with a static spine, and what follows from it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from spinewright.equipment.plausible import check_count, check_range, refuse
from spinewright.units import GRAIN, INCH, POUND_FORCE, Kind

__all__ = [
    "CURRENT_TEST",
    "OLDER_TEST",
    "Shaft",
    "ShaftMaterial",
    "SpineTest",
    "spine_from_older_test",
    "spine_of_stiffness",
    "tube_stiffness",
]

_GRAVITY = 9.80665  # m/s2, standard gravity, exact


class ShaftMaterial(StrEnum):
    """What the shaft is made of; decides which cautions apply."""

    CARBON = "carbon"
    ALUMINIUM = "aluminium"
    CARBON_ALUMINIUM = "carbon over aluminium"
    WOOD = "wood"


@dataclass(frozen=True, slots=True)
class SpineTest:
    """A three-point bending test: ``span`` [m] between supports, ``force`` [N] hung at the middle."""

    span: float
    force: float

    def stiffness(self, deflection: float) -> float:
        """EI [N m2] of a shaft that deflects by ``deflection`` [m]: F S^3 / (48 s), the beam formula."""
        return self.force * self.span**3 / (48.0 * deflection)

    def deflection(self, stiffness: float) -> float:
        """Deflection [m] of a shaft of ``stiffness`` EI [N m2]."""
        return self.force * self.span**3 / (48.0 * stiffness)


CURRENT_TEST = SpineTest(span=28.0 * INCH, force=0.880 * _GRAVITY)  # ASTM F2031
OLDER_TEST = SpineTest(span=26.0 * INCH, force=2.0 * POUND_FORCE)  # Nagler & Rheingans, Spine and arrow design, 1947


def spine_from_older_test(deflection: float) -> float:
    """Static spine [m] of the current test from the ``deflection`` [m] read in the older one (26 in, 2 lb)."""
    return CURRENT_TEST.deflection(OLDER_TEST.stiffness(deflection))


def spine_of_stiffness(stiffness: float) -> float:
    """Static spine [m] (current test) of a shaft with bending ``stiffness`` EI [N m2]."""
    return CURRENT_TEST.deflection(stiffness)


def tube_stiffness(outer_diameter: float, inner_diameter: float, modulus: float) -> float:
    """EI [N m2] of a round tube: E pi (D^4 - d^4) / 64, diameters in m, ``modulus`` in Pa."""
    return modulus * math.pi * (outer_diameter**4 - inner_diameter**4) / 64.0


@dataclass(frozen=True, slots=True)
class Shaft:
    """One kind of shaft.

    static_spine           [m]    mid-span deflection of the current test: 28 in span, 880 g (ASTM F2031 geometry)
    linear_density         [kg/m] mass per length
    outer_diameter         [m]
    inner_diameter         [m]    0 for a solid shaft
    stiff_side_difference  [1]    (softest - stiffest reading around the shaft) / their mean
    straightness           [m]    total indicator reading of the shaft's crookedness over its length
    uncut_length           [m]    length as bought, if known

    Raises EquipmentError for what no shaft can be.
    """

    static_spine: float
    linear_density: float
    outer_diameter: float
    inner_diameter: float
    stiff_side_difference: float = 0.03
    straightness: float = 0.0762e-3
    uncut_length: float | None = None
    material: ShaftMaterial = ShaftMaterial.CARBON
    name: str = ""

    def __post_init__(self) -> None:
        check_range("static spine", self.static_spine, 0.150 * INCH, 2.000 * INCH, Kind.SPINE)
        check_range(
            "shaft's mass per length", self.linear_density, 3 * GRAIN / INCH, 25 * GRAIN / INCH, Kind.LINEAR_DENSITY
        )
        check_range("outer diameter", self.outer_diameter, 0.0035, 0.0125, Kind.LENGTH)
        check_range("inner diameter", self.inner_diameter, 0.0, 0.0125, Kind.LENGTH)
        if self.inner_diameter >= self.outer_diameter:
            refuse(
                "inner diameter",
                "the shaft's inner diameter is not smaller than its outer diameter",
                "measure both, or write 0 in for a solid shaft",
            )
        check_count("stiff-side difference", self.stiff_side_difference, 0.0, 0.5)
        check_range("straightness", self.straightness, 0.0, 0.005, Kind.LENGTH)
        if self.uncut_length is not None:
            check_range("uncut length", self.uncut_length, 0.4, 0.95, Kind.LENGTH)

    @property
    def bending_stiffness(self) -> float:
        """EI [N m2] = F S^3 / (48 s) of the current test: 2.5462 / (spine in inches)."""
        return CURRENT_TEST.stiffness(self.static_spine)
