"""One hunt: a player acts until it stops or the day is over; then the truth is looked at."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from benchmarks.virtual_range.bench import Act, Bench, Choice, Player
from benchmarks.virtual_range.world import Condition, World
from spinewright.equipment import Setup
from spinewright.units import INCH

__all__ = ["MOST_ARROWS", "MOST_STEPS", "Score", "hunt"]

MOST_STEPS = 60
MOST_ARROWS = 200
GOOD = 1.0  # in at 20 yd
_FIXED = Condition(False, False)


@dataclass(frozen=True, slots=True)
class Score:
    """What a hunt used and left; inches at 20 yd.

    said        how it ended: 'tuned', 'archer', 'out of reach', 'gave up' ...
    gap, spine_gap  true ones at the end, as shot that day (hidden contact included)
    heads       what a fixed-blade head would be off; heads_start the same at the start
    mistakes    how far the archer's own stated mistakes move a fletched hit; mistakes_start the same at the start
    too_short   shortened or lightened past the point of touching, by more than an inch for the arrow's own sake
    arrow_changed  cut, taken for another shaft at hand, or sent for one
    covers, cut_covers  [stage, 1 or 0 for each plane]: stated 80 % intervals held against the truth
    steps       what was seen, believed and done, for the stories
    """

    said: str
    arrows: int
    minutes: float
    cuts: int
    vanes: int
    shafts: int
    changes: int
    gap: float
    spine_gap: float
    start_gap: float
    heads: float
    heads_start: float
    mistakes: float
    mistakes_start: float
    too_short: bool
    arrow_changed: bool
    covers: list[list[int]] = field(default_factory=list)
    cut_covers: list[list[int]] = field(default_factory=list)
    steps: list[dict[str, Any]] = field(default_factory=list)

    def as_json(self) -> dict[str, Any]:
        """Plain numbers and lists."""
        return asdict(self)


def hunt(world: World, player: Player, most_steps: int = MOST_STEPS) -> Score:
    """Play one hunt in a fresh copy of the bench; whoever has not stopped after ``most_steps`` acts gives up."""
    bench = Bench.fresh(world)
    books = _Books()
    said = "gave up"
    for _ in range(most_steps):
        choice = player.choose(bench)
        books.write(bench, choice)
        if choice.act is Act.STOP:
            said = choice.why
            break
        if bench.arrows >= MOST_ARROWS:
            break
        bench.act(choice)
    return _score(bench, books, said)


@dataclass
class _Books:
    """The record of a hunt while it runs."""

    covers: list[list[int]] = field(default_factory=list)
    cut_covers: list[list[int]] = field(default_factory=list)
    steps: list[dict[str, Any]] = field(default_factory=list)

    def write(self, bench: Bench, choice: Choice) -> None:
        notes = dict(choice.notes)
        cut = notes.pop("cut_setup", None)
        if choice.act is Act.CHANGE and choice.after is not None:
            if "forecast" in notes:
                self.covers.append(_held(bench, choice.after, notes))
            if cut is not None:
                self.cut_covers.append(_held(bench, cut, {**notes, "forecast": notes["cut_forecast"]}))
        notes.pop("cut_forecast", None)
        if "forecast" in notes:
            notes["forecast"] = [[round(v / INCH, 2) for v in side] for side in notes["forecast"]]
        true = bench.world.gap(bench.now, bench.condition) / INCH
        self.steps.append(
            {
                "act": str(choice.act),
                "why": choice.why,
                "amount": choice.amount,
                "distance": choice.distance,
                "setup": _words(bench.now, bench.world.start),
                "to": None if choice.after is None else _words(choice.after, bench.world.start),
                "true": [round(float(v), 2) for v in true],
                **notes,
            }
        )


def _held(bench: Bench, setup: Setup, notes: dict[str, Any]) -> list[int]:
    """[stage, sideways held, height held] of a stated interval."""
    low, high = notes["forecast"]
    true = bench.world.gap(setup, bench.condition)
    return [int(notes["stage"]), *(int(low[k] <= true[k] <= high[k]) for k in range(2))]


def _words(setup: Setup, start: Setup) -> dict[str, float]:
    """How a setup differs from the start, inches, grains and turns."""
    found = {
        "cut": (start.build.carbon_length - setup.build.carbon_length) / INCH,
        "point": (setup.build.head.mass - start.build.head.mass) / 64.79891e-6,
        "spine": (setup.build.shaft.static_spine - start.build.shaft.static_spine) / INCH,
        "bolts": setup.bolt_turns - start.bolt_turns,
        "rest_y": (setup.rest_y - start.rest_y) / INCH,
        "rest_z": (setup.rest_z - start.rest_z) / INCH,
        "nock_z": (setup.nock_z - start.nock_z) / INCH,
        "turned": float(np.rad2deg(setup.nock_angle - start.nock_angle)),
    }
    return {k: round(v, 4) for k, v in found.items() if abs(v) > 1e-6}


def _score(bench: Bench, books: _Books, said: str) -> Score:
    world, now, start = bench.world, bench.now, bench.world.start
    gap = float(np.hypot(*world.gap(now, bench.condition))) / INCH
    cuts, others = bench.cuts, bench.other_shafts
    other = said == "out of reach"
    return Score(
        said=said,
        arrows=bench.arrows,
        minutes=round(bench.minutes, 1),
        cuts=cuts,
        vanes=9 * (cuts + others),  # three fletched test shafts are fletched anew after a cut of the back
        shafts=bench.fresh_shafts + 3 * others + (5 if other else 0),
        changes=len(bench.history.setups) - 1,
        gap=gap,
        spine_gap=float(np.hypot(*world.spine_gap(now, bench.condition))) / INCH,
        start_gap=float(np.hypot(*world.gap(start, bench.condition))) / INCH,
        heads=world.heads(now, _FIXED) / INCH,
        heads_start=world.heads(start, _FIXED) / INCH,
        mistakes=world.mistakes(now) / INCH,
        mistakes_start=world.mistakes(start) / INCH,
        too_short=_too_short(world, now),
        arrow_changed=cuts + others > 0 or other,
        covers=books.covers,
        cut_covers=books.cut_covers,
        steps=books.steps,
    )


def _too_short(world: World, now: Setup) -> bool:
    """Shortened or lightened, too stiff by more than an inch on the target, and the hunt's own doing."""
    start = world.start
    shorter = now.build.carbon_length < start.build.carbon_length - 1e-6
    lighter = now.build.head.mass < start.build.head.mass - 1e-6
    by, part = world.too_stiff(now)
    was_by, was = world.too_stiff(start)
    own = was_by <= 0.0 or part > was + 0.5 * INCH
    return (shorter or lighter) and by > 0.0 and part > INCH and own
