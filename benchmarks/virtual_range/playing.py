"""One world played by every player asked for: a job goes in, a plain record comes out, the same on any machine."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np

import spinewright
from benchmarks.virtual_range.adviser import QUICK, Adviser
from benchmarks.virtual_range.bench import Player
from benchmarks.virtual_range.hand_rule import HandRule
from benchmarks.virtual_range.hunt import MOST_STEPS, hunt
from benchmarks.virtual_range.without import Without
from benchmarks.virtual_range.world import World, WorldKind, draw_world
from spinewright.belief import BeliefSettings
from spinewright.errors import EquipmentError
from spinewright.units import INCH, Hand

__all__ = ["ADVISER", "HAND", "Job", "ablation_name", "jobs_for", "play", "source_mark"]

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
_REST_PLACES = (-0.8e-3, -0.4e-3, 0.0, 0.4e-3, 0.8e-3)


@dataclass(frozen=True, slots=True)
class Job:
    """One world and who plays it.

    ``parts`` are the ablations of the adviser to be played too; a hunt gives up after ``most_steps``;
    ``best`` asks for the best reachable in the world.
    """

    seed: int
    kind: WorldKind
    hand: Hand = Hand.RIGHT
    parts: tuple[Without, ...] = ()
    settings: BeliefSettings = QUICK
    most_steps: int = MOST_STEPS
    best: bool = True

    @property
    def key(self) -> str:
        """What tells this job from every other."""
        parts = "+".join(sorted(p.name for p in self.parts))
        s = self.settings
        return (
            f"{self.kind.name}:{self.seed}:{self.hand.name}:{parts}:{s.bows}:{s.particles}:{s.seed}:{self.most_steps}"
        )


def jobs_for(worlds: int, first_seed: int, ablated: int, settings: BeliefSettings = QUICK) -> list[Job]:
    """So many worlds, kinds in turn by their shares; the first ``ablated`` are played by every ablation too."""
    turns = [kind for k in range(max(_SHARES.values())) for kind, share in _SHARES.items() if _falls(k, share)]
    parts = tuple(p for p in Without if p is not Without.NOTHING)
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


def play(job: Job) -> dict[str, Any]:
    """The record of one world: every player's score and the best reachable there."""
    world = draw_world(job.seed, job.kind, job.hand)
    players: dict[str, Player] = {HAND: HandRule(), ADVISER: Adviser(job.settings)}
    for part in job.parts:
        players[ablation_name(part)] = Adviser(job.settings, part)
    return {
        "key": job.key,
        "seed": job.seed,
        "kind": job.kind.name,
        "hand": job.hand.name,
        "scatter": world.truth.shooter.scatter / INCH,
        "hidden": _hidden(world),
        "best_heads": _best_heads(world) if job.best else None,
        "scores": {name: hunt(world, player, job.most_steps).as_json() for name, player in players.items()},
    }


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


def _best_heads(world: World) -> float:
    """Least offset [in at 20 yd] of a fixed-blade head over lengths, points owned and five places of the rest."""
    start = world.start
    build = start.build
    room = max(build.carbon_length - world.safe_length, 0.0)
    cuts = np.arange(0.0, room + 1e-9, 0.5 * INCH)
    found = []
    for cut, head, rest in product(cuts, (build.head, *world.truth.heads), _REST_PLACES):
        throat, carbon = build.throat_length - float(cut), build.carbon_length - float(cut)
        try:
            setup = replace(
                start, build=replace(build, throat_length=throat, carbon_length=carbon, head=head), rest_y=rest
            )
        except EquipmentError:
            continue
        found.append(world.heads(setup))
    return min(found) / INCH


@lru_cache(maxsize=1)
def source_mark() -> str:
    """A short digest of the product's and the range's source, so that old records are never taken for new ones."""
    digest = hashlib.sha256()
    for root in (Path(spinewright.__file__).parent, Path(__file__).parent):
        for path in sorted(root.rglob("*.py")):
            digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()[:12]
