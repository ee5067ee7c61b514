"""What is on the bow right now: build, bow and every adjustment away from the recorded start."""

from __future__ import annotations

from dataclasses import dataclass

from spinewright.equipment.arrow import ArrowBuild
from spinewright.equipment.bow import Bow

__all__ = ["Setup"]


@dataclass(frozen=True, slots=True)
class Setup:
    """One state of the bench, in the right-handed frame.

    rest_y, rest_z [m]    the rest's place against its recorded starting centre shot and height (left, up positive)
    nock_z         [m]    the nock point's height against its recorded start (up positive)
    nock_angle     [rad]  how far the nock has been turned on the shaft since the start (of the whole set)
    bolt_turns     [1]    turns of BOTH limb bolts from the recorded start, positive = in (more weight)

    ``bow.peak_weight`` is the peak weight measured LAST; ``bolts_since_weighed`` [turns] have been turned since, so
    the present peak weight is ``peak_weight + bolts_since_weighed * weight_per_turn``.
    """

    build: ArrowBuild
    bow: Bow
    rest_y: float = 0.0
    rest_z: float = 0.0
    nock_z: float = 0.0
    nock_angle: float = 0.0
    bolt_turns: float = 0.0
    bolts_since_weighed: float = 0.0
