"""What replaying a session yields: the bench as it stands, what was seen, and the ledger of every change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from spinewright.equipment.archer import Archer
from spinewright.equipment.setup import Setup
from spinewright.evidence.values import History
from spinewright.logbook.session import Owned, OwnLimit, Scope, StartMarks

__all__ = ["BenchState", "FlexCheck", "Knob", "LedgerEntry", "MoveMade", "TurnedAlone"]


class Knob(StrEnum):
    """What the ledger keeps account of."""

    REST_SIDEWAYS = "rest sideways"
    REST_HEIGHT = "rest height"
    NOCK_POINT = "nock point"
    LIMB_BOLTS = "both limb bolts"
    NOCK = "nock turned"
    LENGTH = "arrow length"
    SIGHT_SIDEWAYS = "sight sideways"
    SIGHT_HEIGHT = "sight height"


@dataclass(frozen=True, slots=True)
class LedgerEntry:
    """One change of one knob, in the right-handed frame, with the account since the recorded start.

    intended, measured  [m; rad for the nock; turns for the bolts] None = not said. A cut counts as negative length.
    clicks              None = not counted in clicks
    total               [as intended] since the start; None once a change of unknown size was made
    total_clicks        None once a change was made that was not counted in clicks
    """

    event: str
    knob: Knob
    intended: float | None
    measured: float | None
    clicks: float | None
    total: float | None
    total_clicks: float | None


@dataclass(frozen=True, slots=True)
class MoveMade:
    """A change of the setup: which event, of which kind, from what to what."""

    event: str
    kind: str
    before: Setup
    after: Setup


@dataclass(frozen=True, slots=True)
class FlexCheck:
    """A shaft of the present set flexed and looked at: ``when`` as written, and after how many things were ``seen``."""

    shaft: int
    sound: bool
    when: date | None
    seen: int


@dataclass(frozen=True, slots=True)
class TurnedAlone:
    """The nock of one shaft turned by ``angle`` [rad], clockwise positive, after so many things were ``seen``."""

    event: str
    shaft: int
    angle: float
    seen: int


@dataclass(frozen=True, slots=True)
class BenchState:
    """The bench after every event that still counts, in the right-handed frame.

    safe_length    [m] nock throat to the mark made at full draw; None = no valid mark, so no cut
    owned          points, spare shafts and other shafts that are left
    rest_known     False once the rest was moved by an unknown amount (clicks without inches per click)
    cleared        how many things had been seen when a fault that a check found was last put right: they were shot
                   with the fault and no longer count
    moves          changes of the setup in order
    ledger         every change of every knob in order
    broken_shafts  numbers of shafts that failed a flex check since this set was built
    flex_checks    of the present set, in order
    set_began      how many things had been seen when the present set of shafts was taken up
    turned_alone   nocks turned alone on the shafts as they are built now, in order
    last_good      the setup the archer marked as good last, if any
    undone         ids of events that no longer count
    face           name of the face the archer's score was shot on; '' = not said
    dated          when the last dated event that counts was; None = no event has a date
    answers        what was answered last to each task around the tune: (question, answer) in order, by task
    cautions       someone can be hurt: sentences that belong before anything else that is said
    notices        what this session cannot tell, and why: one sentence each
    """

    scope: Scope
    archer: Archer
    marks: StartMarks
    start: Setup
    now: Setup
    history: History
    owned: Owned
    limits: tuple[OwnLimit, ...] = ()
    safe_length: float | None = None
    rest_known: bool = True
    cleared: int = 0
    moves: tuple[MoveMade, ...] = ()
    ledger: tuple[LedgerEntry, ...] = ()
    broken_shafts: tuple[int, ...] = ()
    flex_checks: tuple[FlexCheck, ...] = ()
    set_began: int = 0
    turned_alone: tuple[TurnedAlone, ...] = ()
    last_good: Setup | None = None
    undone: tuple[str, ...] = ()
    dated: date | None = None
    face: str = ""
    answers: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
