"""The bench as a hunt finds and leaves it: history, what was used up, and the acts that both players may choose."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import pairwise
from typing import Any, Protocol

from benchmarks.virtual_range.world import DISTANCE, Condition, World
from benchmarks.virtual_range.world.shooting import Group
from spinewright.equipment import Setup
from spinewright.evidence import Evidence, History, NockSeries, Seen, Tear, Visit

__all__ = ["BARE_SHAFTS", "Act", "Bench", "Choice", "Player", "change_minutes"]

Notes = dict[str, Any]
#: Numbers of the bare shafts that a hunt begins with: as many as are shot at a walk.
BARE_SHAFTS = (11, 12, 13)


class Act(StrEnum):
    """What a player can do."""

    CHECK_BOW = "check the bow"
    TECHNICIAN = "technician"
    CHECK_CONTACT = "check for contact"
    MARK = "mark the shortest safe length"
    SHOOT = "shoot"
    SERIES = "turn the nock through paper"
    CHANGE = "change"
    SET_ASIDE = "set a shaft aside"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice: for SHOOT ``amount`` bare and ``fletched`` (None = as many) at ``distance`` [m]; for SET_ASIDE the
    shaft; for CHANGE ``after``.

    why    for STOP: 'tuned', 'archer', 'out of reach', 'hidden travel' or 'no better'; else the player's reason
    notes  numbers the player stated, for the record
    """

    act: Act
    amount: int = 0
    after: Setup | None = None
    why: str = ""
    distance: float = DISTANCE
    notes: Notes = field(default_factory=dict)
    fletched: int | None = None


class Player(Protocol):
    """Chooses the next act from what a person could know."""

    def choose(self, bench: Bench) -> Choice:
        """The next act."""
        ...


@dataclass
class Bench:
    """What a person has in front of them, and the books of the harness. Players read, the hunt writes.

    ``condition`` is the hidden state of the world's faults: no player looks at it.
    """

    world: World
    condition: Condition
    history: History
    safe_length: float | None = None
    bare_shafts: tuple[int, ...] = BARE_SHAFTS
    flown: tuple[int, int] = (0, 0)
    arrows: int = 0
    minutes: float = 0.0
    walks: int = 0

    @classmethod
    def fresh(cls, world: World) -> Bench:
        """The start of a hunt; in some worlds two bare tears were shot before it."""
        start = world.start
        bench = cls(
            world, world.condition, History(start, start, setups=(start,), expected_length=world.expected_length)
        )
        if world.truth.faults.paper:
            for tear in world.tears(start, bench.condition, 0):
                bench.see(tear)
            bench.arrows += 2
        return bench

    @property
    def now(self) -> Setup:
        """The present setup."""
        return self.history.now

    @property
    def cuts(self) -> int:
        """Cuts made so far."""
        return sum(b.build.carbon_length < a.build.carbon_length - 1e-6 for a, b in pairwise(self.history.setups))

    @property
    def other_shafts(self) -> int:
        """Changes to shafts of another kind so far."""
        return sum(b.build.shaft != a.build.shaft for a, b in pairwise(self.history.setups))

    @property
    def fresh_shafts(self) -> int:
        """Bare shafts taken beside those the hunt began with."""
        return max((*self.bare_shafts, *BARE_SHAFTS)) - max(BARE_SHAFTS)

    def see(self, what: Evidence) -> None:
        """Write down what was seen with the present setup."""
        seen = Seen(self.now, what, f"e{len(self.history.seen)}")
        self.history = replace(self.history, seen=(*self.history.seen, seen))

    def act(self, choice: Choice) -> None:
        """Do what was chosen; STOP is the hunt's business."""
        _ACTS[choice.act](self, choice)

    def visits(self, setup: Setup) -> list[Visit]:
        """The walks shot with ``setup``, in order."""
        return [s.what for s in self.history.seen if isinstance(s.what, Visit) and s.setup == setup]

    def _check_bow(self, _: Choice) -> None:
        self.minutes += 5.0
        found = self.world.bow_check(self.condition)
        self.history = replace(self.history, bow_check=found, bow_check_since=found)

    def _technician(self, _: Choice) -> None:
        self.minutes += 60.0
        self.condition = replace(self.condition, amiss=False)
        found = self.world.bow_check(self.condition)
        self.history = replace(self.history, bow_check=found, bow_check_since=found)

    def _check_contact(self, _: Choice) -> None:
        """Powder; what it shows is cleared and powdered again, and shots from before count no longer."""
        self.minutes += 5.0
        found = self.world.contact_check(self.condition)
        if found.vanes is False:
            self.minutes += 10.0
            self.condition = replace(self.condition, touching=False)
            found = self.world.contact_check(self.condition)
            kept = tuple(s for s in self.history.seen if not isinstance(s.what, Visit))
            self.history = replace(self.history, seen=kept)
        self.history = replace(self.history, contact_check=found, contact_check_since=found)

    def _mark(self, _: Choice) -> None:
        self.minutes += 5.0
        self.safe_length = self.world.safe_length

    def _shoot(self, choice: Choice) -> None:
        shots = max(choice.amount, 1)
        fletched = shots if choice.fletched is None else choice.fletched
        self.arrows += shots + fletched
        self.minutes += 2.0 * choice.distance / DISTANCE + (shots + fletched) * 0.7
        self.walks += 1
        group = Group(shots, self.bare_shafts, self.walks, choice.distance, fletched, self.flown)
        self.flown = (self.flown[0] + shots, self.flown[1] + fletched)
        self.see(self.world.shoot(self.now, self.condition, group))

    def _series(self, _: Choice) -> None:
        self.minutes += 15.0
        self.arrows += 18
        self.see(self.world.nock_series(self.now, self.condition, len(self.history.seen)))

    def _change(self, choice: Choice) -> None:
        if choice.after is None:
            raise ValueError("a change needs the setup it leads to")
        self.minutes += change_minutes(self.now, choice.after)
        if choice.after.build.shaft != self.now.build.shaft:
            fresh = max((*self.bare_shafts, *BARE_SHAFTS)) + 1
            self.bare_shafts = tuple(fresh + k for k in range(len(self.bare_shafts)))
        history = self.history
        self.history = replace(
            history,
            now=choice.after,
            setups=(*history.setups, choice.after),
            bow_check_since=None,
            contact_check_since=None,
        )

    def _set_aside(self, choice: Choice) -> None:
        """The odd bare shaft is laid away for a fresh one; what it has shown no longer counts."""
        self.minutes += 1.0
        odd = choice.amount
        fresh = max((*self.bare_shafts, *BARE_SHAFTS)) + 1
        self.bare_shafts = tuple(fresh if s == odd else s for s in self.bare_shafts)
        seen = tuple(_without(s, odd) for s in self.history.seen)
        self.history = replace(self.history, seen=seen, set_aside=(*self.history.set_aside, odd))


def _without(seen: Seen, odd: int) -> Seen:
    what = seen.what
    if isinstance(what, Visit):
        impacts = tuple(replace(i, set_aside=True) if i.shaft == odd else i for i in what.impacts)
        return replace(seen, what=replace(what, impacts=impacts))
    if isinstance(what, Tear | NockSeries) and what.shaft == odd:
        return replace(seen, what=replace(what, set_aside=True))
    return seen


_ACTS = {
    Act.CHECK_BOW: Bench._check_bow,
    Act.TECHNICIAN: Bench._technician,
    Act.CHECK_CONTACT: Bench._check_contact,
    Act.MARK: Bench._mark,
    Act.SHOOT: Bench._shoot,
    Act.SERIES: Bench._series,
    Act.CHANGE: Bench._change,
    Act.SET_ASIDE: Bench._set_aside,
}


def change_minutes(before: Setup, after: Setup) -> float:
    """Minutes of work a change takes, the same for both players, from memory; shots not included."""
    minutes = 0.0
    if after.build.shaft != before.build.shaft:
        minutes += 60.0
    elif abs(after.build.carbon_length - before.build.carbon_length) > 1e-6:
        minutes += 25.0
    if after.build.head != before.build.head:
        minutes += 5.0
    if after.bolt_turns != before.bolt_turns:
        minutes += 9.0
    if (after.rest_y, after.rest_z) != (before.rest_y, before.rest_z):
        minutes += 3.0
    if after.nock_z != before.nock_z:
        minutes += 8.0
    if after.nock_angle != before.nock_angle:
        minutes += 3.0
    return minutes
