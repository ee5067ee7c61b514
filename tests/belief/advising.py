"""Walks, situations and advice that the tests of the adviser share; advice on one situation is worked out once."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from spinewright.advice import Advice, Move, Situation, advise, ground_for
from spinewright.belief import GAP_DISTANCE, BeliefSettings
from spinewright.evidence import History, Impact, TargetKind, Visit
from tests.belief.benches import INCH, bench_archer, bench_setup, bolts, history_of

START = bench_setup()
QUICK = BeliefSettings(bows=80, particles=150, seed=4)
SAFE = START.build.carbon_length - 2.5 * INCH


def walk(gap: tuple[float, float], *, shots: int = 4, spread: float = 0.3, bare_shafts: int = 2) -> Visit:
    """Bare holes about ``gap`` [in], fletched about the middle, scattered evenly by ``spread`` [in]."""
    impacts = []
    for k in range(shots):
        dy, dz = spread * np.cos(2.4 * k), spread * np.sin(2.4 * k)
        impacts.append(Impact(1 + k, False, dy * INCH, dz * INCH))
        impacts.append(Impact(11 + k % bare_shafts, True, (gap[0] + dy) * INCH, (gap[1] + dz) * INCH))
    return Visit(GAP_DISTANCE, TargetKind.BAG, tuple(impacts))


def situation_of(history: History, **changes: object) -> Situation:
    """The situation of the bench's archer, with the mark made and a whole afternoon, but for ``changes``."""
    base = Situation(bench_archer(), history, safe_length=SAFE)
    return replace(base, **changes)  # type: ignore[arg-type]  # the tests name real fields


@cache
def advice_on(situation: Situation) -> Advice:
    """The advice, with few bows and draws."""
    return advise(situation, ground_for(situation, QUICK))


def moves_of(advice: Advice) -> list[Move]:
    """Every move that was thought of: the chosen one, the others and those that are refused."""
    return [advice.move.move, *(w.move for w in advice.others), *(r.move for r in advice.refused)]


def checked_weak() -> History:
    """Weak, a bolt turn out brought it nearer as the trade expects: one prediction has been held against shots."""
    setups = (START, bolts(START, -1.0))
    return history_of(START, setups, [walk((-4.0, -1.6), shots=8), walk((-3.0, -1.2), shots=8)])


WEAK = history_of(START, [START], [walk((-4.0, -1.6), shots=8)])
TOUCHING = history_of(START, [START], [walk((0.1, 0.0), shots=10, spread=0.4)])
