"""A session as it stands in its file: who shoots what, what is at hand, and every event in order."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from spinewright.equipment.archer import Archer, Purpose, Release, TimeAtHand
from spinewright.equipment.setup import Setup
from spinewright.equipment.shaft import Shaft
from spinewright.logbook.events import Event
from spinewright.units import Hand, System

__all__ = ["FORMAT", "OwnLimit", "Owned", "Scope", "Session", "StartMarks"]

FORMAT = 1
"""The version of the session file that this package reads and writes."""


@dataclass(frozen=True, slots=True)
class Scope:
    """What the session is about, said first."""

    hand: Hand
    release: Release
    purpose: Purpose
    time_at_hand: TimeAtHand
    system: System


@dataclass(frozen=True, slots=True)
class Owned:
    """What lies on the bench: point masses [kg], spare shafts of the set, other shafts."""

    points: tuple[float, ...] = ()
    spare_shafts: int = 0
    shafts: tuple[Shaft, ...] = ()


@dataclass(frozen=True, slots=True)
class StartMarks:
    """Where things stood at the start, measured on the bow [m]; None = not measured.

    centre_shot  riser to the middle of the shaft
    rest_height  rest's contact above whatever mark the person uses
    nock_height  nock point above square
    bolts_out    [turns] both limb bolts out from fully in
    """

    centre_shot: float | None = None
    rest_height: float | None = None
    nock_height: float | None = None
    bolts_out: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class OwnLimit:
    """A limit of a round or of hunting law that the person looked up: what it is about, says, and on which day."""

    about: str
    says: str
    dated: date


@dataclass(frozen=True, slots=True)
class Session:
    """Everything a session file says.

    expected_length  [m] carbon length that the person or a chart expects to end at; None = not said
    source           the file's name as the person wrote it
    face             name of the face the archer's score was shot on; '' = not said
    """

    scope: Scope
    archer: Archer
    start: Setup
    marks: StartMarks = field(default_factory=StartMarks)
    owned: Owned = field(default_factory=Owned)
    limits: tuple[OwnLimit, ...] = ()
    expected_length: float | None = None
    events: tuple[Event, ...] = ()
    source: str = ""
    face: str = ""
