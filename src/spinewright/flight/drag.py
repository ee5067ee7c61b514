"""Drag along the arrow's axis: friction of shaft and fins, the step at the tail, and when the layer turns turbulent.

All coefficients refer to the shaft's cross-section, pi d^2/4, and the Reynolds number to its diameter, Re_d = U d/nu.

The friction laws are those of a flat plate (Blasius 1908: 1.328 Re^-1/2 laminar; Prandtl: 0.074 Re^-1/5 turbulent;
both in Schlichting, Boundary-Layer Theory). A layer as thick as the shaft rubs harder than on a plate, so each is
multiplied by one fitted number. With them and the tail's step, three published measurements are met: Ortiz et al.
2020 (Proceedings 49:56), 1.56 and 2.05 at Re_d 1.2e4 with small and large straight vanes, and the KAKEN 18K03943
report, 1.3 -> 2.6 near Re_d 2e4. They are a fit, so those numbers are no independent check of this module; the speed
lost over a target distance is.
"""

from __future__ import annotations

import math
from typing import NamedTuple

__all__ = ["TAIL_STEP", "DragParts", "axial_coefficient", "fin_friction", "shaft_friction", "turbulent_share"]

TAIL_STEP = 0.19  # drag of the blunt tail and nock (fitted)
LAMINAR_CURVATURE = 1.82  # rubbing of a thick laminar layer around a thin rod, over a plate's (fitted)
TURBULENT_CURVATURE = 1.05  # the same, turbulent (fitted)

# The layer of a streamlined arrow turns turbulent between these Re_d ('near 2e4'); the width is assumed.
TRANSITION_BEGINS, TRANSITION_ENDS = 1.8e4, 2.2e4
# Incidence [rad] at which even a streamlined arrow's layer is tripped: 'about a degree'; the width is assumed.
TRIP_BEGINS, TRIP_ENDS = math.radians(0.8), math.radians(1.2)


class DragParts(NamedTuple):
    """What the drag coefficient is made of.

    tail      [1] the blunt tail
    laminar   [1] multiplies Re_d^-1/2: friction of the shaft with a laminar layer
    turbulent [1] multiplies Re_d^-1/5: the same with a turbulent layer
    fins      [1] multiplies Re_d^-1/5: friction of vanes and blades, always turbulent (in the shaft's wake)
    tripped   [1] 1.0 where the front trips the layer whatever the speed, else 0.0
    """

    tail: float
    laminar: float
    turbulent: float
    fins: float
    tripped: float


def shaft_friction(slenderness: float) -> tuple[float, float]:
    """Factors of Re_d^-1/2 (laminar) and Re_d^-1/5 (turbulent) for a shaft of ``slenderness`` = length/diameter [1].

    Skin over cross-section is 4 L/d, and the plate laws hold at Re_L = Re_d L/d.
    """
    laminar = LAMINAR_CURVATURE * 4.0 * 1.328 * math.sqrt(slenderness)
    turbulent = TURBULENT_CURVATURE * 4.0 * 0.074 * math.pow(slenderness, 0.8)
    return laminar, turbulent


def fin_friction(area: float, chord: float, diameter: float) -> float:
    """Factor of Re_d^-1/5 for fins of total side ``area`` [m2] (one side) and ``chord`` [m] on a shaft of ``diameter``.

    Both faces rub; the plate law holds at Re_chord = Re_d chord/d.
    """
    if area <= 0.0:
        return 0.0
    section = 0.25 * math.pi * diameter**2
    return 2.0 * area / section * 0.074 * math.pow(chord / diameter, -0.2)


def turbulent_share(reynolds: float, incidence: float, tripped: float) -> float:
    """How much of the layer is turbulent, 0 to 1, for Re_d [1], ``incidence`` [rad, >= 0] and a tripping front (1.0).

    Smooth steps, so that a solver meets no jump. (Compiled by the flight kernel as it stands.)
    """
    by_speed = min(max((reynolds - TRANSITION_BEGINS) / (TRANSITION_ENDS - TRANSITION_BEGINS), 0.0), 1.0)
    by_angle = min(max((incidence - TRIP_BEGINS) / (TRIP_ENDS - TRIP_BEGINS), 0.0), 1.0)
    laminar = (1.0 - by_speed * by_speed * (3.0 - 2.0 * by_speed)) * (
        1.0 - by_angle * by_angle * (3.0 - 2.0 * by_angle)
    )
    return 1.0 - laminar * (1.0 - tripped)


def axial_coefficient(parts: DragParts, reynolds: float, share: float) -> float:
    """Drag coefficient on the shaft's cross-section at Re_d with a turbulent ``share`` of the layer [1].

    (Compiled by the flight kernel as it stands.)
    """
    fifth = math.pow(reynolds, -0.2)
    shaft = share * parts.turbulent * fifth
    if share < 1.0:
        shaft += (1.0 - share) * parts.laminar / math.sqrt(reynolds)
    return parts.tail + parts.fins * fifth + shaft
