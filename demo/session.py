"""Plays one whole session for one hand: asks for the next move, has it done, until there is nothing left to do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from demo.hidden_truth import HiddenTruth, Pair, World
from demo.invented_bench import session_text
from demo.technician import ENDS, Technician
from spinewright.advice import MoveKind
from spinewright.units import Hand
from spinewright.workflow import NextMove, bench, next_move, settings_for

__all__ = ["MOST_STEPS", "Played", "play"]

MOST_STEPS = 20
SEED = 11
#: Plausible bows that are thought through: as many as the "next" command takes.
BOWS = 500

Told = Callable[[int, NextMove], None]
Done = Callable[[list[str]], None]


@dataclass(frozen=True, slots=True)
class Played:
    """A session that was played: its file, the advice of every step, arrows shot, and the true gaps [m at 20 yd]."""

    path: Path
    steps: tuple[NextMove, ...]
    shots: int
    gap_before: Pair
    gap_after: Pair
    proof: tuple[str, ...]


def play(path: Path, hand: Hand, told: Told, done: Done) -> Played:
    """Plays the session in a fresh file at ``path``; ``told`` hears every advice and ``done`` what was done about it.

    Raises RuntimeError when the session does not end within ``MOST_STEPS``.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(session_text(hand), encoding="utf-8")
    start = bench(path).now
    world = World(HiddenTruth(), start, np.random.default_rng(SEED))
    technician = Technician(path, hand, world)
    steps: list[NextMove] = []
    while True:
        found = next_move(path, settings=settings_for(bows=BOWS))
        steps.append(found)
        told(len(steps), found)
        if found.advice.move.move.kind in ENDS:
            break
        if len(steps) == MOST_STEPS:
            raise RuntimeError(f"the session did not end within {MOST_STEPS} steps")
        done(technician.do(found))
    good = technician.mark_good() if steps[-1].advice.move.move.kind is MoveKind.STOP else []
    done([*good, *technician.prove()])
    now = bench(path).now
    return Played(
        path=path,
        steps=tuple(steps),
        shots=technician.shots,
        gap_before=world.gap(start),
        gap_after=world.gap(now),
        proof=_proof(path),
    )


def _proof(path: Path) -> tuple[str, ...]:
    from spinewright.workflow import sheet

    return sheet(path).proof
