"""The shaft: a tube with a static spine, and what follows from it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Shaft", "ShaftMaterial"]


class ShaftMaterial(StrEnum):
    """What the shaft is made of; decides which cautions apply."""

    CARBON = "carbon"
    ALUMINIUM = "aluminium"
    CARBON_ALUMINIUM = "carbon over aluminium"
    WOOD = "wood"


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

    # helper: __post_init__ validation, bending_stiffness property
