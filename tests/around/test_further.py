"""Proving it further back: what tuned looks like there, how many shots settle it, and what is said of logged walks."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom, kstest

from spinewright import logbook
from spinewright.belief import BeliefSettings, draw_members
from spinewright.errors import InputError
from spinewright.evidence import shots_needed
from spinewright.outlook.further import Tuned, far_sd, held_against, settling_shots, tuned_gaps
from spinewright.units import INCH, YARD, Hand, System
from spinewright.workflow import OpenBench, start_bench, with_event
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.register import task_named
from tests.around.benches import asked, example

FAR = "30 yd, 40 yd, 50 yd"


def tuned(near: float = 0.5 * INCH, tape: float = 0.0, distance: float = 50 * YARD) -> Tuned:
    state = example().state
    setup = replace(state.now, build=replace(state.now.build, tape_mass=tape))
    members = draw_members(100, setup, None, np.random.default_rng([BeliefSettings().seed, 1]))
    return tuned_gaps(members, setup, [distance], near, (0.0, 0.0))[0]


def test_the_best_to_hope_for_is_what_practice_hopes_for() -> None:
    # common practice: about 2 to 2 1/2 in at 50 yd
    assert 2.0 * INCH <= tuned().radius <= 2.5 * INCH
    # computed: 0.8 in for every 20 yd beyond 20 yd is 1.2 in at 50 yd
    assert far_sd(50 * YARD) == pytest.approx(1.2 * INCH)
    assert far_sd(20 * YARD) == 0.0


def test_a_small_gap_grows_faster_than_the_distance() -> None:
    # from memory: a bare shaft that leaves askew is carried off by its own lift, so at least with the square of it
    found = tuned()
    assert min(found.growth) > (50 / 20) ** 2
    assert found.still[0] > tuned(near=0.25 * INCH).still[0] > found.best


def test_a_stiff_aim_is_carried_on_by_the_growth() -> None:
    # computed: a straight line read half an inch further along gives its slope times half an inch more
    state = example().state
    members = draw_members(50, state.now, None, np.random.default_rng(1))
    plain, stiff = (tuned_gaps(members, state.now, [40 * YARD], 0.5 * INCH, (aim, 0.0))[0] for aim in (0.0, 0.5 * INCH))
    assert stiff.middle[0] - plain.middle[0] == pytest.approx(0.5 * INCH * plain.growth[0])
    assert stiff.middle[1] == plain.middle[1]


def test_bows_that_do_not_differ_show_no_growth() -> None:
    # computed: with nothing standing off sideways every plausible bow has its bare shaft straight behind the fletched
    state = example().state
    members = draw_members(20, state.now, None, np.random.default_rng(1))
    still = replace(members, amplitudes=np.zeros_like(members.amplitudes))
    found = tuned_gaps(still, state.now, [50 * YARD], 0.5 * INCH, (0.0, 0.0))[0]
    assert (found.middle[0], found.growth[0]) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert found.still[0] == pytest.approx(found.best)


def test_shots_agree_with_the_plain_count_where_walks_are_alike() -> None:
    # computed: at 0.2 m scatter the 4 mm from walk to walk at 20 yd are nothing, so both counts are one
    assert settling_shots((0.2, 0.2), 20 * YARD, 0.15) == pytest.approx(shots_needed(0.2, 0.15), abs=1)
    assert settling_shots((0.01, 0.01), 50 * YARD, 0.001) is None


def test_so_many_shots_show_the_gap_as_often_as_said() -> None:
    # computed: 4000 seeded walks, 99.9 % binomial bounds about 80 % (a whole arrow more never makes it less)
    distance, sd, offset, walks = 40 * YARD, (0.05, 0.04), 0.08, 4000
    shots = settling_shots(sd, distance, offset)
    assert shots is not None
    rng, visit = np.random.default_rng(2), 0.15 * INCH * 2
    variance = (sd[0] ** 2 + sd[1] ** 2) / shots + visit**2
    seen = np.array([offset, 0.0]) + rng.normal(0, variance**0.5, (walks, 2))
    shown = int(np.sum((seen**2).sum(axis=1) / variance > -2 * np.log(0.05)))  # chi-square of 2, 5 %: -2 ln 0.05
    assert binom.ppf(0.0005, walks, 0.8) <= shown <= binom.ppf(0.9995, walks, 0.88)


def test_tuned_walks_are_called_off_as_often_as_said() -> None:
    # computed: gaps drawn from what a tuned bow shows give chances spread evenly between 0 and 1
    one = Tuned(40 * YARD, (0.0, -0.01), (6.0, 6.0), 0.02, (0.05, 0.06))
    rng = np.random.default_rng(3)
    sd = np.hypot(np.array(one.still) / 1.2815515655446004, 0.02)
    seen = np.array(one.middle) + rng.normal(0, sd, (500, 2))
    chances = [held_against(one, (float(y), float(z)), 0.02**2) for y, z in seen]
    assert kstest(chances, "uniform").pvalue > 0.001


def shot(bench: OpenBench, distance: str, side: str, off: float) -> OpenBench:
    """Three bare shots ``off`` [in] to the ``side``, three fletched ones about the middle."""
    away = (-0.3, 0.1, 0.2)
    fletched = [
        {"shaft": k, "state": "fletched", "hole": f"{side} {0.4 + a:.2f} in, high {0.4 - a:.2f} in"}
        for k, a in enumerate(away, 1)
    ]
    bare = [
        {"shaft": k, "state": "bare", "hole": f"{side} {0.4 + off + a:.2f} in, high {0.4 + a:.2f} in"}
        for k, a in enumerate(away, 7)
    ]
    return with_event(bench, {"kind": "shots", "distance": distance, "target": "fresh foam", "hits": fletched + bare})


def walked(off: float, hand: Hand = Hand.RIGHT, system: System = System.INCH) -> OpenBench:
    side = "right" if hand is Hand.RIGHT else "left"
    return shot(shot(example(hand, system), "20 yd", side, 0.2), "40 yd", side, off)


def test_what_was_logged_further_back_is_judged() -> None:
    off = asked("further", walked(9.0), distances=FAR)
    assert "further off than a tuned bow shows" in off.answer
    assert "most likely not" in " ".join(off.sentences)
    good = asked("further", walked(1.5), distances=FAR)
    assert "that is what a tuned bow shows there" in " ".join(good.sentences)
    assert "may lie up to" in good.answer
    assert [table.title for table in good.tables][-1] == "What you logged further back"
    assert "foretold for yours" in good.tables[0].columns[-1]
    json.dumps(good.to_json(), allow_nan=False)


def test_nothing_is_foretold_before_anything_was_shot() -> None:
    found = asked("further")
    assert "Nothing was shot with this setup yet" in found.sentences[0]
    assert len(found.tables[0].columns) == 4
    assert [row[0] for row in found.tables[0].rows] == ["30 yd", "40 yd", "50 yd"]
    assert "backstop" in found.cautions[0]
    metric = asked("further", example(Hand.RIGHT, System.METRIC))
    assert [row[0] for row in metric.tables[0].rows] == ["30 m", "40 m", "50 m"]


def test_left_mirrors_right() -> None:
    right, left = (json.dumps(asked("further", walked(3.0, hand), distances=FAR).to_json()["tables"]) for hand in Hand)
    assert "right" in right
    assert left == right.replace("left", "?").replace("right", "left").replace("?", "right")


def test_metric_says_the_same() -> None:
    inch, metric = (asked("further", walked(3.0, Hand.RIGHT, system), distances=FAR) for system in System)
    assert inch.tables[1].rows[0][1] == metric.tables[1].rows[0][1]
    one, other = (np.array(found.plots[0].series[0].high) for found in (inch, metric))
    assert one * 25.4 == pytest.approx(other)


@pytest.mark.parametrize(
    ("question", "said"),
    [
        ("distances", "20 yd"),
        ("distances", "30 yd, far"),
        ("distances", "200 yd"),
        ("distances", "30 yd, 31 yd, 32 yd, 33 yd, 34 yd, 35 yd, 36 yd"),
        ("near", "2 ft"),
        ("near", "0 in"),
        ("each", "0"),
        ("each", "2.5"),
        ("each", "99"),
    ],
)
def test_bad_input_names_its_question(question: str, said: str) -> None:
    with pytest.raises(InputError) as error:
        asked("further", example(), **{question: said})
    assert error.value.place.field == question


def test_kept_answers_are_used_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    keep_answers(path, task_named("further"), {"distances": ("45 yd",), "each": ("5",)})
    found = asked("further", start_bench(path.read_text(encoding="utf-8")))
    assert [row[0] for row in found.tables[0].rows] == ["45 yd"]
    assert found.tables[1].columns[2] == "what 5 of each know it to"
