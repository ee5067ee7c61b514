"""Moves of rest and nock point: sized from what was learnt, along both axes at once, within bounds, in plain words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from spinewright.advice import Advice, Move, MoveKind, weighing
from spinewright.advice.choosing import LIKELY_REST, _likely_enough
from spinewright.advice.gates import gate
from spinewright.advice.moves import REST_STEPS, STRAY, STRAY_HEIGHT, in_clicks, nock_point_move, rest_move
from spinewright.advice.phrases import Style, move_phrase, put_back_phrase
from spinewright.advice.trimming import TRIM_SHOWS, Lines, _within
from spinewright.advice.weighing import TIRING, TRIMS, work_left
from spinewright.equipment import RestKind, Setup
from spinewright.evidence import TargetKind
from spinewright.units import Hand, System
from tests.belief.advising import START, WEAK, advice_on, moves_of, situation_of, walk
from tests.belief.benches import INCH, bolts, history_of, moved_rest

CLICK = START.bow.rest.per_click_sideways or 0.0
SITUATION = situation_of(WEAK)


@pytest.fixture(scope="module")
def weak() -> Advice:
    return advice_on(SITUATION)


@pytest.fixture(scope="module")
def lines(weak: Advice) -> Lines:
    return Lines(weak.belief, SITUATION)


def _both(sideways: float, up: float) -> Move:
    move = rest_move(START, sideways * INCH, up * INCH)
    assert move is not None
    return move


def test_the_rest_is_offered_along_either_axis_and_both_at_once(weak: Advice) -> None:
    kinds = {m.kind for m in moves_of(weak)}
    assert {MoveKind.REST_SIDEWAYS, MoveKind.REST_HEIGHT, MoveKind.REST_BOTH, MoveKind.NOCK_POINT} <= kinds
    for move in moves_of(weak):
        if move.kind in TRIMS - {MoveKind.NOCK_POINT} and move.after is not None:
            clicks = np.array([move.after.rest_y - START.rest_y, move.after.rest_z - START.rest_z]) / CLICK
            assert np.allclose(clicks, np.round(clicks), atol=1e-6)
            assert move.after.nock_z == START.nock_z


def test_the_size_of_a_trim_leaves_least_work_of_all_sizes(weak: Advice, lines: Lines) -> None:
    def left(setup: Setup) -> float:
        # Computed: the mean minutes over the draws, along the straight line that the physics and the belief follow.
        gap = lines.here + (setup.rest_y - START.rest_y) * lines.rest_y + (setup.rest_z - START.rest_z) * lines.rest_z
        return float(np.mean(work_left(gap, SITUATION.aim)))

    [both] = [m for m in moves_of(weak) if m.kind is MoveKind.REST_BOTH]
    [sideways] = {m for m in moves_of(weak) if m.kind is MoveKind.REST_SIDEWAYS and m.amount * both.amount > 0}
    assert both.after is not None
    assert sideways.after is not None
    assert left(both.after) < left(START)
    for setup, place in ((both.after, "rest_y"), (both.after, "rest_z"), (sideways.after, "rest_y")):
        for more in (-3 * CLICK, 3 * CLICK):
            moved = getattr(setup, place) - getattr(START, place) + more
            if 2 * CLICK <= abs(moved) <= INCH / 16:
                near = replace(setup, **{place: getattr(setup, place) + more})
                assert left(near) > left(setup) - 1.0


def test_near_its_limit_the_rest_is_offered_what_is_left_of_the_way() -> None:
    """The best size of all would stray; a smaller one that still shows is offered instead of nothing."""
    far = moved_rest(START, 0.07)
    walks = [walk((-8.0, -0.2), shots=6), walk((-5.0, -0.2), shots=6)]
    situation = situation_of(history_of(START, [START, far], walks))
    offered = [m.after for m in moves_of(advice_on(situation)) if m.kind is MoveKind.REST_SIDEWAYS]
    left = [after.rest_y - START.rest_y for after in offered if after is not None and after.rest_y > far.rest_y]
    assert left
    # Computed: 0.07 in and the next size that is thought of, 0.062 in, would be 0.132.
    assert max(left) <= STRAY[situation.purpose] < 0.132 * INCH


def test_sizes_stay_within_the_bound_and_the_least_is_kept_to_be_told_why_not() -> None:
    sizes = (1.0, 2.0, 3.0, -1.0, -2.0, -3.0)
    assert _within(sizes, 0.0, 2.0) == (1.0, 2.0, -1.0, -2.0)
    assert _within(sizes, 1.5, 2.0) == (1.0, -1.0, -2.0, -3.0)
    assert _within(sizes, 5.0, 2.0) == (1.0, -1.0, -2.0, -3.0)


def test_what_may_follow_is_of_a_size_that_can_be_moved_now() -> None:
    for step in weighing.FOLLOWING:
        assert step == 0.0 or min(abs(abs(step) - size) for size in REST_STEPS) < 0.5e-3 * INCH
    assert weighing._following(0.43e-3, 0.0, 1.0e-3) == [-0.86e-3, -0.43e-3, 0.0, 0.43e-3, 0.86e-3]


def test_a_trim_is_worth_no_less_made_now_than_put_off_for_another_walk(lines: Lines) -> None:
    """Computed: the same trim as a move and as what follows a walk lead to the same gaps, draw for draw."""
    ahead = weighing._Ahead(SITUATION, lines, [], np.random.default_rng(1))
    step = in_clicks(weighing.FOLLOWING[-3], CLICK)
    move = rest_move(START, step, 0.0)
    assert move is not None
    after = move.after
    assert after is not None
    options = ahead._trim  # (T, S, 2)
    now = ahead.landed(move).gap - ahead.here.gap
    assert np.min(np.max(np.abs(options - now), axis=(1, 2))) < 1e-9
    assert np.std(lines.gap(after) - lines.straight(after)) > 1e-4, "what is told carries the doubt all the same"


def test_a_trim_that_does_not_show_is_not_offered(weak: Advice, lines: Lines) -> None:
    shown = [m for m in moves_of(weak) if m.kind in TRIMS and m.after is not None]
    assert shown
    for move in shown:
        assert move.after is not None
        assert np.median(np.hypot(*(lines.gap(move.after) - lines.here).T)) > TRIM_SHOWS
    still = replace(START, rest_y=START.rest_y + 0.2 * CLICK)
    assert np.median(np.hypot(*(lines.gap(still) - lines.here).T)) < TRIM_SHOWS


def test_a_probe_is_offered_where_nobody_knows_which_way_the_rest_answers() -> None:
    # Bare well apart, yet standing straight: either way of the rest is about as likely (common practice: try one, and
    # the other when it gets worse), so in the mean over the draws no move is best.
    holes = walk((-2.2, 0.0), shots=8)
    upright = tuple(replace(i, lean_y=0.0) if i.bare else i for i in holes.impacts)
    straight = replace(holes, target=TargetKind.FRESH_FOAM, impacts=upright)
    apart = situation_of(history_of(START, [START], [straight]))
    advice = advice_on(apart)
    learnt = Lines(advice.belief, apart)
    assert 0.1 < np.mean(learnt.rest_y[:, 0] > 0.0) < 0.9
    ways = {np.sign(m.amount) for m in moves_of(advice) if m.kind is MoveKind.REST_SIDEWAYS}
    assert ways == {-1.0, 1.0}


def test_what_a_move_of_the_rest_does_is_linear_but_less_sure_the_further(lines: Lines) -> None:
    near, far = (replace(START, rest_y=k * 0.25e-3) for k in (1.0, 4.0))
    straight = [lines.here + s.rest_y * lines.rest_y for s in (near, far)]
    doubts = [float(np.std(lines.gap(s) - line)) for s, line in zip((near, far), straight, strict=True)]
    assert doubts[1] > 2 * doubts[0] > 0.0
    # Computed: what it strays from the straight line is one chance of each draw, four times as large four times as far.
    off_near, off_far = (lines.gap(s) - line for s, line in zip((near, far), straight, strict=True))
    assert np.allclose(off_far, 4 * off_near, atol=1e-12)
    assert abs(float(np.mean(off_far / np.std(off_far)))) < 4 / np.sqrt(off_far.size)


def test_without_known_clicks_the_rest_is_moved_by_length_alone() -> None:
    rest = replace(START.bow.rest, per_click_sideways=None, per_click_height=None)
    plain = replace(START, bow=replace(START.bow, rest=rest))
    move = rest_move(plain, INCH / 64, -INCH / 32)
    assert move is not None
    told = move_phrase(move, plain, Style(Hand.RIGHT, System.INCH))
    assert told == "Move the rest 1/64 in to the left and lower it by 1/32 in."


@pytest.mark.parametrize("kind", RestKind)
def test_the_nock_point_may_be_moved_with_any_rest(kind: RestKind) -> None:
    if kind is START.bow.rest.kind:
        start, situation = START, SITUATION
    else:
        drops = START.bow.rest.drops_after if kind is RestKind.DROP_AWAY else None
        start = replace(START, bow=replace(START.bow, rest=replace(START.bow.rest, kind=kind, drops_after=drops)))
        situation = situation_of(history_of(start, [start], [walk((-4.0, -1.6), shots=8)]))
    lifts = [m for m in moves_of(advice_on(situation)) if m.kind is MoveKind.NOCK_POINT]
    assert lifts
    assert all(m.after == replace(start, nock_z=m.amount) for m in lifts)
    lift = nock_point_move(start, INCH / 32)
    assert lift is not None
    style = Style(Hand.LEFT, System.INCH)
    assert move_phrase(lift, start, style) == "Raise the nock point by 1/32 in."
    assert put_back_phrase(lift, start, style) == "To put it back: lower the nock point by 1/32 in."


def test_both_axes_are_told_in_one_sentence_and_put_back() -> None:
    move = _both(0.016, -0.032)
    style = Style(Hand.RIGHT, System.INCH)
    assert move_phrase(move, START, style) == (
        "Move the rest about 1/64 in to the left (8 clicks) and lower it by about 1/32 in (16 clicks)."
    )
    assert put_back_phrase(move, START, style) == (
        "To put it back: move the rest about 1/64 in to the right (8 clicks); raise the rest by about 1/32 in "
        "(16 clicks)."
    )
    metric = Style(Hand.RIGHT, System.METRIC)
    assert move_phrase(move, START, metric) == (
        "Move the rest 0.41 mm to the left (8 clicks) and lower it by 0.81 mm (16 clicks)."
    )


def test_a_left_hander_reads_both_axes_as_the_mirror_image() -> None:
    move = _both(0.016, 0.032)
    right, left = (move_phrase(move, START, Style(hand, System.INCH)) for hand in (Hand.RIGHT, Hand.LEFT))
    assert "to the left (8 clicks) and raise it" in right
    assert left == right.replace("to the left", "to the right")
    back = put_back_phrase(move, START, Style(Hand.LEFT, System.INCH))
    assert back.startswith("To put it back: move the rest about 1/64 in to the left")
    assert "lower the rest" in back


@pytest.mark.parametrize(
    ("turns", "told"),
    [(0.25, "a quarter turn in"), (-0.25, "a quarter turn out"), (0.5, "half a turn in"), (-1.0, "one turn out")],
)
def test_limb_bolts_are_turned_in_words(turns: float, told: str) -> None:
    style = Style(Hand.RIGHT, System.INCH)
    move = Move(MoveKind.BOLTS, bolts(START, turns), turns, 14.0)
    assert move_phrase(move, START, style) == f"Turn both limb bolts {told}, exactly alike, and weigh the bow again."
    other = told.replace(" in", "#").replace(" out", " in").replace("#", " out")
    assert f"turn both limb bolts {other}" in put_back_phrase(move, START, style)


def test_a_quarter_turn_of_the_bolts_is_among_the_moves(weak: Advice) -> None:
    assert {m.amount for m in moves_of(weak) if m.kind is MoveKind.BOLTS} == {0.25, -0.25, 0.5, -0.5, 1.0, -1.0}


def _moves_in_height(way: float) -> Iterator[tuple[str, Move]]:
    for place, kind in (("rest_z", MoveKind.REST_HEIGHT), ("nock_z", MoveKind.NOCK_POINT)):
        after = replace(START, **{place: getattr(START, place) + way})
        yield place, Move(kind, after, way, 8.0)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_rest_and_nock_point_each_stay_within_their_bounds_in_height(weak: Advice, lines: Lines, sign: float) -> None:
    # 3/16 in: from memory, see STRAY_HEIGHT
    assert pytest.approx(3 * INCH / 16) == STRAY_HEIGHT
    for _, allowed in _moves_in_height(sign * 0.98 * STRAY_HEIGHT):
        assert gate(allowed, SITUATION, weak.diagnosis, lines) == ""
    for place, stray in _moves_in_height(sign * 1.02 * STRAY_HEIGHT):
        assert "stray too far from the height" in gate(stray, SITUATION, weak.diagnosis, lines)
        # ... but from further out still it is the way home
        assert stray.after is not None
        out = replace(START, **{place: getattr(START, place) + sign * INCH / 4})
        strayed = replace(SITUATION, history=replace(WEAK, now=out))
        assert gate(stray, strayed, weak.diagnosis, lines) == ""


def test_the_height_of_one_does_not_count_against_the_other(weak: Advice, lines: Lines) -> None:
    lowered = replace(START, rest_z=START.rest_z - 0.1 * INCH)
    situation = replace(SITUATION, history=replace(WEAK, now=lowered))
    move = nock_point_move(lowered, 0.1 * INCH)
    assert move is not None
    assert gate(move, situation, weak.diagnosis, lines) == ""


def test_a_setup_tried_twice_is_not_offered_again(weak: Advice, lines: Lines) -> None:
    move = next(m for m in moves_of(weak) if m.kind is MoveKind.BOLTS and m.amount == -0.5)
    assert move.after is not None
    for tried, reason in ((1, ""), (2, "it was tried twice already")):
        setups = (START, *((move.after, START) * tried))
        situation = replace(SITUATION, history=replace(WEAK, setups=setups))
        assert gate(move, situation, weak.diagnosis, lines) == reason


@pytest.mark.parametrize("thousandths", [3.5, 4.5, 8.5, 10.5, 16.0])
def test_there_and_back_are_told_as_the_same_lengths(thousandths: float) -> None:
    # half a thousandth is rounded up or down by the last digit, so both ways have to start from the same number
    moved = replace(START, rest_y=0.0063 * INCH, rest_z=-0.0063 * INCH)
    move = rest_move(moved, thousandths * INCH / 1000, -thousandths * INCH / 1000)
    assert move is not None
    style = Style(Hand.RIGHT, System.INCH)
    lengths = [re.findall(r"[\d./]+ in\b", text) for text in (
        move_phrase(move, moved, style), put_back_phrase(move, moved, style),
    )]  # fmt: skip
    assert lengths[0] == lengths[1]
    assert len(lengths[0]) == 2


def test_an_even_chance_is_enough_for_the_rest_alone() -> None:
    # common practice: where the shafts stand straight, either way of the rest may have to be tried
    better = next(w for w in (advice_on(SITUATION).move, *advice_on(SITUATION).others) if w.move.after is not None)
    chance = replace(better, better=LIKELY_REST + 0.01)
    assert _likely_enough(replace(chance, move=_both(0.016, 0.016)))
    assert not _likely_enough(replace(chance, move=Move(MoveKind.BOLTS, bolts(START, 0.5), 0.5, 14.0)))
    assert not _likely_enough(replace(chance, better=0.55, move=Move(MoveKind.CUT, START, -0.5, 18.0, "", "for good")))


def test_one_move_is_looked_ahead() -> None:
    assert weighing.LOOK_AHEAD == 1


@pytest.mark.parametrize("looks", [0, 1, 2])
def test_however_far_is_looked_worths_are_finite(monkeypatch: pytest.MonkeyPatch, looks: int) -> None:
    monkeypatch.setattr(weighing, "LOOK_AHEAD", looks)
    advice = advice_on.__wrapped__(SITUATION)
    weighed = [advice.move, *advice.others]
    assert np.all(np.isfinite([w.worth for w in weighed]))
    shooting = {w.move.amount: w for w in weighed if w.move.kind is MoveKind.SHOOT}
    if looks == 0:  # Computed: without a look ahead shots change nothing, so they are worth what they cost
        arrows = {n: w.move.amount + w.move.fletched for n, w in shooting.items()}
        assert all(w.worth == pytest.approx(-w.move.minutes - TIRING * arrows[n]) for n, w in shooting.items())
    else:
        assert all(w.worth > -w.move.minutes for w in shooting.values())
