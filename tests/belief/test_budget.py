"""The one budget of a hunt for ending too short: what a cut adds, and what earlier cuts and points have spent."""

from __future__ import annotations

from dataclasses import replace

import pytest

from spinewright.advice.budget import added_risk, spent_so_far
from spinewright.belief import GAP_DISTANCE, BeliefSettings, Ground, Recall, believe, break_ground
from spinewright.equipment import Setup
from spinewright.evidence import History, Impact, Seen, TargetKind, Visit
from tests.belief.benches import INCH, bench_archer, bench_setup, bolts, cut, fresh_history

START = bench_setup()
LIGHTER = replace(START, build=replace(START.build, head=replace(START.build.head, mass=0.7 * START.build.head.mass)))
SHORTER = cut(START, 0.5)
LIGHT_SHORTER = replace(LIGHTER, build=cut(LIGHTER, 0.5).build)
OUT = bolts(START, -2.0)
ARCHER = bench_archer()
LATER = bolts(SHORTER, -1.0)
STIFFER = replace(START.build.shaft, static_spine=0.9 * START.build.shaft.static_spine)
OTHER = replace(START, build=replace(SHORTER.build, shaft=STIFFER))
SETUPS = (START, LIGHTER, SHORTER, LIGHT_SHORTER, OUT, LATER, OTHER)
SETTINGS = BeliefSettings(bows=80, particles=300, seed=5)


@pytest.fixture(scope="module")
def ground() -> Ground:
    return break_ground(_history((START,), ()), SETUPS, (), SETTINGS)


def _walk(gap: tuple[float, float]) -> Visit:
    impacts = []
    for k in range(4):
        impacts.append(Impact(1 + k, False, 0.2 * INCH * (-1) ** k, 0.0))
        impacts.append(Impact(11 + k % 2, True, (gap[0] + 0.2 * (-1) ** k) * INCH, gap[1] * INCH))
    return Visit(GAP_DISTANCE, TargetKind.BAG, tuple(impacts))


def _history(setups: tuple[Setup, ...], shot: tuple[tuple[Setup, tuple[float, float]], ...]) -> History:
    seen = tuple(Seen(setup, _walk(gap), f"e{k}") for k, (setup, gap) in enumerate(shot))
    return replace(fresh_history(START, 0.5 * INCH), now=setups[-1], setups=setups, seen=seen)


def _spent(ground: Ground, history: History) -> float:
    return spent_so_far(Recall(ground, history, ARCHER))


def test_what_can_be_put_back_does_not_hide_what_a_cut_adds(ground: Ground) -> None:
    belief = believe(ground, _history((START,), ()), ARCHER)
    alone = added_risk(belief, START, SHORTER)
    assert alone > 0.0
    # Computed: with the bolts out many plausible arrows read stiff already; the saw is what makes that last.
    assert added_risk(belief, OUT, SHORTER) == alone


def test_a_lighter_point_put_back_does_not_hide_a_later_cut(ground: Ground) -> None:
    straight = _history((START, SHORTER), ())
    detour = _history((START, LIGHTER, START, SHORTER), ())
    point = _spent(ground, _history((START, LIGHTER), ()))
    assert point > 0.0
    assert _spent(ground, detour) == pytest.approx(_spent(ground, straight) + point)


def test_the_same_point_changed_twice_is_counted_once(ground: Ground) -> None:
    once = _history((START, LIGHTER), ())
    again = _history((START, LIGHTER, START, LIGHTER), ())
    assert _spent(ground, again) == pytest.approx(_spent(ground, once))


def test_a_cut_is_judged_by_what_was_seen_before_it_even_when_it_was_never_shot_as_it_was_left(ground: Ground) -> None:
    before = (START, (-0.5, 0.0))
    unshot = _history((START, SHORTER, LATER), (before,))
    stiff = _history((START, SHORTER, LATER), (before, (LATER, (3.0, 1.5))))
    assert _spent(ground, stiff) == _spent(ground, unshot)


def test_another_shaft_is_no_cut(ground: Ground) -> None:
    assert _spent(ground, _history((START, OTHER), ())) == 0.0
