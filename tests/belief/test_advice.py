"""The adviser keeps its gates: what may never be proposed, what comes first, and what its sentences say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from spinewright.advice import Advice, Move, MoveKind, Refused, Situation, advise, explain, ground_for, shots_to_know
from spinewright.advice.budget import added_risk
from spinewright.advice.choosing import _nothing_else, candidate_moves
from spinewright.advice.gates import FAILED, HIDES, gate
from spinewright.advice.moves import rest_move
from spinewright.advice.phrases import Style, move_phrase
from spinewright.advice.trimming import Lines
from spinewright.advice.weighing import GOOD_GAP, judge, too_short, weigh, work_left
from spinewright.belief import FURTHER_SD, GAP_DISTANCE, Cause, CauseShare, believe
from spinewright.equipment import Head, HeadKind, Purpose, Setup, TimeAtHand
from spinewright.evidence import NockReading, NockSeries, Seen, Tear
from spinewright.units import Hand, System
from tests.belief.advising import QUICK, START, WEAK, advice_on, checked_weak, moves_of, situation_of, walk
from tests.belief.benches import (
    BOW_CHECK,
    CONTACT_CHECK,
    INCH,
    bench_archer,
    bolts,
    cut,
    fresh_history,
    history_of,
    moved_rest,
)


def _kinds_refused(advice: Advice) -> dict[MoveKind, list[str]]:
    found: dict[MoveKind, list[str]] = {}
    for refused in advice.refused:
        found.setdefault(refused.move.kind, []).append(refused.reason)
    return found


def test_an_unchecked_bow_is_checked_first() -> None:
    advice = advice_on(situation_of(replace(fresh_history(START), bow_check=None)))
    assert advice.move.move.kind is MoveKind.CHECK_BOW


def test_a_bow_found_wrong_goes_to_a_technician() -> None:
    history = replace(WEAK, bow_check=replace(BOW_CHECK, cam_timing=False))
    situation = situation_of(history)
    advice = advice_on(situation)
    assert advice.move.move.kind is MoveKind.TECHNICIAN
    assert "cam timing" in " ".join(explain(advice, situation, System.INCH).why)


def test_contact_comes_before_the_first_conclusion() -> None:
    advice = advice_on(situation_of(replace(WEAK, contact_check=None)))
    assert advice.move.move.kind is MoveKind.CHECK_CONTACT
    touched = advice_on(situation_of(replace(WEAK, contact_check=replace(CONTACT_CHECK, vanes=False))))
    assert touched.move.move.kind is MoveKind.CHECK_CONTACT
    assert touched.why == "contact found"


def test_with_nothing_shot_it_asks_for_shots() -> None:
    advice = advice_on(situation_of(fresh_history(START)))
    assert advice.move.move.kind is MoveKind.SHOOT
    assert advice.diagnosis.reading is None


def test_one_lone_bare_shaft_is_not_enough() -> None:
    history = history_of(START, [START], [walk((-4.0, -1.6), bare_shafts=1)])
    assert advice_on(situation_of(history)).why == "one bare"


def test_no_cut_before_a_prediction_was_checked() -> None:
    advice = advice_on(situation_of(WEAK))
    assert advice.move.move.kind is not MoveKind.CUT
    assert all("prediction" in reason for reason in _kinds_refused(advice)[MoveKind.CUT])


def test_no_cut_without_a_marked_safe_length_and_it_says_so() -> None:
    reasons = _kinds_refused(advice_on(situation_of(checked_weak(), safe_length=None)))[MoveKind.CUT]
    assert all("shortest safe length" in reason for reason in reasons)


def test_no_cut_below_the_mark() -> None:
    near = START.build.carbon_length - 0.1 * INCH
    reasons = _kinds_refused(advice_on(situation_of(checked_weak(), safe_length=near)))[MoveKind.CUT]
    assert all("marked shortest safe length" in reason for reason in reasons)


@pytest.mark.parametrize("missing", ["bow", "contact"])
def test_no_cut_without_both_checks(missing: str) -> None:
    situation = situation_of(checked_weak())
    advice = advice_on(situation)
    history = situation.history
    unchecked = replace(history, bow_check=None) if missing == "bow" else replace(history, contact_check=None)
    cuts = _cuts(situation)
    assert cuts
    for move in cuts:
        reason = gate(move, replace(situation, history=unchecked), advice.diagnosis, Lines(advice.belief, situation))
        assert "contact check are not complete" in reason


def _cuts(situation: Situation) -> list[Move]:
    return [m for m in candidate_moves(situation) if m.kind is MoveKind.CUT]


def test_a_stiff_arrow_is_never_cut() -> None:
    setups = (START, moved_rest(START, 1 / 64))
    history = history_of(START, setups, [walk((4.0, 1.6), shots=8), walk((3.0, 1.6), shots=8)])
    advice = advice_on(situation_of(history))
    assert advice.move.move.kind is not MoveKind.CUT
    reasons = [r for m in (advice.refused) if m.move.kind is MoveKind.CUT for r in [m.reason]]
    assert reasons
    assert all("stiff" in r for r in reasons)


def test_a_match_tomorrow_changes_nothing() -> None:
    advice = advice_on(situation_of(checked_weak(), time=TimeAtHand.MATCH_TOMORROW, last_good=START))
    assert advice.move.move.kind is MoveKind.KEEP
    assert not [w for w in advice.others if w.move.after is not None]


def test_before_a_match_the_way_back_to_the_last_good_settings_is_told() -> None:
    style = Style(Hand.RIGHT, System.INCH)
    keep = Move(MoveKind.KEEP, START, 0.0, 5.0)
    assert move_phrase(keep, START, style) == "Keep the last good settings and change nothing."
    assert move_phrase(keep, moved_rest(START, 1 / 32), style) == (
        "Go back to the last good settings: move the rest 1/32 in to the right (16 clicks). Change nothing else."
    )
    told = move_phrase(keep, cut(START, 0.5), style)
    assert "built as they were then (28 11/16 in of shaft, 110 gr point)" in told


def test_a_gap_seen_far_away_is_carried_back_as_the_bows_carry_it() -> None:
    far = 50 * 0.9144
    here = advice_on(situation_of(history_of(START, [START], [walk((0.0, 0.55), shots=8)]))).diagnosis.reading
    history = history_of(START, [START], [replace(walk((0.0, 4.2), shots=8), distance=far)])
    there = advice_on(situation_of(history, distance=far)).diagnosis.reading
    assert here is not None
    assert there is not None
    # Computed: with no fault at all a bare shaft of this bow hits 0.55 in high at 20 yd and 4.2 in at 50.
    assert np.allclose(np.array(there.gap) / INCH, (0.0, 0.55), atol=0.15)
    assert np.allclose(here.gap, (0.0, 0.55 * INCH))
    # Computed: from 2.5 times as far the gap has grown more than the archer's scatter; what the walk further away
    # keeps of doubt beyond the shafts' own is 0.8 in for every 20 yd, brought back by that growth.
    doubt = FURTHER_SD * (far / GAP_DISTANCE - 1.0)
    assert doubt / 8.0 < there.sd < doubt / 2.0


def test_scatter_too_large_shows_the_archer_and_nothing_is_cut() -> None:
    history = history_of(START, [START], [walk((-3.0, -1.0), shots=8, spread=4.0)])
    situation = situation_of(history, archer=bench_archer(3.5))
    advice = advice_on(situation)
    assert advice.move.move.kind is MoveKind.SHOOTER
    assert "shows the archer" in " ".join(explain(advice, situation, System.INCH).why)


def test_a_gap_of_chance_asks_for_shots_with_a_computed_number() -> None:
    history = history_of(START, [START], [walk((0.9, 0.3), shots=2, spread=1.0)])
    advice = advice_on(situation_of(history, archer=bench_archer(1.2)))
    assert advice.why == "chance"
    assert advice.move.move.amount >= 3
    # Computed: z^2 sd^2 (1.69 + 1) / w^2 at 80 %, rounded up.
    assert shots_to_know(1.2 * INCH, 1.0 * INCH) == int(np.ceil(1.2816**2 * 1.44 * 2.69))


def test_touching_is_tuned() -> None:
    history = history_of(START, [START], [walk((0.1, 0.0), shots=12, spread=0.4)])
    advice = advice_on(situation_of(history, archer=bench_archer(0.4)))
    assert advice.diagnosis.within > 0.8
    assert advice.why == "check again"
    history = replace(history, bow_check_since=BOW_CHECK, contact_check_since=CONTACT_CHECK)
    situation = situation_of(history, archer=bench_archer(0.4))
    advice = advice_on(situation)
    assert advice.why == "within"
    assert advice.move.move.kind is MoveKind.STOP
    assert "finished tune" in " ".join(explain(advice, situation, System.INCH).why)


def test_the_budget_for_ending_too_short_is_one_for_the_whole_hunt() -> None:
    situation = situation_of(checked_weak())
    free = advice_on(replace(situation, budget=1.0))
    assert any(w.move.kind is MoveKind.CUT for w in (free.move, *free.others))
    tight = advice_on(replace(situation, budget=0.0))
    assert any("too short" in r for r in _kinds_refused(tight).get(MoveKind.CUT, []))
    lighter = replace(situation, heads_owned=(Head(START.build.head.mass * 0.7, 0.02),), budget=0.0)
    assert any("too short" in r for r in _kinds_refused(advice_on(lighter)).get(MoveKind.POINT, []))


def test_too_short_grows_with_every_cut() -> None:
    situation = situation_of(checked_weak())
    belief = advice_on(situation).belief
    after = [m.after for m in _cuts(situation) if m.after is not None]
    longest = max(after, key=lambda s: s.build.carbon_length)
    shortest = min(after, key=lambda s: s.build.carbon_length)
    assert np.mean(too_short(belief, shortest)) >= np.mean(too_short(belief, longest))


def test_height_is_left_alone_until_timing_is_right() -> None:
    history = replace(WEAK, bow_check=replace(BOW_CHECK, cam_timing=None))
    refused = _kinds_refused(advice_on(situation_of(history)))
    assert all("height is trimmed only after" in r for r in refused[MoveKind.REST_HEIGHT])


def test_a_bare_tear_turns_the_nock_before_the_rest() -> None:
    tears = tuple(Seen(START, Tear(11, True, 1.83, 0.9 * INCH, 0.0), f"t{k}") for k in range(3))
    history = replace(WEAK, seen=(*WEAK.seen, *tears))
    assert advice_on(situation_of(history)).move.move.kind is MoveKind.TURN_NOCK


def _series(size: float) -> NockSeries:
    angles = np.arange(0, 2 * np.pi, np.pi / 9)
    readings = tuple(NockReading(float(a), (0.9 - size * np.cos(a - 1.2)) * INCH, 0.0) for a in angles)
    return NockSeries(11, True, 1.83, True, readings)


def test_a_clear_nock_series_is_followed_and_an_unclear_one_left() -> None:
    clear = replace(WEAK, seen=(*WEAK.seen, Seen(START, _series(0.8), "n")))
    situation = situation_of(clear)
    advice = advice_on(situation)
    assert advice.why == "nock found"
    assert advice.move.move.amount == pytest.approx(1.2, abs=0.2)
    assert "clockwise, as seen from behind" in explain(advice, situation, System.INCH).move
    unclear = replace(WEAK, seen=(*WEAK.seen, Seen(START, _series(0.02), "n")))
    situation = situation_of(unclear)
    advice = advice_on(situation)
    assert advice.why != "nock found"
    assert "leave the nocks" in " ".join(explain(advice, situation, System.INCH).diagnosis)


def test_a_nock_series_counts_from_where_the_nock_stood() -> None:
    turned = replace(START, nock_angle=0.8)
    history = history_of(turned, [turned], [walk((-4.0, -1.6), shots=8)])
    history = replace(history, seen=(*history.seen, Seen(turned, _series(0.8), "n")))
    # Computed: the series is smallest 1.2 rad on from where the nock stood.
    first = advice_on(situation_of(history)).move.move
    assert first.kind is MoveKind.TURN_NOCK
    assert first.amount == pytest.approx(1.2, abs=0.2)
    assert first.after is not None
    done = replace(history, now=first.after, setups=(turned, first.after))
    assert advice_on(situation_of(done)).move.move.kind is not MoveKind.TURN_NOCK


def test_unknown_clicks_are_measured_first() -> None:
    advice = advice_on(situation_of(WEAK, rest_known=False))
    assert advice.move.move.kind is MoveKind.MEASURE_REST


def test_an_odd_bare_shaft_is_named_once() -> None:
    shot = walk((-2.0, -0.5), shots=9, spread=0.2, bare_shafts=3)
    odd = tuple(replace(i, y=i.y + 3 * INCH) if i.shaft == 12 else i for i in shot.impacts)
    apart = replace(shot, impacts=odd)
    first = advice_on(situation_of(history_of(START, [START], [apart])))
    assert first.move.move.kind is MoveKind.SET_ASIDE
    assert first.move.move.amount == 12
    again = advice_on(situation_of(history_of(START, [START, START], [apart, apart])))
    assert again.move.move.kind is not MoveKind.SET_ASIDE


def test_fixed_blades_aim_a_little_stiff_and_warn_of_weak() -> None:
    situation = situation_of(WEAK, purpose=Purpose.FIXED_BLADES)
    assert situation.aim[0] > 0
    told = explain(advice_on(situation), situation, System.INCH)
    assert any("fixed blades" in c for c in told.cautions)
    assert work_left(np.array([0.5 * INCH, 0.2 * INCH]), situation.aim) == pytest.approx(0.0)


def test_no_move_leads_to_a_broadhead() -> None:
    heads = (Head(START.build.head.mass, 0.03, HeadKind.FIXED, 2e-4, 3, 0.03),)
    advice = advice_on(situation_of(WEAK, heads_owned=heads))
    setups = [w.move.after for w in (advice.move, *advice.others) if w.move.after is not None]
    assert all(s.build.head.kind is HeadKind.FIELD for s in setups)


def test_with_a_head_on_the_arrow_field_points_come_before_any_bare_shot() -> None:
    head = Head(START.build.head.mass, 0.03, HeadKind.FIXED, 2e-4, 3, 0.03)
    bladed = replace(START, build=replace(START.build, head=head))
    style = Style(Hand.RIGHT, System.INCH)
    for kind in (MoveKind.SHOOT, MoveKind.TURN_NOCK, MoveKind.SET_ASIDE):
        move = Move(kind, None, 3.0, 5.0)
        assert move_phrase(move, bladed, style).startswith("First screw a field point of 110 gr into every arrow")
        assert "field point" not in move_phrase(move, START, style)


def test_an_arrow_under_the_lightest_is_refused() -> None:
    feather = Head(START.build.head.mass * 0.3, 0.01)
    light = replace(START, bow=replace(START.bow, lightest_arrow=START.build.total_mass(bare=True) - 1e-4))
    history = history_of(light, [light], [walk((-4.0, -1.6), shots=8)])
    refused = _kinds_refused(advice_on(situation_of(history, heads_owned=(feather,))))
    assert any("not be safe" in r for r in refused[MoveKind.POINT])


def _words(situation: Situation) -> list[str]:
    told = explain(advice_on(situation), situation, System.INCH)
    return [told.observed, told.checked, *told.diagnosis, told.move, *told.why, told.expect, told.put_back]


def test_a_left_hander_reads_the_mirror_of_the_same_words() -> None:
    right = _words(situation_of(checked_weak()))
    left = _words(situation_of(checked_weak(), archer=bench_archer(hand=Hand.LEFT)))
    hands = [
        t.replace("left-handed", "@").replace("right-handed", "left-handed").replace("@", "right-handed") for t in left
    ]
    assert [_swap(t) for t in hands] == right
    assert left != right


def _swap(text: str) -> str:
    hands = text.replace("left-handed", "<L>").replace("right-handed", "<R>")
    sides = hands.replace("left", "\0").replace("right", "left").replace("\0", "right")
    return sides.replace("<L>", "left-handed").replace("<R>", "right-handed")


def test_the_words_never_name_the_machinery() -> None:
    for situation in (situation_of(checked_weak()), situation_of(WEAK), situation_of(fresh_history(START))):
        text = " ".join(_words(situation)).lower()
        for word in ("ensemble", "particle", "posterior", "prior", "hotelling", "kernel", "nan", "none"):
            assert word not in text.split(), word


def test_same_situation_same_advice() -> None:
    situation = situation_of(checked_weak())
    first, again = (advise(situation, ground_for(situation, QUICK)) for _ in range(2))
    assert first.move.move == again.move.move
    assert first.move.worth == again.move.worth


def test_put_back_is_offered_after_a_move_that_made_it_worse() -> None:
    worse = moved_rest(START, 1 / 32)
    history = history_of(START, (START, worse), [walk((1.2, 0.0), shots=8), walk((4.5, 0.0), shots=8)])
    advice = advice_on(situation_of(history))
    assert any(w.move.kind is MoveKind.PUT_BACK for w in (advice.move, *advice.others))
    assert advice.move.gap.middle[0] < 4.5 * INCH
    assert isinstance(worse, Setup)
    assert pytest.approx(INCH) == GOOD_GAP


def test_putting_back_names_what_is_put_back() -> None:
    worse = moved_rest(START, 1 / 32)
    style = Style(Hand.RIGHT, System.INCH)
    move = Move(MoveKind.PUT_BACK, START, 0.0, 8.0)
    assert move_phrase(move, worse, style) == (
        "Put the last move back: move the rest 1/32 in to the right (16 clicks)."
    )


def test_a_chosen_cut_is_told_with_what_it_adds_and_not_as_refused() -> None:
    situation = situation_of(checked_weak(), budget=1.0)
    advice = advice_on(situation)
    cuts = [w for w in (advice.move, *advice.others) if w.move.kind is MoveKind.CUT]
    small, cut_now = min(cuts, key=lambda w: -w.move.amount), max(cuts, key=lambda w: -w.move.amount)
    refused = (Refused(small.move, "so small a cut would not show on the target"),)
    others = tuple(w for w in advice.others if w.move.kind is not MoveKind.CUT)
    told = explain(
        replace(advice, move=cut_now, why="worth", others=others, refused=refused, spent=0.004), situation, System.INCH
    )
    assert "No cut now" not in " ".join(told.why)
    assert cut_now.move.after is not None
    risk = added_risk(advice.belief, situation.now, cut_now.move.after)
    assert f"It adds {100 * risk:.1f} %" in " ".join(told.why)
    assert f"{100 * (risk + 0.004):.1f} % of the 100 % allowed" in " ".join(told.why)


def test_the_mark_is_asked_for_when_a_cut_is_likely_to_come_up() -> None:
    weak = situation_of(checked_weak(), safe_length=None)
    assert advice_on(weak).move.move.kind is MoveKind.MARK_LENGTH
    unproved = situation_of(WEAK, safe_length=None)  # nothing has been changed and shot yet
    assert advice_on(unproved).move.move.kind is not MoveKind.MARK_LENGTH
    setups = (START, bolts(START, -1.0))
    stiff = history_of(START, setups, [walk((3.0, 1.2), shots=8), walk((4.0, 1.6), shots=8)])
    assert advice_on(situation_of(stiff, safe_length=None)).move.move.kind is not MoveKind.MARK_LENGTH


def test_a_fault_is_put_right_even_before_a_match() -> None:
    touched = replace(WEAK, contact_check=replace(CONTACT_CHECK, vanes=False))
    assert advice_on(situation_of(touched, time=TimeAtHand.MATCH_TOMORROW)).why == "contact found"


def test_the_rest_does_not_stray() -> None:
    strayed = moved_rest(START, -7 / 64)
    history = history_of(START, (START, strayed), [walk((-4.5, -1.8), shots=8), walk((-4.0, -1.8), shots=8)])
    situation = situation_of(history)
    advice = advice_on(situation)
    lines = Lines(advice.belief, situation)
    further = {n: rest_move(strayed, -n / 64 * INCH, 0.0) for n in (0.5, 2)}  # an eighth of an inch is 8/64
    told = {n: gate(move, situation, advice.diagnosis, lines) for n, move in further.items() if move is not None}
    assert "stray too far" in told[2]
    assert "stray too far" not in told[0.5]


def test_the_rest_hides_a_wrong_spine_only_where_nothing_else_is_likely_to_help() -> None:
    situation = situation_of(checked_weak())
    advice = advice_on(situation)
    surely = (CauseShare(Cause.SPINE, 0.9, (0.0, 0.0), (0.0, 0.0), (0.0, 0.0)),)
    sure = replace(advice.diagnosis, causes=surely)
    lines = Lines(advice.belief, situation)
    weighed = [replace(w, worth=90.0) for w in judge(situation, lines, moves_of(advice))]
    [aside, *_] = [w for w in weighed if w.move.kind in (MoveKind.REST_SIDEWAYS, MoveKind.REST_BOTH)]
    assert gate(aside.move, situation, sure, lines) == HIDES
    refused = {aside.move: HIDES}
    cures = [w for w in weighed if w.move.kind in (MoveKind.CUT, MoveKind.POINT, MoveKind.BOLTS)]
    rest = [w for w in weighed if w not in cures]
    assert any(w.better > 0.9 for w in cures)
    assert not _nothing_else(situation, weighed, refused, {})
    assert _nothing_else(situation, rest, refused, {}) == {aside.move}
    assert _nothing_else(situation, weighed, refused, {w.move: FAILED for w in cures}) == {aside.move}
    assert _nothing_else(situation, [*rest, *(replace(w, better=0.1) for w in cures)], refused, {}) == {aside.move}
    assert not _nothing_else(replace(situation, purpose=Purpose.FIXED_BLADES), rest, refused, {})
    told = " ".join(explain(replace(advice, move=aside, why="only the rest"), situation, System.METRIC).why)
    assert "hides it" in told
    assert "with broadheads it shows" in told
    assert "falls under 25 mm" in told
    assert told.count("the rest can hide") == 0, "said once"


def test_what_a_move_is_worth_does_not_hang_on_what_was_weighed_before_it() -> None:
    situation = situation_of(WEAK)
    ground = ground_for(situation, QUICK)
    lines = Lines(believe(ground, situation.history, situation.archer), situation)
    moves = [m for m in candidate_moves(situation) if m.after is not None]
    judged = judge(situation, lines, moves)
    there, back = (weigh(situation, lines, way, moves, np.random.default_rng(3)) for way in (judged, judged[::-1]))
    assert {w.move: w.worth for w in there} == {w.move: w.worth for w in back}
    assert len({w.worth for w in there}) > 5


def test_the_last_prediction_is_told_once() -> None:
    situation = situation_of(checked_weak())
    assert explain(advice_on(situation), situation, System.INCH).checked
    tear = Seen(situation.now, Tear(1, False, 1.83, 0.0, 0.0), "later")
    later = replace(situation, history=replace(situation.history, seen=(*situation.history.seen, tear)))
    assert not explain(advice_on(later), later, System.INCH).checked


def test_an_unsafe_arrow_is_made_safe_before_anything_else() -> None:
    weak = replace(START, bow=replace(START.bow, weakest_spine=START.build.shaft.static_spine * 0.9))
    situation = situation_of(history_of(weak, [weak], [walk((-4.0, -1.6), shots=8)]))
    advice = advice_on(situation)
    assert advice.move.move.kind is MoveKind.MAKE_SAFE
    assert any("do not shoot this" in c for c in explain(advice, situation, System.INCH).cautions)
    short = situation_of(WEAK, safe_length=START.build.carbon_length + INCH)
    assert advice_on(short).move.move.kind is MoveKind.MAKE_SAFE
