"""What is on the bow right now: build, bow and every adjustment away from the recorded start."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import tau

from spinewright.equipment.arrow import ArrowBuild
from spinewright.equipment.bow import HIGHEST_WEIGHT, LOWEST_WEIGHT, Bow
from spinewright.equipment.plausible import both, check_count, check_range, refuse
from spinewright.units import Kind

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

    Raises EquipmentError for an arrow that does not reach the rest at full draw, and for bolts turned without a known
    weight per turn since the bow was weighed.
    """

    build: ArrowBuild
    bow: Bow
    rest_y: float = 0.0
    rest_z: float = 0.0
    nock_z: float = 0.0
    nock_angle: float = 0.0
    bolt_turns: float = 0.0
    bolts_since_weighed: float = 0.0

    def __post_init__(self) -> None:
        for name, value in (("sideways", self.rest_y), ("in height", self.rest_z)):
            check_range(f"rest's place {name} from its start", value, -0.025, 0.025, Kind.LENGTH)
        check_range("nock point's height from its start", self.nock_z, -0.025, 0.025, Kind.LENGTH)
        check_range("angle the nock was turned", self.nock_angle, -tau, tau, Kind.ANGLE)
        check_count("turns of the limb bolts", self.bolt_turns, -30.0, 30.0)
        check_count("turns of the limb bolts since the bow was weighed", self.bolts_since_weighed, -30.0, 30.0)
        if self.bolts_since_weighed and self.bow.weight_per_turn is None:
            refuse(
                "peak weight",
                "the limb bolts were turned and nobody knows how much weight a turn makes",
                "weigh the bow again, or give the weight per turn",
            )
        check_range("present peak weight", self.present_peak_weight, LOWEST_WEIGHT, HIGHEST_WEIGHT, Kind.FORCE)
        if self.build.throat_length <= self.rest_reach:
            refuse(
                "arrow length",
                f"an arrow of {both(self.build.throat_length, Kind.LENGTH)} does not reach the rest at full draw, "
                f"which is {both(self.rest_reach, Kind.LENGTH)} in front of the nock point",
                "do not draw it on this bow, and measure arrow length, draw length and the rest's place again",
            )

    @property
    def present_peak_weight(self) -> float:
        """Peak weight [N] as the bow stands: measured last, and what the bolts have changed since."""
        return self.bow.peak_weight + self.bolts_since_weighed * (self.bow.weight_per_turn or 0.0)

    @property
    def rest_reach(self) -> float:
        """Nock throat to the rest's contact point at full draw [m]."""
        return self.bow.nock_to_pivot + self.bow.rest.ahead

    def mirrored(self) -> Setup:
        """The same bench for the other hand: sideways places and turning directions change sign."""
        return replace(
            self,
            build=self.build.mirrored(),
            rest_y=-self.rest_y if self.rest_y else 0.0,
            nock_angle=-self.nock_angle if self.nock_angle else 0.0,
        )
