"""The proof of a tune: its size and order, what was shot read by the sealed order, walk-back and torque."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.stats import binom

from spinewright import logbook
from spinewright.errors import EvidenceError, InputError
from spinewright.evidence.proving import (
    change_told,
    ends_to_tell,
    label_of_after,
    mixed_order,
    power,
    torque,
    walk_back,
)
from spinewright.units import Hand, System
from spinewright.workflow import start_bench, with_event
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.register import task_named
from tests.around.benches import asked, example


def test_the_number_of_ends_is_that_of_the_f_test() -> None:
    # computed with scipy.stats on its own: power of the two-sided 5 % F test of two variances on 2 e (n - 1) each
    def told(ends: int) -> float:
        degrees = 2 * ends * 5
        return float(stats.f.cdf(stats.f.ppf(0.025, degrees, degrees) / 0.8**2, degrees, degrees))

    ends = ends_to_tell(0.8, 6)
    assert told(ends) >= 0.8 > told(ends - 1)
    assert power(0.8, ends, 6) == pytest.approx(told(ends))
    # computed: (1.96 + 0.84)^2 / (2 ln(1/0.8)^2) arrows of each in one large group, near the exact number
    assert ends * 5 == pytest.approx((1.96 + 0.842) ** 2 / (2 * np.log(0.8) ** 2), rel=0.06)


def test_the_power_is_what_simulated_groups_show() -> None:
    # computed: 4000 seeded proofs of 6 ends of 6 with each, 99.9 % binomial bounds
    rng, worlds = np.random.default_rng(4), 4000
    groups = rng.normal(0, 1, (2, worlds, 6, 6, 2)) * np.array([1.0, 0.7])[:, None, None, None, None]
    squares = ((groups - groups.mean(axis=3, keepdims=True)) ** 2).sum(axis=(2, 3, 4))
    shown = int(np.sum(squares[1] / squares[0] < stats.f.ppf(0.025, 60, 60)))
    wanted = power(0.7, 6, 6)
    assert binom.ppf(0.0005, worlds, wanted) <= shown <= binom.ppf(0.9995, worlds, wanted)


def test_what_a_day_tells_is_the_power_turned_round() -> None:
    told = change_told(6, 6)
    assert power(1 - told, 6, 6) == pytest.approx(0.8)
    assert change_told(12, 6) < told < change_told(3, 6)
    with pytest.raises(EvidenceError):
        change_told(6, 1)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**9), st.integers(1, 40))
def test_each_two_ends_have_one_of_each_and_more_may_be_shot(seed: int, pairs: int) -> None:
    order = mixed_order(2 * pairs, seed)
    assert all(order[2 * k] != order[2 * k + 1] for k in range(pairs))
    assert mixed_order(2 * pairs + 3, seed)[: 2 * pairs] == order


def test_the_order_is_drawn_and_not_guessed() -> None:
    # computed: of 500 numbers, 99.9 % binomial bounds about one half
    low, high = (binom.ppf(q, 500, 0.5) for q in (0.0005, 0.9995))
    assert low <= sum(mixed_order(1, seed)[0] for seed in range(500)) <= high
    assert low <= sum(label_of_after(seed) == "A" for seed in range(500)) <= high
    same = sum(mixed_order(1, seed)[0] == (label_of_after(seed) == "A") for seed in range(500))
    assert low <= same <= high


def walk(rng: np.random.Generator, drift: float = 0.001, bend: float = 0.0) -> list[tuple[float, float]]:
    far = np.repeat([18.0, 27.0, 36.0, 45.0], 3)
    return [(float(d), float(drift * (d - 18) + bend * (d - 18) ** 2 + rng.normal(0, 0.0015 * d))) for d in far]


def test_the_walk_back_is_a_weighted_line() -> None:
    shots = walk(np.random.default_rng(1))
    found = walk_back(shots)
    far, seen = np.array(shots).T
    # computed by numpy.polyfit with weights 1 / distance, and its scaled covariance
    (slope, _), covariance = np.polyfit(far, seen, 1, w=1 / far, cov=True)
    assert found.drift == pytest.approx(slope)
    assert found.high - found.drift == pytest.approx(covariance[0, 0] ** 0.5 * stats.t.ppf(0.9, 10), rel=1e-6)
    assert (found.near, found.far) == (18.0, 45.0)


def test_the_drift_is_held_as_often_as_said_and_a_bend_is_seen() -> None:
    # computed: 400 seeded walks, 99.9 % binomial bounds about 80 % held and 5 % called bent
    found = [walk_back(walk(np.random.default_rng(seed))) for seed in range(400)]
    low, high = (binom.ppf(q, 400, 0.8) for q in (0.0005, 0.9995))
    assert low <= sum(one.low <= 0.001 <= one.high for one in found) <= high
    assert sum((one.p_bend or 0) < 0.05 for one in found) <= binom.ppf(0.9995, 400, 0.05)
    assert (walk_back(walk(np.random.default_rng(1), bend=0.001)).p_bend or 1) < 0.01
    with pytest.raises(EvidenceError):
        walk_back([(18.0, 0.0), (18.0, 0.1), (18.0, 0.2)])


def test_torque_is_half_of_a_two_sample_t() -> None:
    left, right = [0.03, 0.05, 0.04], [-0.02, -0.03, 0.0]
    found = torque(left, right)
    # computed by scipy.stats
    other = stats.ttest_ind(left, right)
    assert found.left == pytest.approx((np.mean(left) - np.mean(right)) / 2)
    assert found.p_value == pytest.approx(other.pvalue)
    edges = other.confidence_interval(0.8)
    assert (found.low, found.high) == pytest.approx((edges.low / 2, edges.high / 2))
    with pytest.raises(EvidenceError):
        torque([0.1], [])


def words(y: float, z: float, hand: Hand = Hand.RIGHT) -> str:
    side = "left" if (y > 0) == (hand is Hand.RIGHT) else "right"
    return f"{side} {abs(y):.2f} in and {'high' if z > 0 else 'low'} {abs(z):.2f} in"


def holes(
    ends: int,
    after: float,
    *,
    seed: int = 7,
    hand: Hand = Hand.RIGHT,
    marks: Sequence[tuple[int, str]] = (),
    draw: int = 5,
) -> str:
    """Ends of six in the sealed order of ``seed``, scatter 1 in before and ``after`` [in] after."""
    rng, rows = np.random.default_rng(draw), ["# Invented.", "end,where,bad"]
    bad = dict(marks)
    for number, late in enumerate(mixed_order(ends, seed), 1):
        for k, (y, z) in enumerate(rng.normal(0, after if late else 1.0, (6, 2))):
            rows.append(f"{number},{words(y, z, hand)},{bad.get(number, '') if k == 0 else ''}")
    return "\n".join(rows)


def test_the_plan_says_when_a_day_is_not_enough() -> None:
    found = asked("proof")
    assert "16 ends of 6 with each, 192 arrows" in found.answer
    assert "cannot be settled in a day, it takes 3" in found.answer
    assert "only a change of 31 % or more" in " ".join(found.sentences)
    assert "The owner of the bow has to shoot it" in found.sentences[0]
    one = asked("proof", change="45 %", owner="yes")
    assert "that is one day" in one.answer
    assert "proves the tune for another hand" in asked("proof", owner="no").sentences[0]
    assert found.cautions[0].startswith("Stop when you tire")


def test_the_order_stays_sealed() -> None:
    found = asked("proof", change="45 %", seed="12")
    archer, helper, _ = (paper.to_json() for paper in found.papers)
    shown = json.dumps([found.to_json()[key] for key in ("answer", "sentences", "tables", "plots")]) + json.dumps(
        archer
    )
    assert "mark A" not in shown
    assert "mark B" not in shown
    after = label_of_after(12)
    blocks: list[dict[str, object]] = helper["blocks"]  # type: ignore[assignment]
    rows = next(block["rows"] for block in blocks if block["block"] == "grid")
    assert isinstance(rows, list)
    assert [row[1] == after for row in rows] == list(mixed_order(len(rows), 12))
    later = asked("proof", change="45 %", seed="12", from_end="5").papers[1].to_json()["blocks"]
    assert isinstance(later, list)
    again = next(block["rows"] for block in later if block["block"] == "grid")
    assert again[0] == rows[4]


def test_what_was_shot_is_read_by_the_order() -> None:
    found = asked("proof", owner="yes", seed="7", holes=holes(12, 0.5), unseen="yes", hit="1 in")
    assert "tighter after than before" in found.answer
    text = " ".join(found.sentences)
    assert "truly tighter" in text
    assert "Hits:" in text
    assert "knew which" not in text
    assert "in turns" not in text
    assert [row[:3] for row in found.tables[1].rows] == [("before", "6", "36"), ("after", "6", "36")]
    assert "10 more ends with each" in text
    json.dumps(found.to_json(), allow_nan=False)
    assert "knew which" in " ".join(asked("proof", seed="7", holes=holes(12, 0.5)).sentences)


def test_no_change_is_not_called_one() -> None:
    found = asked("proof", seed="7", holes=holes(12, 1.0, draw=9))
    assert "by chance" in " ".join(found.sentences)
    assert "nothing can be compared yet" in " ".join(asked("proof", seed="7", holes=holes(1, 1.0)).sentences)


def test_called_bad_ones_leave_the_scatter() -> None:
    found = asked("proof", seed="7", holes=holes(12, 0.5, marks=((1, "bad"), (2, "yes"))))
    assert sorted(str(row[2]) for row in found.tables[1].rows) == ["35", "35"]
    assert "Called bad and left out" in " ".join(found.sentences)


def walk_table(hand: Hand = Hand.RIGHT) -> str:
    rng = np.random.default_rng(3)
    rows = [
        f"{d} yd,{words(slope * (d - 20) + rng.normal(0, 0.008 * d), -0.5, hand)},{when}"
        for when, slope in (("before", 0.12), ("after", 0.0))
        for d in (20, 20, 30, 30, 40, 40, 50, 50)
    ]
    return "\n".join(["distance,where,when", *rows])


def torque_table(hand: Hand = Hand.RIGHT) -> str:
    rng, rows = np.random.default_rng(4), []
    for when, size in (("before", 2.0), ("after", 0.6)):
        for y in (size, -size) * 3:
            turned = "left" if (y > 0) == (hand is Hand.RIGHT) else "right"
            rows.append(f"{turned},{words(y + rng.normal(0, 0.3), 0.1, hand)},{when}")
    return "\n".join(["turned,where,when", *rows])


def test_walk_back_and_torque_are_read_before_and_after() -> None:
    found = asked("proof", walk_back=walk_table(), torque=torque_table())
    text = " ".join(found.sentences)
    assert "Walk-back before: hits walk to the left" in text
    assert "Walk-back after: no drift beyond your scatter" in text
    assert "moves the hit less than before" in text
    assert [table.title for table in found.tables] == ["What it takes", "Walk-back", "Torque"]


def test_logged_proof_groups_are_read_too() -> None:
    bench = example()
    for when, size in (("before", 1.0), ("after", 0.4)):
        hits = [
            {"shaft": k, "state": "fletched", "hole": f"{side} {size} in, high {size} in"}
            for k, side in enumerate(("left", "right", "right", "left"), 1)
        ]
        bench = with_event(
            bench, {"kind": "proof group", "purpose": when, "distance": "20 yd", "target": "bag", "hits": hits}
        )
    assert "Of the proof groups that are logged:" in asked("proof", bench).sentences


def told(account: Account) -> str:
    return json.dumps([account.to_json()[key] for key in ("answer", "sentences", "tables")], allow_nan=False)


def test_left_mirrors_right() -> None:
    right, left = (
        asked(
            "proof", example(hand), seed="7", holes=holes(4, 0.5, hand=hand), walk_back=walk_table(hand),
            torque=torque_table(hand),
        )
        for hand in Hand
    )  # fmt: skip
    other = {"left": "right", "right": "left"}
    assert "walk to the left" in told(right)
    assert told(left) == re.sub(r"\b(left|right)\b(?! out)", lambda side: other[side[1]], told(right))


def test_metric_says_the_same() -> None:
    inch, metric = (asked("proof", example(Hand.RIGHT, s), seed="7", holes=holes(4, 0.5)) for s in System)
    assert inch.answer == metric.answer
    one, other = (account.tables[1].rows[0][3] for account in (inch, metric))
    assert isinstance(one, dict)
    assert isinstance(other, dict)
    assert one["middle"] == other["middle"]
    assert "mm" in str(other["text"])


@pytest.mark.parametrize(
    ("given", "line", "field"),
    [
        ({"change": "0 %"}, None, "change"),
        ({"change": "soon"}, None, "change"),
        ({"end": "2"}, None, "end"),
        ({"most": "6"}, None, "most"),
        ({"seed": "-1"}, None, "seed"),
        ({"distance": "1 yd"}, None, "distance"),
        ({"hit": "-1 in"}, None, "hit"),
        ({"owner": "perhaps"}, None, "owner"),
        ({"holes": "end,where\nx,left 1 in"}, 2, "end"),
        ({"holes": "end,where\n0,left 1 in"}, 2, "end"),
        ({"holes": "end,where\n1,1 in"}, 2, "where"),
        ({"holes": "end,where,bad\n1,left 1 in,no\n1,left 1 in,perhaps"}, 3, "bad"),
        ({"walk-back": "distance,where\n20 yd,left 1 in\n,left 2 in"}, 3, "distance"),
        ({"walk-back": "distance,where\n20 yd,left 1 in"}, None, "walk-back"),
        ({"torque": "turned,where\nup,left 1 in"}, 2, "turned"),
        ({"torque": "turned,where,when\nleft,left 1 in,soon"}, 2, "when"),
        ({"torque": "turned,where\nleft,left 1 in"}, None, "torque"),
    ],
)
def test_bad_input_names_its_place(given: dict[str, str], line: int | None, field: str) -> None:
    with pytest.raises(InputError) as error:
        asked("proof", example(), **given)
    assert (error.value.place.line, error.value.place.field) == (line, field)


def test_kept_answers_are_used_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    keep_answers(path, task_named("proof"), {"seed": ("12",), "change": ("40 %",)})
    found = asked("proof", start_bench(path.read_text(encoding="utf-8")))
    assert found.papers == asked("proof", seed="12", change="40 %").papers


def test_an_arrow_that_is_too_light_is_said_first() -> None:
    # ASTM F1544: 5 gr per lb of peak weight, 308 gr for 61.5 lb; shafts of 4 gr/in stay below it
    text = str(logbook.template(filled=True)).replace('weight = "8.6 gr/in"', 'weight = "4 gr/in"')
    assert asked("proof", start_bench(text)).cautions[0].startswith("Arrow mass")
