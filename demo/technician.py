"""The invented technician: does what the adviser asks, with the hidden truth for a bow, and logs every bit of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from math import radians
from pathlib import Path
from typing import cast

from demo.hidden_truth import Hole, Pair, World
from spinewright.advice import Move, MoveKind
from spinewright.equipment import Setup
from spinewright.evidence.checks import BOW_ITEMS, CONTACT_ITEMS
from spinewright.units import INCH, POUND_FORCE, YARD, Hand, Kind, System, parse, show_offset
from spinewright.workflow import LoggedEvent, NextMove, log_event

__all__ = ["ENDS", "PROOF_DISTANCE", "Technician"]

ENDS = frozenset(
    {
        MoveKind.STOP,
        MoveKind.SHOOTER,
        MoveKind.KEEP,
        MoveKind.TECHNICIAN,
        MoveKind.MAKE_SAFE,
        MoveKind.OTHER_SHAFT,  # the invented archer owns no other shafts
    }
)
"""Moves after which nothing is left to do at the bench."""
CHECKING = 3  # bare and as many fletched after every change, as the cost of a move foresees
PROOF_ARROWS = 12
TEST_DISTANCE = 20 * YARD
PROOF_DISTANCE = 40 * YARD
MARK = "27 5/8 in"
_START = datetime(2026, 5, 16, 9, 30)

Event = dict[str, object]


class Technician:
    """One person with one bow and one session file; ``world`` answers every arrow."""

    def __init__(self, path: Path, hand: Hand, world: World) -> None:
        self.path = path
        self.shots = 0
        self._hand = hand
        self._world = world
        self._count = 0
        self._time = _START
        self._grouped = False

    def do(self, found: NextMove) -> list[str]:
        """Does the move of ``found``, logs it, and says back what the session file understood.

        A change is shot in at once: three bare and three fletched, which is what its minutes are for.
        """
        move = found.advice.move.move
        self._time += timedelta(minutes=move.minutes)
        return self._acts().get(move.kind, self._change)(move, found)

    def prove(self) -> list[str]:
        """The archer's own fletched group at the end, beside the one from the beginning."""
        return self._group("after", self._setup())

    def mark_good(self) -> list[str]:
        """Keeps these settings as the last good ones."""
        return self._log({"kind": "settings good"})

    def _acts(self) -> Mapping[MoveKind, Callable[[Move, NextMove], list[str]]]:
        return {
            MoveKind.CHECK_BOW: self._check_bow,
            MoveKind.CHECK_CONTACT: self._check_contact,
            MoveKind.MARK_LENGTH: self._mark_length,
            MoveKind.SHOOT: self._shoot,
            MoveKind.TURN_NOCK: self._turn_nock,
            MoveKind.STEP_BACK: self._step_back,
            MoveKind.SET_ASIDE: self._shoot_again,
        }

    def _check_bow(self, _move: Move, _found: NextMove) -> list[str]:
        return self._log({"kind": "bow check", **dict.fromkeys(BOW_ITEMS, True), "weighed": "58.6 lb"})

    def _check_contact(self, _move: Move, _found: NextMove) -> list[str]:
        return self._log({"kind": "contact check", **dict.fromkeys(CONTACT_ITEMS, True)})

    def _mark_length(self, _move: Move, _found: NextMove) -> list[str]:
        return self._log({"kind": "safe length", "mark": MARK, "helper": True, "backstop": True})

    def _shoot(self, move: Move, found: NextMove) -> list[str]:
        setup, said = found.state.now, []
        if not self._grouped:
            self._grouped = True
            said += self._group("before", setup)
            said += [line for shaft in World.BARE for line in self._log(self._tear(setup, shaft))]
        return said + self._walk(setup, max(round(move.amount), 2), TEST_DISTANCE)

    def _step_back(self, move: Move, found: NextMove) -> list[str]:
        """As many as after a change, from as far away as the move says."""
        return self._walk(found.state.now, CHECKING, move.amount)

    def _shoot_again(self, _move: Move, found: NextMove) -> list[str]:
        """A bare shaft that keeps apart is shot once more beside the others before it is judged."""
        return self._walk(found.state.now, CHECKING, TEST_DISTANCE)

    def _turn_nock(self, move: Move, found: NextMove) -> list[str]:
        """A whole turn through paper, each step read; which angle it is turned to is left to the adviser."""
        if move.after is not None:
            return self._change(move, found)
        setup, shaft = found.state.now, World.BARE[0]
        tails = {step: self._world.tear(setup, shaft, radians(step)) for step in range(0, 360, 20)}
        self.shots += len(tails)
        return self._log(
            {
                "kind": "nock series",
                "shaft": shaft,
                "state": "bare",
                "distance": "6 ft",
                "through": "paper",
                "turning": "clockwise" if self._hand is Hand.RIGHT else "counterclockwise",
                "readings": [{"nock": f"{step} deg", "tail": self._place(tail)} for step, tail in tails.items()],
            }
        )

    def _change(self, move: Move, found: NextMove) -> list[str]:
        """Any change that names its own events: done as intended, measured where a rule or a scale says otherwise."""
        said: list[str] = []
        for event in _events_of(found):
            if event["kind"] == "cut":
                event |= {name: _sawn(event[name]) for name in ("throat_length", "carbon_length")}
            if event["kind"] == "bolts turned" and move.after is not None:
                event["weighed"] = f"{move.after.present_peak_weight / POUND_FORCE:.1f} lb"
            said += self._log(event, sure=True)
        if move.kind is MoveKind.CUT:
            said += [line for shaft in World.BARE for line in self._log(_flexed(shaft))]
        return said + self._walk(self._setup(), CHECKING, TEST_DISTANCE)

    def _walk(self, setup: Setup, each: int, distance: float) -> list[str]:
        holes = self._world.walk(setup, each, distance)
        self.shots += len(holes)
        event: Event = {"kind": "shots", **_target(distance), "hits": [self._hit(hole) for hole in holes]}
        return self._log(event)[:1]  # the hole of every arrow stands in the file

    def _group(self, purpose: str, setup: Setup) -> list[str]:
        holes = self._world.group(setup, PROOF_ARROWS, PROOF_DISTANCE)
        self.shots += len(holes)
        hits = [self._hit(hole) for hole in holes]
        event: Event = {"kind": "proof group", "purpose": purpose, **_target(PROOF_DISTANCE), "hits": hits}
        return [f"Your own group, {purpose}: {self._log(event)[0]}"]

    def _tear(self, setup: Setup, shaft: int) -> Event:
        self.shots += 1
        tail = self._place(self._world.tear(setup, shaft))
        return {"kind": "tear", "shaft": shaft, "state": "bare", "distance": "6 ft", "tail": tail}

    def _hit(self, hole: Hole) -> Event:
        hit: Event = {
            "shaft": hole.shaft,
            "state": "bare" if hole.bare else "fletched",
            "hole": self._place(hole.place),
        }
        if hole.bare:
            hit["nock_leans"] = self._lean(hole.lean)
        return hit

    def _lean(self, lean: Pair) -> str:
        """As a person reads a protractor: in whole degrees."""
        side, up = (round(value) for value in lean)
        parts = [f"{'left' if side * self._sign > 0 else 'right'} {abs(side)} deg"] if side else []
        parts += [f"{'high' if up > 0 else 'low'} {abs(up)} deg"] if up else []
        return ", ".join(parts) or "straight"

    def _place(self, place: Pair) -> str:
        return show_offset(place[0], place[1], self._hand, System.INCH)

    def _setup(self) -> Setup:
        from spinewright.workflow import bench

        return bench(self.path).now

    def _log(self, event: Event, *, sure: bool = False) -> list[str]:
        self._count += 1
        self._time += timedelta(minutes=1)
        logged: LoggedEvent = log_event(self.path, {"id": f"d{self._count}", "when": self._time, **event}, sure=sure)
        return [*logged.said, *logged.cautions, *logged.notices]

    @property
    def _sign(self) -> int:
        return round(self._hand.sideways_sign)


def _events_of(found: NextMove) -> list[Event]:
    """The events that log the move once it is done, as every program is told them."""
    move = cast("dict[str, object]", found.to_json()["move"])
    events = cast("list[Event]", move["events"])
    if not events:
        raise RuntimeError(f"the technician does not know how to do this: {move['words']}")
    return [dict(event) for event in events]


def _target(distance: float) -> Event:
    return {"distance": f"{distance / YARD:.0f} yd", "target": "fresh foam"}


def _sawn(intended: object) -> str:
    """What the rule says after the saw: to a hundredth of an inch."""
    return f"{parse(intended, Kind.LENGTH, field='length') / INCH:.2f} in"


def _flexed(shaft: int) -> Event:
    return {"kind": "flex check", "shaft": shaft, "sound": True}
