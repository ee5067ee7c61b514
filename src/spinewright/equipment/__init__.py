"""Shaft, components, arrow build, bow, rest, archer, faces: frozen and validated. Knows nothing of storage or screens.

Here live the values a person can measure or read off, and what follows from them without any motion: stiffness,
masses and balance, draw curve and its energy, the virtual mass behind chronograph readings, target faces and the
scatter behind a score. Not here: the bending arrow on the string (``mechanics``), its flight (``flight``), or what was
shot (``evidence``).
"""

from __future__ import annotations

from spinewright.equipment.archer import Archer, Purpose, Release, TimeAtHand
from spinewright.equipment.arrow import ArrowBuild, Component, Fletching, Head, HeadKind
from spinewright.equipment.bow import (
    DRAW_ALLOWANCE,
    Bow,
    BowKind,
    CurveShape,
    ForceReading,
    Rest,
    RestKind,
    SpeedReading,
)
from spinewright.equipment.draw_curve import DrawCurve
from spinewright.equipment.faces import FACES, Face, expected_score, face_named, zone_shares
from spinewright.equipment.limits import Limit, LimitKind, LimitState, safety_limits
from spinewright.equipment.masses import Lump, MassModel, mass_model
from spinewright.equipment.scatter import (
    doubt_of_group,
    doubt_of_score,
    expected_extent,
    scatter_from_group,
    scatter_from_score,
)
from spinewright.equipment.setup import Setup
from spinewright.equipment.shaft import (
    CURRENT_TEST,
    OLDER_TEST,
    Shaft,
    ShaftMaterial,
    SpineTest,
    spine_from_older_test,
    spine_of_stiffness,
    tube_stiffness,
)
from spinewright.equipment.virtual_mass import Launch, VirtualMassFit, VirtualMassPrior, fit_virtual_mass

__all__ = [
    "CURRENT_TEST",
    "DRAW_ALLOWANCE",
    "FACES",
    "OLDER_TEST",
    "Archer",
    "ArrowBuild",
    "Bow",
    "BowKind",
    "Component",
    "CurveShape",
    "DrawCurve",
    "Face",
    "Fletching",
    "ForceReading",
    "Head",
    "HeadKind",
    "Launch",
    "Limit",
    "LimitKind",
    "LimitState",
    "Lump",
    "MassModel",
    "Purpose",
    "Release",
    "Rest",
    "RestKind",
    "Setup",
    "Shaft",
    "ShaftMaterial",
    "SpeedReading",
    "SpineTest",
    "TimeAtHand",
    "VirtualMassFit",
    "VirtualMassPrior",
    "doubt_of_group",
    "doubt_of_score",
    "expected_extent",
    "expected_score",
    "face_named",
    "fit_virtual_mass",
    "mass_model",
    "safety_limits",
    "scatter_from_group",
    "scatter_from_score",
    "spine_from_older_test",
    "spine_of_stiffness",
    "tube_stiffness",
    "zone_shares",
]
