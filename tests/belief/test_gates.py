"""What the adviser refuses whatever it would be worth, and moves that the equipment does not allow at all."""

from __future__ import annotations

from dataclasses import replace

from spinewright.advice import Advice, MoveKind, Situation, advise, ground_for
from spinewright.belief import GAP_DISTANCE, BeliefSettings
from spinewright.equipment import Head, Setup
from spinewright.evidence import Impact, TargetKind, Visit
from tests.belief.benches import INCH, bench_archer, bench_setup, history_of

START = bench_setup()
QUICK = BeliefSettings(bows=60, particles=100, seed=4)


def _walk(gap: tuple[float, float], shots: int = 8) -> Visit:
    impacts = []
    for k in range(shots):
        side = 0.2 * INCH * (-1) ** (k // 2)
        impacts.append(Impact(1 + k, False, side, 0.0))
        impacts.append(Impact(11 + k % 2, True, gap[0] * INCH + side, gap[1] * INCH))
    return Visit(GAP_DISTANCE, TargetKind.BAG, tuple(impacts))


def _situation(setup: Setup, **changes: object) -> Situation:
    history = history_of(setup, [setup], [_walk((-4.0, -1.6))])
    base = Situation(bench_archer(), history, safe_length=setup.build.carbon_length - 2.5 * INCH)
    return replace(base, **changes)  # type: ignore[arg-type]  # the tests name real fields


def _advice(situation: Situation) -> Advice:
    return advise(situation, ground_for(situation, QUICK))


def test_an_arrow_that_is_too_light_already_is_never_made_lighter() -> None:
    bow = replace(START.bow, lightest_arrow=START.build.total_mass(bare=False) + 2e-3)
    lighter = Head(0.8 * START.build.head.mass, 0.02)
    advice = _advice(_situation(replace(START, bow=bow), heads_owned=(lighter,)))
    refused = {r.move.kind: r.reason for r in advice.refused}
    assert "not be safe" in refused[MoveKind.POINT]
    assert "not be safe" in refused[MoveKind.CUT]
    assert not any(w.move.kind in (MoveKind.POINT, MoveKind.CUT) for w in (advice.move, *advice.others))
