"""What a person saw, in SI and in the right-handed frame: frozen values, no judgement.

Seen by the archer: y to the left, z up. A hole is where the POINT went in. A lean or a tail says where the NOCK end
is: ``lean_y > 0`` = the nock leans left; ``tail_y < 0`` = the tail tore right of the point's hole.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from spinewright.equipment.arrow import HeadKind
from spinewright.equipment.setup import Setup

__all__ = [
    "BowCheck",
    "ContactCheck",
    "Evidence",
    "History",
    "Impact",
    "NockReading",
    "NockSeries",
    "Seen",
    "SpeedShot",
    "TargetKind",
    "Tear",
    "Visit",
]


class TargetKind(StrEnum):
    """What was shot at; decides what a leaning nock is worth."""

    FRESH_FOAM = "fresh foam"
    LAYERED = "layered mesh"
    WORN_FOAM = "worn foam"
    BAG = "bag"
    STRAW = "straw"
    UNKNOWN = "unknown"

    @property
    def lean_counts(self) -> bool:
        """Whether a nock's lean in this target is worth anything (common practice)."""
        return self in (TargetKind.FRESH_FOAM, TargetKind.LAYERED)


@dataclass(frozen=True, slots=True)
class Impact:
    """One arrow in the target.

    shaft              the number written on the shaft
    bare               without vanes
    y, z        [m]    hole from the aiming spot, left and up positive
    called_bad         the archer called it a bad shot before looking; kept, marked, not used for centres
    lean_y, lean_z [rad]  lean of the nock, None = not looked at
    """

    shaft: int
    bare: bool
    y: float
    z: float
    called_bad: bool = False
    lean_y: float | None = None
    lean_z: float | None = None
    head: HeadKind = HeadKind.FIELD


@dataclass(frozen=True, slots=True)
class Visit:
    """The arrows of one walk to the target: ``distance`` [m], target, impacts."""

    distance: float
    target: TargetKind
    impacts: tuple[Impact, ...]
    square_to_line: bool = True
    purpose: str = ""  # 'before' / 'after' for the archer's own proof groups, else ''


@dataclass(frozen=True, slots=True)
class Tear:
    """One paper tear: ``distance`` [m] bow to paper; where the tail tore from the point's hole [m]."""

    shaft: int
    bare: bool
    distance: float
    tail_y: float
    tail_z: float
    called_bad: bool = False


@dataclass(frozen=True, slots=True)
class NockReading:
    """One shot of a nock-rotation series: nock turned to ``angle`` [rad]; tail or hole at y, z [m]."""

    angle: float
    y: float
    z: float


@dataclass(frozen=True, slots=True)
class NockSeries:
    """A series of nock rotations with one shaft, through paper (``paper``) or on the target."""

    shaft: int
    bare: bool
    distance: float
    paper: bool
    readings: tuple[NockReading, ...]


@dataclass(frozen=True, slots=True)
class SpeedShot:
    """A chronograph reading: ``speed`` [m/s] of the arrow as built (``bare`` or fletched)."""

    speed: float
    bare: bool
    doubt: float = 0.6


@dataclass(frozen=True, slots=True)
class BowCheck:
    """The bow check; each item True = in order, False = found wrong, None = not looked at."""

    cam_timing: bool | None = None
    cam_lean: bool | None = None
    axle_and_brace: bool | None = None
    peak_weight: bool | None = None
    limb_bolts_equal: bool | None = None
    string_marks: bool | None = None
    nock_fit: bool | None = None
    nock_height: bool | None = None
    centre_shot: bool | None = None
    rest_drop: bool | None = None


@dataclass(frozen=True, slots=True)
class ContactCheck:
    """Powder on each part: True = clean, False = touched, None = not looked at."""

    vanes: bool | None = None
    launcher: bool | None = None
    cables: bool | None = None
    shelf: bool | None = None


Evidence = Visit | Tear | NockSeries | SpeedShot


@dataclass(frozen=True, slots=True)
class Seen:
    """One piece of evidence with the setup it was seen with and the event (id) it came from."""

    setup: Setup
    what: Evidence
    event: str


@dataclass(frozen=True, slots=True)
class History:
    """Everything seen so far in order, with the start it is measured from and the last checks."""

    start: Setup
    now: Setup
    seen: tuple[Seen, ...] = ()
    bow_check: BowCheck | None = None
    contact_check: ContactCheck | None = None
    setups: tuple[Setup, ...] = field(default=())  # every setup in order, start first, now last
