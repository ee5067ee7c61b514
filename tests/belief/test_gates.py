"""What the adviser refuses whatever it would be worth, and moves that the equipment does not allow at all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from spinewright.advice import Advice, MoveKind, Situation, advise, candidate_moves, gates, ground_for
from spinewright.advice.gates import TOO_WIDE, gate
from spinewright.advice.moves import REST_STEPS, nock_point_move, probes, rest_move, rest_sizes
from spinewright.advice.phrases import Style, move_phrase
from spinewright.advice.trimming import Lines
from spinewright.belief import GAP_DISTANCE, BeliefSettings
from spinewright.equipment import Head, LimitKind, LimitState, Setup, safety_limits
from spinewright.equipment.limits import REACH_MARGIN
from spinewright.evidence import Impact, TargetKind, Visit
from spinewright.units import Hand, Kind, System, parse
from tests.belief.advising import moves_of
from tests.belief.benches import INCH, bench_archer, bench_setup, history_of

START = bench_setup()
QUICK = BeliefSettings(bows=60, particles=100, seed=4)


def _walk(gap: tuple[float, float], shots: int = 8) -> Visit:
    impacts = []
    for k in range(shots):
        side = 0.2 * INCH * (-1) ** (k // 2)
        impacts.append(Impact(1 + k % 12, False, side, 0.0))
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


def test_the_mark_at_full_draw_decides_over_the_computed_shortest_length() -> None:
    # A bow that draws so long that half an inch off would break the computed length by a hair.
    spare = START.build.throat_length - (START.rest_reach + REACH_MARGIN)
    longer = replace(START, bow=replace(START.bow, draw_length=START.bow.draw_length + spare - 0.01 * INCH))
    limits = {one.what: one.state for one in safety_limits(longer)}
    assert limits[LimitKind.SHORTEST_LENGTH] is LimitState.KEPT
    marked = _situation(longer)
    advice = _advice(marked)
    lines = Lines(advice.belief, marked)
    [cut] = [
        m
        for m in moves_of(advice)
        if m.kind is MoveKind.CUT
        and m.amount == -0.5 * INCH
        and m.after is not None
        and m.after.bolt_turns == longer.bolt_turns
        and m.after.rest_y == longer.rest_y
    ]
    assert "shortest length" not in gate(cut, marked, advice.diagnosis, lines)
    assert "not be safe (shortest length)" in gate(cut, replace(marked, safe_length=None), advice.diagnosis, lines)


def test_no_shaft_is_cut_while_the_scatter_may_be_too_large_for_the_test() -> None:
    advice = _advice(_situation(START))
    lines = Lines(advice.belief, _situation(START))
    cut = next(m for m in moves_of(advice) if m.kind is MoveKind.CUT)
    middle, low, _ = advice.diagnosis.scatter
    # Computed: 1.65 in is the one-axis sd at which twelve of each tell the gap to an inch either way.
    for high, refused in ((1.6, False), (1.7, True)):
        told = replace(advice.diagnosis, scatter=(middle, low, high * INCH), checked=None)
        reasons = set(gates._reasons(cut, _situation(START), told, lines))
        assert (TOO_WIDE in reasons) is refused
        assert gate(cut, _situation(START), told, lines, ahead=True) == "", "shots may still show it"


def test_moves_that_the_equipment_does_not_allow_are_left_out() -> None:
    # Computed from the plausible ranges: 8 to 100 lb of peak weight, 25 mm of rest.
    for weight, way in (("8.5 lb", 1.0), ("99.5 lb", -1.0)):
        bow = replace(START.bow, peak_weight=parse(weight, Kind.FORCE), speeds=())
        turns = [m.amount for m in candidate_moves(_situation(replace(START, bow=bow))) if m.kind is MoveKind.BOLTS]
        assert turns
        assert all(turn * way > 0 for turn in turns)
    aside = replace(START, rest_y=24.9e-3)
    assert rest_move(aside, 0.2e-3, 0.0) is None
    assert rest_move(aside, 0.2e-3, -0.2e-3) is None
    assert rest_move(aside, -0.2e-3, 0.0) is not None
    assert nock_point_move(replace(START, nock_z=24.9e-3), 0.2e-3) is None
    # what is tried for the rest's answer stays within reach as well
    assert [step < 0 for _, step in probes(aside)] == [True, False, False]
    advice = _advice(_situation(aside))
    moved = [m for m in moves_of(advice) if m.kind in (MoveKind.REST_SIDEWAYS, MoveKind.REST_BOTH)]
    assert moved
    assert all(m.after is not None and m.after.rest_y <= 25e-3 for m in moved)


def test_coarse_clicks_make_each_move_once() -> None:
    rest = replace(START.bow.rest, per_click_sideways=1.6e-3, per_click_height=1.6e-3)
    coarse = replace(START, bow=replace(START.bow, rest=rest))
    assert rest_sizes(coarse) == ((1.6e-3, -1.6e-3), (1.6e-3, -1.6e-3))
    moves = moves_of(_advice(_situation(coarse)))
    assert len(moves) == len(set(moves))
    assert {abs(m.amount) for m in moves if m.kind is MoveKind.REST_SIDEWAYS} <= {1.6e-3}
    # without clicks every wish stands as it is
    stepless = replace(rest, per_click_sideways=None, per_click_height=None)
    sizes = rest_sizes(replace(START, bow=replace(START.bow, rest=stepless)))[0]
    assert sizes == (*REST_STEPS, *(-step for step in REST_STEPS))


def test_another_shaft_comes_with_its_nocks_unturned() -> None:
    other = replace(START.build.shaft, static_spine=0.9 * START.build.shaft.static_spine)
    situation = _situation(replace(START, nock_angle=1.0), shafts_owned=(other,))
    after = [m.after for m in candidate_moves(situation) if m.kind is MoveKind.OTHER_SHAFT]
    assert [s.nock_angle for s in after if s is not None] == [0.0]


def test_shafts_that_were_shot_before_can_be_gone_back_to_as_they_are() -> None:
    stiffer = replace(START.build.shaft, static_spine=0.8 * START.build.shaft.static_spine)
    cut = replace(
        START,
        nock_angle=0.5,
        build=replace(
            START.build,
            throat_length=START.build.throat_length - 0.5 * INCH,
            carbon_length=START.build.carbon_length - 0.5 * INCH,
        ),
    )
    other = replace(START, build=replace(START.build, shaft=stiffer))
    history = history_of(other, (START, cut, other), [_walk((-4.0, -1.6)), _walk((-3.0, -1.6)), _walk((5.0, 1.6))])
    [back] = [m for m in candidate_moves(_situation(START, history=history)) if m.kind is MoveKind.OTHER_SHAFT]
    assert back.after == cut
    assert back.amount > 0
    assert not back.parts
    told = move_phrase(back, other, Style(Hand.RIGHT, System.INCH))
    assert told.startswith("Go back to the shafts of ")


def _odd_walks() -> dict[str, Visit]:
    walk = _walk((-4.0, -1.6))
    bad = replace(walk, impacts=tuple(replace(i, called_bad=True) for i in walk.impacts))
    return {
        "all called bad": bad,
        "one bare shot": replace(walk, impacts=(Impact(11, True, 0.0, 0.0),)),
        "one of each": replace(walk, impacts=walk.impacts[:2]),
        "a gap of metres": _walk((-100.0, -60.0)),
        "at the nearest distance": replace(walk, distance=1.5),
        "at the farthest distance": replace(walk, distance=100.0),
        "ten thousand shots": _walk((-4.0, -1.6), shots=5000),
    }


@pytest.mark.parametrize("name", _odd_walks())
def test_any_history_gets_one_move_and_finite_numbers(name: str) -> None:
    walk = _odd_walks()[name]
    situation = _situation(START)
    history = history_of(START, [START], [walk])
    advice = _advice(replace(situation, history=history, distance=walk.distance))
    numbers = [
        *advice.move.gap.middle,
        advice.move.worth,
        advice.spent,
        *advice.diagnosis.weak_by,
        *(w.worth for w in advice.others),
        *(share.probability for share in advice.diagnosis.causes),
    ]
    assert np.all(np.isfinite(numbers))
    assert advice.move.move.kind is not MoveKind.CUT
