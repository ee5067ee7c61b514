"""How a hunt ends: a look from further away, both checks once more, and a way out when nothing fits together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from spinewright.advice import Advice, Move, MoveKind, Situation, choosing, explain
from spinewright.advice.choosing import SITTING, WEARY, _first, _near_enough, _surer
from spinewright.advice.diagnosis import Diagnosis, diagnose
from spinewright.advice.first_things import ENOUGH
from spinewright.advice.gates import FAILED, gate
from spinewright.advice.moves import further
from spinewright.advice.phrases import Style, move_phrase
from spinewright.advice.trimming import Lines
from spinewright.advice.weighing import Weighed
from spinewright.belief import Belief, Checked
from spinewright.equipment import TimeAtHand
from spinewright.evidence import ContactCheck
from spinewright.units import Hand, System
from tests.belief.advising import START, TOUCHING, WEAK, advice_on, checked_weak, moves_of, situation_of, walk
from tests.belief.benches import BOW_CHECK, CONTACT_CHECK, INCH, bench_archer, history_of, moved_rest

YARD = 0.9144
NEAR = situation_of(TOUCHING, archer=bench_archer(0.4))


def _steps_back(situation: Situation) -> list[Move]:
    return [m for m in moves_of(advice_on(situation)) if m.kind is MoveKind.STEP_BACK]


def test_stepping_back_is_weighed_where_bare_shafts_do_not_stray() -> None:
    [step] = _steps_back(NEAR)
    assert step.after is None
    assert step.amount == pytest.approx(30 * YARD)
    assert further(replace(NEAR, distance=30 * YARD)) == pytest.approx(40 * YARD)
    assert not _steps_back(situation_of(WEAK)), "a bare shaft four inches off at 20 yd stays near the backstop"
    assert not _steps_back(replace(NEAR, time=TimeAtHand.SHORT))


@pytest.mark.parametrize("hand", Hand)
def test_stepping_back_says_how_far_and_what_stands_behind(hand: Hand) -> None:
    step = Move(MoveKind.STEP_BACK, None, 30 * YARD, 11.0)
    assert move_phrase(step, START, Style(hand, System.INCH)) == (
        "Step back to 30 yd and shoot 3 bare and 3 fletched, with a backstop that forgives a wide miss."
    )
    assert "Step back to 27 m and shoot 3 bare" in move_phrase(step, START, Style(hand, System.METRIC))


def test_stepping_back_carries_the_cautions_of_shooting_bare() -> None:
    advice = advice_on(NEAR)
    step = next(w for w in (advice.move, *advice.others) if w.move.kind is MoveKind.STEP_BACK)
    told = explain(replace(advice, move=step, why="worth"), NEAR, System.INCH)
    cautions = " ".join(told.cautions)
    assert "backstop that forgives a wide miss" in cautions
    assert "never a broadhead" in cautions
    assert "Flex and look at a carbon shaft" in cautions
    assert "The range's rules" in cautions
    assert told.put_back == ""
    assert told.expect == ""


def test_shots_with_one_setup_have_an_end() -> None:
    for shots, most in ((20, 4), (22, 2), (24, 0)):
        shot = history_of(START, [START], [walk((0.1, 0.0), shots=shots, spread=0.4)])
        advice = advice_on(situation_of(shot, archer=bench_archer(0.4)))
        sizes = {m.amount for m in moves_of(advice) if m.kind is MoveKind.SHOOT}
        assert max(sizes, default=0) == most == SITTING - shots


def test_before_a_tune_is_finished_both_checks_are_made_once_more() -> None:
    first = advice_on(NEAR)
    assert (first.why, first.move.move.kind) == ("check again", MoveKind.CHECK_BOW)
    told = explain(first, NEAR, System.INCH)
    assert told.move == "Make the bow check and log it."
    assert any("tuned" in sentence for sentence in told.why)

    checked = replace(NEAR, history=replace(TOUCHING, bow_check_since=BOW_CHECK))
    second = advice_on(checked)
    assert (second.why, second.move.move.kind) == ("powder again", MoveKind.CHECK_CONTACT)
    assert "since the powder" in " ".join(explain(second, checked, System.INCH).why)

    half = replace(checked, history=replace(checked.history, contact_check_since=ContactCheck(vanes=True)))
    assert advice_on(half).why == "powder again"

    both = replace(checked, history=replace(checked.history, contact_check_since=CONTACT_CHECK))
    last = advice_on(both)
    assert (last.why, last.move.move.kind) == ("within", MoveKind.STOP)
    assert explain(last, both, System.INCH).move == "Stop: this is tuned as far as the shots can tell."


def test_with_little_time_the_checks_are_not_asked_for_again() -> None:
    assert advice_on(replace(NEAR, time=TimeAtHand.SHORT)).why == "within"


def _failed(diagnosis: Diagnosis, probability: float) -> Diagnosis:
    assert isinstance(diagnosis.checked, Checked)
    return replace(diagnosis, checked=replace(diagnosis.checked, probability=probability))


def test_a_failed_prediction_bars_cuts_until_another_one_came_true() -> None:
    situation = situation_of(checked_weak())
    advice = advice_on(situation)
    lines = Lines(advice.belief, situation)
    cuts = [m for m in moves_of(advice) if m.kind is MoveKind.CUT]
    assert any(gate(m, situation, _failed(advice.diagnosis, 0.9), lines) == "" for m in cuts)
    for move in cuts:
        assert gate(move, situation, _failed(advice.diagnosis, 0.01), lines) == FAILED
    ahead = [gate(m, situation, _failed(advice.diagnosis, 0.01), lines, ahead=True) for m in cuts]
    assert "" in ahead, "by the move after the next another prediction will have been held against shots"
    probe = next(m for m in moves_of(advice) if m.kind is MoveKind.BOLTS)
    assert gate(probe, situation, _failed(advice.diagnosis, 0.01), lines) == ""


def test_after_a_change_that_did_something_else_entirely_no_cut_is_proposed() -> None:
    # invented: a sixty-fourth at the rest sideways, and the holes went six inches up
    setups = (START, moved_rest(START, 1 / 64))
    history = history_of(START, setups, [walk((-4.0, -1.6), shots=8), walk((-4.0, 4.4), shots=8)])
    situation = situation_of(history)
    advice = advice_on(situation)
    assert advice.diagnosis.checked is not None
    assert not advice.diagnosis.checked.came_true
    assert advice.move.move.kind is not MoveKind.CUT
    reasons = [r.reason for r in advice.refused if r.move.kind is MoveKind.CUT]
    assert FAILED in reasons
    assert "did not come as foretold" in explain(advice, situation, System.INCH).checked


def _jumped(walks_after: int) -> Situation:
    """Invented: a hair at the rest, and the holes jumped from two and a half inches apart to touching."""
    near = [walk((0.1, 0.0), shots=8)] * walks_after
    setups = (START, *[moved_rest(START, 1 / 128)] * walks_after)
    return situation_of(history_of(START, setups, [walk((-2.5, -0.8), shots=8), *near]))


def test_holes_that_come_together_against_the_prediction_are_shot_once_more() -> None:
    first, again = (advice_on(_jumped(walks)) for walks in (1, 2))
    assert first.diagnosis.checked is not None
    assert not first.diagnosis.checked.came_true
    assert first.diagnosis.within > 0.8
    assert (first.move.move.kind, first.why) == (MoveKind.SHOOT, "once more")
    assert "one more walk with nothing changed" in " ".join(explain(first, _jumped(1), System.INCH).why)
    assert again.why != "once more"


def test_one_walk_alone_is_called_tuned_only_where_it_is_near_sure() -> None:
    situation = situation_of(history_of(START, [START], [walk((0.4, 0.2), spread=0.4)]), archer=bench_archer(0.4))
    first = advice_on(situation)
    stop = replace(first.move, move=Move(MoveKind.STOP, None, 0.0, 0.0))
    walks = first.diagnosis.reading
    assert walks is not None
    found = {}
    for within, shot in ((0.85, 1), (0.85, 2), (0.95, 1)):
        told = replace(first.diagnosis, within=within, checked=None, conflict=False, reading=replace(walks, walks=shot))
        found[within, shot] = _near_enough(situation, told, stop)
    assert found[0.85, 1][1] == "one walk"
    assert found[0.85, 1][0].move.kind is MoveKind.SHOOT
    assert {found[0.85, 2][1], found[0.95, 1][1]} == {"check again"}
    told = replace(first.diagnosis, within=0.85, checked=None, conflict=False)
    assert _near_enough(replace(situation, time=TimeAtHand.SHORT), told, stop)[1] == "within"
    told_why = " ".join(explain(replace(first, why="one walk"), situation, System.INCH).why)
    assert "one walk can lie well by chance" in told_why


def test_a_gap_that_is_likely_near_enough_gets_a_trim_or_arrows_and_nothing_that_lasts() -> None:
    situation = situation_of(
        history_of(START, [START] * 2, [walk((0.4, 0.2), spread=0.4)] * 2), archer=bench_archer(0.4)
    )
    advice = advice_on(situation)
    told = replace(advice.diagnosis, within=0.85, conflict=False)
    stop = replace(advice.move, move=Move(MoveKind.STOP, None, 0.0, 0.0), worth=0.0)

    def surer(trim_worth: float, now: Situation = situation) -> tuple[MoveKind, str] | None:
        trim = replace(stop, move=Move(MoveKind.REST_SIDEWAYS, moved_rest(START, 0.01), 0.01 * INCH, 8.0), better=0.6)
        cut = replace(trim, move=replace(trim.move, kind=MoveKind.CUT), worth=90.0)
        allowed = sorted([cut, replace(trim, worth=trim_worth), stop], key=lambda w: -w.worth)
        found = _surer(now, told, stop, allowed)
        return found and (found[0].move.kind, found[1])

    assert surer(4.0) == (MoveKind.REST_SIDEWAYS, "worth")
    assert surer(-4.0) == (MoveKind.SHOOT, "nearly sure")
    assert surer(4.0, replace(situation, time=TimeAtHand.SHORT)) is None
    shot_out = history_of(START, [START] * 2, [walk((0.4, 0.2), shots=12, spread=0.4)] * 2)
    assert surer(-4.0, replace(situation, history=shot_out)) is None, "a sitting's worth was shot with this setup"
    weary = history_of(START, [START] * 3, [walk((0.4, 0.2), shots=WEARY // 6, spread=0.4)] * 3)
    assert surer(4.0, replace(situation, history=weary)) is None, "the hunt has taken arrows enough"
    told_why = " ".join(explain(replace(advice, why="nearly sure"), situation, System.INCH).why)
    assert "yet not surely" in told_why


def test_a_gap_far_beyond_a_wide_scatter_is_brought_nearer_by_what_can_be_put_back() -> None:
    situation = situation_of(
        history_of(START, [START] * 2, [walk((7.0, 3.0), spread=1.5)] * 2), archer=bench_archer(1.9)
    )
    advice = advice_on(situation)
    told = replace(advice.diagnosis, shows_archer=True, conflict=False)
    assert told.reading is not None
    far = replace(told, far=0.97, reading=replace(told.reading, gap=(7.0 * INCH, 0.0), sd=1.2 * INCH))
    stop = replace(advice.move, move=Move(MoveKind.STOP, None, 0.0, 0.0), worth=0.0)
    trim = replace(stop, move=Move(MoveKind.REST_SIDEWAYS, moved_rest(START, 0.01), 0.01 * INCH, 8.0), better=0.8)
    allowed = [
        replace(trim, move=replace(trim.move, kind=kind), worth=worth)
        for kind, worth in ((MoveKind.CUT, 99.0), (MoveKind.OTHER_SHAFT, 90.0), (MoveKind.REST_SIDEWAYS, 20.0))
    ] + [stop]

    def chosen(diagnosis: Diagnosis = far, now: Situation = situation, found: list[Weighed] = allowed) -> MoveKind:
        first = _first(now, diagnosis, found, found)
        assert first is not None
        return first[0].move.kind

    assert chosen() is MoveKind.REST_SIDEWAYS
    assert chosen(found=[stop]) is MoveKind.SHOOTER
    assert chosen(replace(far, far=0.9)) is MoveKind.SHOOTER
    assert chosen(replace(far, reading=replace(told.reading, gap=(1.2 * INCH, 0.0)))) is MoveKind.SHOOTER
    assert chosen(now=replace(situation, time=TimeAtHand.SHORT)) is MoveKind.SHOOTER
    weary = history_of(START, [START] * 2, [walk((7.0, 3.0), shots=WEARY // 4, spread=1.5)] * 2)
    assert chosen(now=replace(situation, history=weary)) is MoveKind.SHOOTER
    told_why = " ".join(explain(replace(advice, why="nearer"), situation, System.INCH).why)
    assert "Nothing lasting is done to the arrow" in told_why


def test_a_prediction_is_told_in_full_once_and_in_short_after() -> None:
    situation = situation_of(checked_weak())
    advice = advice_on(situation)
    full = explain(advice, situation, System.INCH).checked
    later = replace(situation, history=replace(situation.history, latest="a check"))
    short = explain(advice, later, System.INCH).checked
    assert "Foretold" in full
    assert "Seen" in full
    assert full.startswith(short)
    assert "Foretold" not in short


@pytest.fixture
def contradicted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever is shot, it fits together with nothing."""
    honest = diagnose

    def contradicting(belief: Belief, situation: Situation, checked: Checked | None) -> Diagnosis:
        return replace(honest(belief, situation, checked), conflict=True)

    monkeypatch.setattr(choosing, "diagnose", contradicting)


def _afresh(shots: int, gap: tuple[float, float] = (-4.0, -1.6)) -> tuple[Situation, Advice]:
    situation = situation_of(history_of(START, [START], [walk(gap, shots=shots)]))
    return situation, advice_on.__wrapped__(situation)


@pytest.mark.usefixtures("contradicted")
def test_a_conflict_asks_for_shots_until_there_are_enough() -> None:
    situation, advice = _afresh(ENOUGH - 1)
    assert (advice.why, advice.move.move.kind) == ("conflict", MoveKind.SHOOT)
    told = explain(advice, situation, System.INCH)
    assert any("does not fit together" in sentence for sentence in told.diagnosis)


@pytest.mark.usefixtures("contradicted")
def test_after_enough_shots_of_a_conflict_what_can_be_put_back_may_be_tried() -> None:
    _, advice = _afresh(ENOUGH)
    assert advice.why == "worth"
    assert advice.move.move.after is not None
    assert not advice.move.move.cannot_undo
    cuts = [r.reason for r in advice.refused if r.move.kind is MoveKind.CUT]
    assert cuts
    assert not any(w.move.kind is MoveKind.CUT for w in (advice.move, *advice.others))


@pytest.mark.usefixtures("contradicted")
def test_a_conflict_that_nothing_settles_ends_the_hunt_and_says_what_to_look_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(choosing, "_likely_enough", lambda weighed: weighed.move.kind is MoveKind.STOP)
    situation, advice = _afresh(ENOUGH)
    assert (advice.why, advice.move.move.kind) == ("conflict stays", MoveKind.STOP)
    told = explain(advice, situation, System.INCH)
    assert told.move == "Stop here: what was seen does not fit together."
    assert "take back what is wrong" in " ".join(told.why)
    # whoever is told to stop is not told to shoot it again in the same breath
    assert "again" not in " ".join([*told.diagnosis, *told.why])
    assert abs(advice.diagnosis.gap.middle[0]) > INCH
