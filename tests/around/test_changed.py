"""When something changes: speed and sight against the trade's rules, what is widened, sides, and what cannot be."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from spinewright.errors import InputError
from spinewright.outlook.carried_over import CarriedOver, Changed, carried_over, drop
from spinewright.units import FOOT, GRAIN, INCH, POUND_FORCE, YARD, Hand, System
from spinewright.workflow import OpenBench, with_event
from spinewright.workflow.around.changed_words import CARE, HOLDS, LOGGED, RECHECK
from tests.around.benches import asked, example


def _shot(hand: Hand = Hand.RIGHT, system: System = System.INCH) -> OpenBench:
    """The invented bench after two walks; every word of a side is mirrored for the other hand."""
    away = "right" if hand is Hand.RIGHT else "left"
    clean = dict.fromkeys(("vanes", "launcher", "cables", "shelf"), True)
    found = with_event(example(hand, system), {"kind": "contact check", **clean})
    hits = [
        {"shaft": 1, "state": "fletched", "hole": f"{away} 0.4 in, high 0.2 in"},
        {"shaft": 2, "state": "fletched", "hole": "low 0.3 in"},
        {"shaft": 7, "state": "bare", "hole": f"{away} 2.1 in, low 0.6 in"},
        {"shaft": 8, "state": "bare", "hole": f"{away} 1.7 in"},
    ]
    for _ in range(2):
        found = with_event(found, {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "hits": hits})
    return found


SHOT = _shot()


def _found(changed: Changed, **of_bow: Any) -> CarriedOver:  # noqa: ANN401 - whatever a bow takes
    state = SHOT.state
    after = replace(state.now, bow=replace(state.now.bow, **of_bow))
    return carried_over(state.history, state.archer, changed, after, state.archer)


def test_two_pounds_more_are_as_many_feet_a_second_as_the_trade_says() -> None:
    heavier = SHOT.state.now.bow.peak_weight + 2.0 * POUND_FORCE
    faster = _found(Changed.WEIGHT, peak_weight=heavier).faster
    # From memory: a pound of peak weight is about two feet a second, between one and a half and two and a half.
    assert 3.0 < faster.low / FOOT < faster.middle / FOOT < faster.high / FOOT < 5.0


def test_a_shorter_draw_is_as_much_slower_as_the_trade_says() -> None:
    shorter = SHOT.state.now.bow.draw_length - 1.0 * INCH
    slower = _found(Changed.ARCHER, draw_length=shorter).faster
    # From memory: an inch of draw length is about ten feet a second; makers' figures run from six to twelve.
    assert -12.0 < slower.low / FOOT < slower.high / FOOT < -5.0


def test_a_heavier_string_costs_a_third_of_its_weight() -> None:
    heavier = SHOT.state.now.bow.string_mass + 30.0 * GRAIN
    state = SHOT.state
    slower = _found(Changed.STRING, string_mass=heavier).faster.middle - _found(Changed.STRING).faster.middle
    # Computed: (m + m_v) v^2 is the same before and after, with a third of 30 gr more in m_v (5 g as usual; 270 ft/s).
    moving = state.now.build.total_mass(bare=False) + 5e-3
    assert slower == pytest.approx(-0.5 * 10.0 * GRAIN / moving * 270 * FOOT, rel=0.25)


def test_more_weight_reads_weaker() -> None:
    heavier = SHOT.state.now.bow.peak_weight + 5.0 * POUND_FORCE
    moved = _found(Changed.WEIGHT, peak_weight=heavier).moved
    # Common practice: more draw weight reads weaker, which puts a right-hander's bare holes right and low.
    assert moved.middle[0] < -0.2 * INCH
    lighter = _found(Changed.WEIGHT, peak_weight=SHOT.state.now.bow.peak_weight - 5.0 * POUND_FORCE).moved
    assert lighter.middle[0] > 0.2 * INCH


def test_a_shorter_draw_reads_stiffer() -> None:
    # Common practice: less push reads stiffer, which puts a right-hander's bare holes left.
    shorter = _found(Changed.ARCHER, draw_length=SHOT.state.now.bow.draw_length - 2.0 * INCH).moved
    assert shorter.middle[0] > 0.2 * INCH


def test_a_draw_curve_that_was_read_goes_with_the_weight() -> None:
    bow = SHOT.state.now.bow
    at = np.linspace(bow.brace_height, bow.nock_to_pivot, 8)
    force = bow.peak_weight * np.array([0.02, 0.5, 0.9, 1.0, 1.0, 0.9, 0.5, 0.2])
    readings = [
        {"draw": f"{x / INCH:.3f} in", "force": f"{f / POUND_FORCE:.2f} lb"} for x, f in zip(at, force, strict=True)
    ]
    read = with_event(SHOT, {"kind": "bow changed", "what": "read its curve", "draw_readings": readings})
    halved = asked("changed", read, what="weight", weighed=f"{0.49 * bow.peak_weight / POUND_FORCE:.2f} lb")
    slower = next(row[1] for row in halved.tables[0].rows if row[0] == "change of speed")
    # Computed: the speed goes with the root of the weight, 0.7 of 260 ft/s or so.
    assert isinstance(slower, dict)
    assert -90 * FOOT < float(str(slower["value"])) < -65 * FOOT
    asked("changed", read, what="archer", draw_length="28 in")


def test_nothing_changed_moves_next_to_nothing() -> None:
    same = _found(Changed.WEIGHT)
    assert np.hypot(*same.moved.middle) < 0.1 * INCH
    assert same.faster.low == same.faster.high == 0.0


def test_the_more_is_touched_the_less_is_known() -> None:
    doubts = [max(_found(one).wider) for one in (Changed.WEIGHT, Changed.STRING, Changed.REST, Changed.BOW)]
    assert doubts == sorted(doubts)
    assert doubts[0] < 3.0 < doubts[-1]


@pytest.mark.parametrize("changed", list(Changed))
def test_every_change_has_its_words(changed: Changed) -> None:
    assert RECHECK[changed][-1] != RECHECK[changed][0]
    assert CARE[changed]
    assert LOGGED[changed]
    assert len({what for what, *_ in HOLDS[changed]}) == len(HOLDS[changed])
    assert any("bare" in what for what, _ in RECHECK[changed])
    assert ("press" in " ".join(CARE[changed])) is (changed in (Changed.STRING, Changed.CAM))


def test_the_fall_without_drag_is_that_of_a_thrown_stone() -> None:
    # Computed: g x^2 / (2 v^2) = 9.80665 * 20^2 / (2 * 80^2) m; drag over 20 m adds a few per cent to it.
    fall = drop(np.array([80.0]), SHOT.state.now, (20.0,))[0, 0]
    assert 1.0 < fall / (9.80665 * 20**2 / (2 * 80**2)) < 1.05


def test_the_fall_with_drag_follows_the_equation() -> None:
    # Computed: z'' = -g / (v0 exp(-k x))^2 summed in 20,000 steps, k from the model's own drag.
    from spinewright.equipment import mass_model
    from spinewright.flight import GRAVITY, decay_rate, flight_body

    now, far, speed = SHOT.state.now, 60 * YARD, 80.0
    decay = decay_rate(flight_body(now.build, mass_model(now.build, bare=False), bare=False), speed)
    x = np.linspace(0.0, far, 20_001)
    left = speed * np.exp(-decay * 0.5 * (x[1:] + x[:-1]))
    slope = np.concatenate([[0.0], np.cumsum(np.diff(x) * GRAVITY / left**2)])
    fall = float(np.sum(np.diff(x) * 0.5 * (slope[1:] + slope[:-1])))
    assert drop(np.array([speed]), now, (far,))[0, 0] == pytest.approx(fall, rel=1e-6)


def test_left_is_the_mirror_of_right() -> None:
    def told(hand: Hand) -> str:
        found = asked("changed", _shot(hand), what="weight", more="2 lb")
        cells = [str(cell if isinstance(cell, str) else cell["text"]) for row in found.tables[0].rows for cell in row]
        return " ".join([found.answer, *found.sentences, *cells])

    right, left = told(Hand.RIGHT), told(Hand.LEFT)
    assert re.search(r"\bright\b", right)
    swap = {"left": "right", "right": "left"}
    assert re.sub(r"\b(left|right)\b", lambda m: swap[m[0]], left) == right


def test_both_systems_and_the_sight() -> None:
    inch, metric = (asked("changed", _shot(system=one), what="weight", more="2 lb") for one in System)
    assert " in," in inch.answer
    assert "ft/s faster" in inch.answer
    told = [str(one.to_json()) for one in (inch, metric)]
    assert "20 yd (18.3 m)" not in told[0]
    # 20 x 0.9144 m, computed; no yard stands alone where metres are read
    assert told[1].count("20 yd") == told[1].count("20 yd (18.3 m)") > 0
    assert " mm" in metric.answer
    assert "m/s faster" in metric.answer
    # Common practice: the sight follows the arrow, so a faster arrow, which hits higher, moves it up.
    assert any("move the sight up" in one for one in inch.sentences)
    slower = asked("changed", SHOT, what="weight", less="2 lb")
    assert any("move the sight down" in one for one in slower.sentences)
    assert "The speed stays" in asked("changed", SHOT, what="rest").answer


def test_turned_bolts_have_a_sentence_of_what_they_widen() -> None:
    def told(**given: str) -> list[str]:
        return [one for one in asked("changed", SHOT, **given).sentences if "more doubt" in one]

    (two,), (five,) = told(what="weight", more="2 lb"), told(what="weight", more="5 lb")
    sizes = [[float(one) for one in re.findall(r"([\d.]+) in (?:more|in height)", said)] for said in (two, five)]
    weight = SHOT.state.now.bow.peak_weight
    for (aside, height), more in zip(sizes, (2.0, 5.0), strict=True):
        missed = _found(Changed.WEIGHT, peak_weight=weight + more * POUND_FORCE).missed
        assert [aside, height] == pytest.approx([one / INCH for one in missed], abs=0.02)
    # Computed: what a straight line may miss is at least 0.3 in for any change (BENT) and grows with the step; of 5 lb,
    # which the trade reads like an inch of length, a quarter times the usual 2.6 m/m is 0.65 in sideways.
    assert 0.3 <= sizes[0][0] < sizes[1][0] < 1.5
    assert 0.3 <= sizes[0][1] <= sizes[1][1] < sizes[1][0]
    for other in ("string", "cam", "rest", "archer", "bow"):
        assert not told(what=other)


def test_turned_bolts_part_no_era_and_the_words_say_so() -> None:
    checked = with_event(SHOT, {"kind": "bow check", "cam_timing": True})
    turned = with_event(checked, {"kind": "bolts turned", "both_bolts": "in 1/4", "weighed": "60 lb"})
    assert turned.state.history.works == ()
    assert turned.state.history.bow_check == checked.state.history.bow_check
    worked = with_event(checked, {"kind": "bow changed", "what": "another string"})
    assert worked.state.history.works
    said = {what: " ".join(asked("changed", SHOT, what=what, more="2 lb").rests_on) for what in ("weight",)}
    said |= {what: " ".join(asked("changed", SHOT, what=what).rests_on) for what in ("string", "cam")}
    assert "leaves both as learnt" in said["weight"]
    assert all("Once it is logged as work on the bow" in said[what] for what in ("string", "cam"))


def test_too_light_an_arrow_is_said_before_it_is_shot() -> None:
    found = asked("changed", SHOT, what="weight", weighed="90 lb")
    # ASTM F1544's rating arrow, 5 gr a pound, is 450 gr at 90 lb.
    assert any("450 gr" in one and "do not shoot" in one for one in found.cautions)


def test_the_makers_limits_of_one_bow_say_nothing_of_another() -> None:
    found = asked("changed", SHOT, what="bow", weighed="60 lb", draw_length="28 in", level="expert")
    assert any("weakest spine: what is allowed is not known" in one for one in found.cautions)
    assert any("session file of its own" in one for one in found.sentences)


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"what": "weight"}, "more"),
        ({"what": "colour"}, "what"),
        ({"what": "weight", "more": "2 lb", "less": "1 lb"}, "less"),
        ({"what": "weight", "more": "60 lb"}, "more"),
        ({"what": "weight", "more": "two"}, "more"),
        ({"what": "weight", "weighed": "200 lb"}, "weighed"),
        ({"what": "archer", "draw_length": "33 in"}, "draw-length"),
        ({"what": "archer", "level": "champion"}, "level"),
        ({"what": "rest", "rest_kind": "magnet"}, "rest-kind"),
        ({}, "what"),
    ],
)
def test_what_cannot_be_names_its_question(given: dict[str, str], field: str) -> None:
    with pytest.raises(InputError) as error:
        asked("changed", SHOT, **given)
    assert error.value.place.field == field


def test_the_steps_are_printed_in_their_order() -> None:
    (paper,) = asked("changed", SHOT, what="string").papers
    told = str(paper.blocks)
    places = [told.index(f"{k}. {what}") for k, (what, _) in enumerate(RECHECK[Changed.STRING], 1)]
    assert places == sorted(places)


def test_kept_answers_are_used_again() -> None:
    rows = [{"question": "what", "answer": "weight"}, {"question": "more", "answer": "2 lb"}]
    kept = with_event(SHOT, {"kind": "answers", "to": "changed", "answers": rows})
    assert asked("changed", kept).to_json() == asked("changed", SHOT, what="weight", more="2 lb").to_json()
