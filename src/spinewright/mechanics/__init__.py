"""The bending arrow and the power stroke: from full draw to release. Knows nothing of flight and all above.

Here live the rod (modes, thrust matrix), the bow's motion along the shot, and the stroke of many plausible bows at
once, which gives the release state per unit of every disturbance. Not here: what a shaft or bow is (``equipment``),
what happens after the arrow is free (``flight``), or which bows are plausible (``belief``).
"""

from __future__ import annotations

from spinewright.mechanics.bow_motion import BowMotion, StringGeometry, bow_motion
from spinewright.mechanics.motion import Motion, MotionSettings, motion
from spinewright.mechanics.nock_turn import NockTurn, nock_turn_effect
from spinewright.mechanics.one_sided import height_on_pushing_rest
from spinewright.mechanics.rod import Rod, build_rod, frequencies, mode_nodes
from spinewright.mechanics.stroke import StrokeSettings, stroke
from spinewright.mechanics.values import Channel, StrokeParameters, StrokeResult

__all__ = [
    "BowMotion",
    "Channel",
    "Motion",
    "MotionSettings",
    "NockTurn",
    "Rod",
    "StringGeometry",
    "StrokeParameters",
    "StrokeResult",
    "StrokeSettings",
    "bow_motion",
    "build_rod",
    "frequencies",
    "height_on_pushing_rest",
    "mode_nodes",
    "motion",
    "nock_turn_effect",
    "stroke",
]
