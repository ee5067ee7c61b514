"""One world played by one player: a job goes in, a plain record comes out, the same on any machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from benchmarks.virtual_range.adviser import THOROUGH, Adviser
from benchmarks.virtual_range.bench import Player
from benchmarks.virtual_range.hand_rule import HandRule
from benchmarks.virtual_range.hunt import MOST_STEPS, hunt
from benchmarks.virtual_range.reachable import best_gap, best_heads, best_mistakes
from benchmarks.virtual_range.without import Without, parts_to_leave_out
from benchmarks.virtual_range.world import World, WorldKind, draw_world
from spinewright.belief import BeliefSettings
from spinewright.units import INCH, Hand

__all__ = ["ADVISER", "HAND", "Job", "ablation_name", "jobs_for", "join", "play"]

Record = dict[str, Any]
HAND, ADVISER = "hand rule", "adviser"
#: How many worlds of each kind in a hundred and twenty.
_SHARES = {
    WorldKind.OPEN: 40,
    WorldKind.STEEP: 16,
    WorldKind.GENTLE: 16,
    WorldKind.NONE: 16,
    WorldKind.REVERSED: 16,
    WorldKind.WIDE: 16,
}


@dataclass(frozen=True, slots=True)
class Job:
    """One world and who plays it.

    ``players`` of HAND and ADVISER; ``parts`` are the ablations of the adviser to be played too; a hunt gives up after
    ``most_steps``; ``best`` asks with the hand rule for the best reachable in the world.
    """

    seed: int
    kind: WorldKind
    hand: Hand = Hand.RIGHT
    parts: tuple[Without, ...] = ()
    settings: BeliefSettings = THOROUGH
    most_steps: int = MOST_STEPS
    best: bool = True
    players: tuple[str, ...] = (HAND, ADVISER)

    @property
    def key(self) -> str:
        """What tells this job from every other; what only the adviser hangs on is left out of the hand rule's."""
        world = f"{self.kind.name}:{self.seed}:{self.hand.name}:{self.most_steps}"
        names = [*self.players, *sorted(p.name for p in self.parts)]
        s = self.settings
        settings = "" if names == [HAND] else f":{s.bows}:{s.particles}:{s.seed}"
        best = ":best" if self.best and HAND in self.players else ""
        return f"{world}:{'+'.join(names)}{best}{settings}"

    @property
    def by_hand(self) -> bool:
        """Whether nothing of the adviser is in the record."""
        return not (self.parts or ADVISER in self.players)

    def split(self) -> tuple[Job, ...]:
        """The same as jobs of one player each."""
        alone = [replace(self, players=(p,), parts=()) for p in self.players]
        return (*alone, *(replace(self, players=(), parts=(p,)) for p in self.parts))


def jobs_for(worlds: int, first_seed: int, ablated: int, settings: BeliefSettings = THOROUGH) -> list[Job]:
    """So many worlds, kinds in turn by their shares; the first ``ablated`` are played by every ablation too."""
    turns = [kind for k in range(max(_SHARES.values())) for kind, share in _SHARES.items() if _falls(k, share)]
    parts = parts_to_leave_out()
    return [
        Job(first_seed + k, turns[k % len(turns)], parts=parts if k < ablated else (), settings=settings)
        for k in range(worlds)
    ]


def _falls(k: int, share: int) -> bool:
    """Whether a kind with ``share`` is due at turn ``k`` of the largest share, spread evenly."""
    most = max(_SHARES.values())
    return k * share // most != (k + 1) * share // most


def ablation_name(part: Without) -> str:
    """What the adviser without a part is called."""
    return f"{ADVISER} without {part.value}"


def play(job: Job) -> Record:
    """The record of one world: every player's score and the best reachable there."""
    world = draw_world(job.seed, job.kind, job.hand)
    makers: dict[str, Player] = {HAND: HandRule(), ADVISER: Adviser(job.settings)}
    players = {name: makers[name] for name in job.players}
    for part in job.parts:
        players[ablation_name(part)] = Adviser(job.settings, part)
    asked = job.best and HAND in job.players
    return {
        "key": job.key,
        "seed": job.seed,
        "kind": job.kind.name,
        "hand": job.hand.name,
        "scatter": world.truth.shooter.scatter / INCH,
        "hidden": _hidden(world),
        "best_gap": best_gap(world) if asked else None,
        "best_heads": best_heads(world) if asked else None,
        "best_mistakes": best_mistakes(world) if asked else None,
        "scores": {name: hunt(world, player, job.most_steps).as_json() for name, player in players.items()},
    }


def join(records: Sequence[Record]) -> Record:
    """Records of one world, each of other players, as one."""
    joined = {**records[0], "scores": {}}
    for record in records:
        joined["scores"].update(record["scores"])
        joined.update({k: record[k] for k in ("best_gap", "best_heads", "best_mistakes") if record[k] is not None})
    return joined


def _hidden(world: World) -> dict[str, Any]:
    """What the stories tell of the world's secret."""
    answers, faults = world.truth.answers, world.truth.faults
    return {
        "too_weak": round(answers.too_weak / INCH, 2),
        "length": [round(float(v), 2) for v in -answers.length],  # inches the gap loses to the left per inch of cut
        "rest": [round(float(v) * 1e-3 / INCH, 2) for v in answers.rest],  # inches per millimetre
        "contact": bool(np.any(faults.contact)),
        "contact_seen": faults.powder_shows,
        "bow_wrong": faults.wrong_item,
        "lean_swapped": faults.lean_swapped,
        "target_turns": bool(np.any(faults.target_turn)),
        "rest_kind": str(world.start.bow.rest.kind),
        "stated_scatter": round(world.truth.shooter.stated / INCH, 2),
    }
