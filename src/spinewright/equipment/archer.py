"""The archer: which hand, which release, how large a group, and what the arrow is for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from spinewright.equipment.plausible import check_count, check_range
from spinewright.errors import Place, ScopeError
from spinewright.units import Hand, Kind

__all__ = ["Archer", "Purpose", "Release", "TimeAtHand"]


class Release(StrEnum):
    """How the string is let go."""

    AID = "release aid"
    FINGERS = "fingers"


class Purpose(StrEnum):
    """What the arrow is for: fixed-blade heads aim for a slightly stiff result."""

    TARGET = "target"
    FIXED_BLADES = "fixed-blade heads"


class TimeAtHand(StrEnum):
    """How much may be changed today."""

    AFTERNOON = "an afternoon"
    SHORT = "twenty minutes"
    MATCH_TOMORROW = "match tomorrow"


@dataclass(frozen=True, slots=True)
class Archer:
    """The person who shoots.

    scatter        [rad] one-axis sd of the archer's own arrows as an angle; from a group size or a score
    scatter_doubt  [1]   one sd of ln(scatter): how well that is known before any shot is logged

    Raises ScopeError for a finger release, EquipmentError for a scatter nobody can have.
    """

    hand: Hand
    release: Release = Release.AID
    scatter: float = 1.5e-3
    scatter_doubt: float = 0.35
    name: str = ""

    def __post_init__(self) -> None:
        if self.release is not Release.AID:
            raise ScopeError(
                "a finger release is not supported yet, because fingers push the string sideways as it leaves",
                "shoot with a release aid",
                Place(field="release"),
            )
        check_range("archer's scatter", self.scatter, 5e-5, 0.03, Kind.ANGLE)
        check_count("doubt of the archer's scatter", self.scatter_doubt, 0.005, 2.0)
