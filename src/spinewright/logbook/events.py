"""The events of a tuning session: one frozen class for each kind of thing that was done or seen.

All numbers are SI and in the right-handed frame (y left, z up, turns of the nock clockwise as seen from behind): the
session file's words are mirrored for a left-hander when they are read. A ``None`` amount was not given.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import ClassVar

from spinewright.equipment.arrow import Component, Fletching, Head
from spinewright.equipment.bow import CurveShape, ForceReading, Rest
from spinewright.equipment.shaft import Shaft
from spinewright.evidence.values import BowCheck, ContactCheck, Impact, NockSeries, SpeedShot, TargetKind, Tear

__all__ = [
    "AnswersKept",
    "BoltsTurned",
    "BowChanged",
    "BowChecked",
    "BuildChanged",
    "ContactChecked",
    "Cut",
    "Event",
    "FlexChecked",
    "Hit",
    "NockPointMoved",
    "NockSeriesShot",
    "NockTurned",
    "PaperTorn",
    "PointChanged",
    "ProofGroup",
    "RestMeasured",
    "RestMoved",
    "SafeLengthMarked",
    "SettingsMarkedGood",
    "ShaftChanged",
    "ShaftSetAside",
    "Shots",
    "SightMoved",
    "SpeedRead",
    "TapeChanged",
    "Undone",
    "Way",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What every event has.

    id    short and unique in its session; '#3' is the third event of a file that was written without ids
    when  as written: a date, or a date and time with or without a zone; None = not noted
    note  the person's own words
    """

    kind: ClassVar[str] = ""

    id: str
    when: datetime | date | None = None
    note: str = ""

    @property
    def moment(self) -> str:
        """'2026-05-03 10:15' or '2026-05-03' as a person reads it; '' when it was not noted."""
        if self.when is None:
            return ""
        return f"{self.when:%Y-%m-%d %H:%M}" if isinstance(self.when, datetime) else self.when.isoformat()

    @property
    def on_day(self) -> str:
        """' on 2026-05-03 10:15', to stand inside a sentence; '' when it was not noted."""
        return f" on {self.moment}" if self.when is not None else ""


@dataclass(frozen=True, slots=True)
class Way:
    """An amount sideways (left positive) and in height (up positive); None = that direction was not named."""

    y: float | None = None
    z: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BowChecked(Event):
    """The bow check; items left None were not looked at. ``weighed`` [N] peak weight on a scale."""

    kind: ClassVar[str] = "bow check"
    check: BowCheck
    weighed: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactChecked(Event):
    """Powder on the parts the arrow may touch."""

    kind: ClassVar[str] = "contact check"
    check: ContactCheck


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeLengthMarked(Event):
    """The shortest-safe-length mark, made at full draw with a helper, facing a backstop.

    ``length`` [m] nock throat to the mark: the arrow length (throat to front shaft end) never goes below it.
    """

    kind: ClassVar[str] = "safe length"
    length: float


@dataclass(frozen=True, slots=True)
class Hit:
    """One arrow in the target; unless ``head_named``, the head is the one the arrow was built with at that time."""

    impact: Impact
    head_named: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Shots(Event):
    """Arrows shot at a target from ``distance`` [m] and walked up to."""

    kind: ClassVar[str] = "shots"
    distance: float
    target: TargetKind
    hits: tuple[Hit, ...]
    square_to_line: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofGroup(Shots):
    """A group of the archer's own to hold before against after; ``purpose`` is 'before' or 'after'."""

    kind: ClassVar[str] = "proof group"
    purpose: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperTorn(Event):
    """One arrow through paper."""

    kind: ClassVar[str] = "tear"
    tear: Tear


@dataclass(frozen=True, slots=True, kw_only=True)
class NockSeriesShot(Event):
    """One shaft shot with its nock turned step by step."""

    kind: ClassVar[str] = "nock series"
    series: NockSeries


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedRead(Event):
    """A chronograph reading."""

    kind: ClassVar[str] = "chronograph"
    shot: SpeedShot


@dataclass(frozen=True, slots=True, kw_only=True)
class RestMoved(Event):
    """The rest moved: in clicks, as intended [m] and as measured [m]."""

    kind: ClassVar[str] = "rest moved"
    clicks: Way = field(default_factory=Way)
    intended: Way = field(default_factory=Way)
    measured: Way = field(default_factory=Way)


@dataclass(frozen=True, slots=True, kw_only=True)
class RestMeasured(Event):
    """The rest measured, not moved: travel of one click [m], and where it stands now as [start] measures it [m].

    ``centre_shot`` riser to the middle of the shaft, ``height`` over the person's own mark; None = not measured.
    """

    kind: ClassVar[str] = "rest measured"
    per_click_sideways: float | None = None
    per_click_height: float | None = None
    centre_shot: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NockPointMoved(Event):
    """The nock point moved up (positive) or down [m]."""

    kind: ClassVar[str] = "nock point moved"
    intended: float | None = None
    measured: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltsTurned(Event):
    """Both limb bolts turned equally: ``turns`` positive = in; ``weighed`` [N] the peak weight measured afterwards."""

    kind: ClassVar[str] = "bolts turned"
    turns: float
    weighed: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut(Event):
    """The set cut from the back: ``intended`` [m] off; the new lengths as measured [m]."""

    kind: ClassVar[str] = "cut"
    throat_length: float
    carbon_length: float
    intended: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PointChanged(Event):
    """Another point or head on the whole set."""

    kind: ClassVar[str] = "point changed"
    head: Head


@dataclass(frozen=True, slots=True, kw_only=True)
class NockTurned(Event):
    """The nocks of the whole set turned on their shafts by ``angle`` [rad], clockwise positive.

    With ``shaft`` only the nock of the one with that number: the set stays as it was.
    """

    kind: ClassVar[str] = "nock turned"
    angle: float
    shaft: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShaftSetAside(Event):
    """A shaft that goes elsewhere than its fellows is left out: what it shot with this build no longer counts."""

    kind: ClassVar[str] = "shaft set aside"
    shaft: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ShaftChanged(Event):
    """A new set: another shaft (None = the same kind), its lengths [m], and how many spares are left."""

    kind: ClassVar[str] = "shaft changed"
    throat_length: float
    carbon_length: float
    shaft: Shaft | None = None
    spare_shafts: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildChanged(Event):
    """Other parts on the same shafts; None = as before. ``throat_length`` [m] if the nock sits otherwise."""

    kind: ClassVar[str] = "build changed"
    nock: Component | None = None
    bushing: Component | None = None
    wrap: Component | None = None
    insert: Component | None = None
    collar: Component | None = None
    vanes: Fletching | None = None
    throat_length: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeChanged(Event):
    """Tape on each bare shaft where the vanes would be: ``mass`` [kg], 0 = taken off."""

    kind: ClassVar[str] = "tape changed"
    mass: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BowChanged(Event):
    """Work on the bow (string, cables, cams, modules, rest): what was measured afterwards; None = as before.

    Units as in ``equipment.Bow``. The safe-length mark and the checks are void after it.
    """

    kind: ClassVar[str] = "bow changed"
    what: str
    weighed: float | None = None
    let_off: float | None = None
    draw_length: float | None = None
    brace_height: float | None = None
    axle_to_axle: float | None = None
    string_mass: float | None = None
    on_string: float | None = None
    curve: CurveShape | tuple[ForceReading, ...] | None = None
    rest: Rest | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SightMoved(Event):
    """The sight moved, in clicks and or as measured [m]; kept in the ledger, the arrow's flight is untouched."""

    kind: ClassVar[str] = "sight moved"
    clicks: Way = field(default_factory=Way)
    measured: Way = field(default_factory=Way)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlexChecked(Event):
    """A shaft flexed and looked at after a hard or sideways hit; not ``sound`` = broken up, never shot again."""

    kind: ClassVar[str] = "flex check"
    shaft: int
    sound: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswersKept(Event):
    """What was answered to a task around the tune, as written: pairs of question and answer, in order."""

    kind: ClassVar[str] = "answers"
    to: str
    answers: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsMarkedGood(Event):
    """The archer's own mark: these settings shoot well, come back to them if time is short."""

    kind: ClassVar[str] = "settings good"


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone(Event):
    """An earlier event was written down wrongly; both stay in the file, the earlier one no longer counts."""

    kind: ClassVar[str] = "undo"
    undoes: str
