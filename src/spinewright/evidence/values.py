"""What a person saw, in SI and in the right-handed frame: frozen values that refuse what cannot be, no judgement.

Seen by the archer: y to the left, z up. A hole is where the POINT went in. A lean or a tail says where the NOCK end
is: ``lean_y > 0`` = the nock leans left; ``tail_y < 0`` = the tail tore right of the point's hole.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from enum import StrEnum

from spinewright.equipment.arrow import HeadKind
from spinewright.equipment.setup import Setup
from spinewright.errors import EvidenceError, Place
from spinewright.evidence import limits
from spinewright.evidence.work import Changed

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


def _paper_distance(distance: float) -> None:
    limits.within(
        "distance",
        distance,
        limits.PAPER_DISTANCE,
        "the distance to the paper [m]",
        "a tear needs the distance from bow to paper, 1 m to 30 m (about 3 ft to 98 ft)",
    )


def _tear_size(name: str, size: float) -> None:
    right = "a tear is up to 0.3 m (12 in) each way, measured from the point's hole to where the nock tore"
    limits.within(name, size, (-limits.TEAR_MOST, limits.TEAR_MOST), f"the tear's {name} [m]", right)


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
    set_aside          its shaft was set aside later, or its nock turned alone; kept, marked, no longer counted
    """

    shaft: int
    bare: bool
    y: float
    z: float
    called_bad: bool = False
    lean_y: float | None = None
    lean_z: float | None = None
    head: HeadKind = HeadKind.FIELD
    set_aside: bool = False

    @property
    def counts(self) -> bool:
        """Whether the hole counts: not called bad, and its shaft not set aside since."""
        return not (self.called_bad or self.set_aside)

    def __post_init__(self) -> None:
        if not self._usual():
            self._check()

    def _usual(self) -> bool:
        """Whether it is in order as nearly every arrow of a logbook is; what else it may be is looked at closer."""
        most = limits.HOLE_MOST
        return (
            type(self.shaft) is int
            and self.shaft > 0
            and -most <= self.y <= most
            and -most <= self.z <= most
            and self.lean_y is None
            and self.lean_z is None
            and self.head is HeadKind.FIELD
        )

    def _check(self) -> None:
        limits.shaft_number(self.shaft)
        reach = "a hole lies within 3 m (118 in) of the aiming spot, measured each way"
        limits.within("y", self.y, (-limits.HOLE_MOST, limits.HOLE_MOST), "the hole's sideways place [m]", reach)
        limits.within("z", self.z, (-limits.HOLE_MOST, limits.HOLE_MOST), "the hole's height [m]", reach)
        leans = (
            ("lean_y", self.lean_y, "the nock's sideways lean [rad]"),
            ("lean_z", self.lean_z, "its upward lean [rad]"),
        )
        for name, lean, what in leans:
            if lean is not None:
                limits.within(
                    name, lean, (-limits.LEAN_MOST, limits.LEAN_MOST), what, "a nock leans 45 degrees at most"
                )
        if self.bare and self.head is not HeadKind.FIELD:
            raise EvidenceError(
                f"shaft {self.shaft} is written down as bare with a {self.head.value}",
                "never shoot a broadhead on an unfletched shaft, it can turn in the air and go anywhere: "
                "bare shafts carry field points only",
                Place(field="head"),
            )


@dataclass(frozen=True, slots=True)
class Visit:
    """The arrows of one walk to the target: ``distance`` [m], target, impacts.

    purpose  'before' / 'after' for the archer's own proof groups, else ''
    sight    how often the sight had been moved before: holes of walks with another number are not compared
    """

    distance: float
    target: TargetKind
    impacts: tuple[Impact, ...]
    square_to_line: bool = True
    purpose: str = ""
    sight: int = 0

    def __post_init__(self) -> None:
        limits.within(
            "distance",
            self.distance,
            limits.TARGET_DISTANCE,
            "the distance to the target [m]",
            "holes need the distance they were shot from, 1.5 m to 100 m (about 1.6 yd to 109 yd)",
        )
        if not 1 <= len(self.impacts) <= limits.IMPACTS_MOST:
            raise EvidenceError(
                f"{len(self.impacts)} arrows are written down for one walk to the target",
                f"write down 1 to {limits.IMPACTS_MOST} arrows for each walk",
                Place(field="impacts"),
            )
        if self.purpose not in ("", "before", "after"):
            raise EvidenceError(
                f"the purpose of a walk to the target cannot be {self.purpose!r}",
                "write 'before' or 'after' for proof groups and leave it out otherwise",
                Place(field="purpose"),
            )


@dataclass(frozen=True, slots=True)
class Tear:
    """One paper tear: ``distance`` [m] bow to paper; where the tail tore from the point's hole [m].

    ``set_aside`` as for an :class:`Impact`.
    """

    shaft: int
    bare: bool
    distance: float
    tail_y: float
    tail_z: float
    called_bad: bool = False
    set_aside: bool = False

    @property
    def counts(self) -> bool:
        """Whether the tear counts: not called bad, and its shaft not set aside since."""
        return not (self.called_bad or self.set_aside)

    def __post_init__(self) -> None:
        limits.shaft_number(self.shaft)
        _paper_distance(self.distance)
        for name, size in (("tail_y", self.tail_y), ("tail_z", self.tail_z)):
            _tear_size(name, size)


@dataclass(frozen=True, slots=True)
class NockReading:
    """One shot of a nock-rotation series: nock turned to ``angle`` [rad]; tail or hole at y, z [m]."""

    angle: float
    y: float
    z: float

    def __post_init__(self) -> None:
        turn = (-limits.ANGLE_MOST, limits.ANGLE_MOST)
        limits.within("angle", self.angle, turn, "the nock's angle [rad]", "a nock is turned by one full turn at most")
        reach = "a hole lies within 3 m (118 in) of the aiming spot, measured each way"
        for name, value in (("y", self.y), ("z", self.z)):
            limits.within(name, value, (-limits.HOLE_MOST, limits.HOLE_MOST), f"the reading's {name} [m]", reach)


@dataclass(frozen=True, slots=True)
class NockSeries:
    """A series of nock rotations with one shaft, through paper (``paper``) or on the target.

    fletched  [m]   on a target: middle of the fletched group from the same aiming spot; None = not shot
    fletched_shots  how many arrows made that group
    set_aside       its shaft was set aside since; kept, marked, no longer counted
    turned   [rad]  how far the nock of this shaft, turned alone, stood from its fellows' as the series began
    """

    shaft: int
    bare: bool
    distance: float
    paper: bool
    readings: tuple[NockReading, ...]
    fletched: tuple[float, float] | None = None
    fletched_shots: int = 0
    set_aside: bool = False
    turned: float = 0.0

    def __post_init__(self) -> None:
        limits.shaft_number(self.shaft)
        self._check_fletched()
        if not self.readings:
            raise EvidenceError(
                "a series of nock rotations has no reading",
                "write down the nock's angle with the tail or the hole for each shot",
                Place(field="readings"),
            )
        if not self.paper:
            limits.within(
                "distance",
                self.distance,
                limits.TARGET_DISTANCE,
                "the distance to the target [m]",
                "holes need the distance they were shot from, 1.5 m to 100 m (about 1.6 yd to 109 yd)",
            )
            return
        _paper_distance(self.distance)
        for reading in self.readings:
            _tear_size("y", reading.y)
            _tear_size("z", reading.z)

    def _check_fletched(self) -> None:
        if self.fletched is None:
            return
        if self.paper:
            raise EvidenceError(
                "paper shows where the tail tore, not where a fletched group lies",
                "leave the fletched group out, or log the series as shot at a target",
                Place(field="fletched"),
            )
        if not 1 <= self.fletched_shots <= limits.IMPACTS_MOST:
            raise EvidenceError(
                "nobody knows how many fletched arrows made the group that the series is held against",
                "say how many fletched arrows were shot, for example 3",
                Place(field="fletched_shots"),
            )
        reach = "a group lies within 3 m (118 in) of the aiming spot, measured each way"
        for value in self.fletched:
            most = (-limits.HOLE_MOST, limits.HOLE_MOST)
            limits.within("fletched", value, most, "the middle of the fletched group [m]", reach)


@dataclass(frozen=True, slots=True)
class SpeedShot:
    """A chronograph reading: ``speed`` [m/s] of the arrow as built (``bare`` or fletched)."""

    speed: float
    bare: bool
    doubt: float = 0.6

    def __post_init__(self) -> None:
        speed = "arrows leave a bow at 20 to 150 m/s (66 to 492 ft/s)"
        limits.within("speed", self.speed, limits.SPEED, "the speed [m/s]", speed)
        doubt = "one standard deviation of the chronograph, 0.01 to 15 m/s"
        limits.within("doubt", self.doubt, limits.SPEED_DOUBT, "the doubt about the speed [m/s]", doubt)


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
    """Everything seen so far in order, with the start it is measured from and the last checks.

    setups             every setup in order, start first, now last
    expected_length    [m] carbon length a chart or the person's experience expects to end at
    bow_check_since, contact_check_since  only what was looked at after the last change of bow or arrow
    set_aside          numbers of the shafts that are set aside and not to be shot, in order
    own_turns          how far the nock of a shaft stands from its fellows' because it was turned alone [rad]: (number,
                       angle), in order of the numbers
    works              what each work on the bow changed, in order: ``worked`` of a setup's bow counts them
    checks_before      the bow check as it stood before each of them
    sight              how often the sight has been moved
    latest             id of the last event that counts, whether anything was seen at it or not; '' where none is kept
    """

    start: Setup
    now: Setup
    seen: tuple[Seen, ...] = ()
    bow_check: BowCheck | None = None
    contact_check: ContactCheck | None = None
    setups: tuple[Setup, ...] = field(default=())
    expected_length: float | None = None
    bow_check_since: BowCheck | None = None
    contact_check_since: ContactCheck | None = None
    set_aside: tuple[int, ...] = ()
    latest: str = ""
    sight: int = 0
    own_turns: tuple[tuple[int, float], ...] = ()
    works: tuple[tuple[Changed, ...], ...] = ()
    checks_before: tuple[BowCheck | None, ...] = ()

    @property
    def checked_since_change(self) -> bool:
        """Whether every item of both checks was looked at after the last change of bow or arrow.

        True as well when the checks were made and nothing was changed since. What they found is another question.
        """
        return _whole(self.bow_check_since) and _whole(self.contact_check_since)


def _whole(check: BowCheck | ContactCheck | None) -> bool:
    """Whether every item was looked at."""
    return check is not None and all(getattr(check, item.name) is not None for item in fields(check))
