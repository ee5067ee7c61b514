"""Making a set alike: what is read round a shaft, the best choice of all, what it gains on the target."""

from __future__ import annotations

import math
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from spinewright import logbook
from spinewright.errors import EvidenceError, InputError
from spinewright.evidence.round_readings import read_round
from spinewright.outlook import build_figures
from spinewright.outlook.alike import Asked, Moves, Shafts, chosen_groups, moves_of, parts_of, spread_of, weighted
from spinewright.outlook.choosing import TOLERANCE, closest
from spinewright.units import GRAIN, Hand, System
from spinewright.workflow import start_bench
from spinewright.workflow.around.account import Cell
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.register import task_named
from tests.around.benches import asked, example

HEAD = "shaft,mass,spine 1,spine 2,spine 3,spine 4,straightness,length"


def four(mean: float, size: float, at: float, step: float, noise: np.ndarray | None = None) -> list[float]:
    """Deflections of a shaft whose stiff side lies at ``at``, read every ``step``."""
    turned = np.arange(4) * step
    return list(mean * (1.0 - size * np.cos(2.0 * (turned - at))) + (0.0 if noise is None else noise))


def test_a_stiff_side_that_was_put_in_is_read_with_its_angle() -> None:
    # computed: the readings are made from the same harmonic, three shafts, no scatter
    ats = (0.3, 1.2, 2.9)
    found = read_round((1, 2, 3), [four(0.009, 0.02, at, math.pi / 4) for at in ats], halves=True)
    for one, at in zip(found, ats, strict=True):
        assert one.size == pytest.approx(0.02, rel=1e-9)
        assert one.spine == pytest.approx(0.009)
        assert math.remainder(one.stiff_at - at, math.pi) == pytest.approx(0.0, abs=1e-9)
        assert one.shown


def test_read_a_quarter_round_only_the_part_along_the_readings_is_seen() -> None:
    along, between = read_round(
        (1, 2), [four(0.009, 0.02, 0.0, math.pi / 2), four(0.009, 0.02, math.pi / 4, math.pi / 2)], halves=False
    )
    assert along.size == pytest.approx(0.02)
    assert along.at_doubt is None
    assert between.size == pytest.approx(0.0, abs=1e-12)  # computed: cos 2a is nothing at all four readings
    assert not between.shown


@pytest.mark.parametrize("halves", [True, False])
def test_shafts_without_a_stiff_side_are_named_no_oftener_than_it_says(halves: bool) -> None:
    # computed: 400 seeded sets of eight even shafts; 99.9 % binomial bound over one set in twenty
    rng, named = np.random.default_rng(11), 0
    for _ in range(400):
        sets = [four(0.009, 0.0, 0.0, 1.0, rng.normal(0, 3e-5, 4)) for _ in range(8)]
        named += any(one.shown for one in read_round(range(1, 9), sets, halves=halves))
    assert named <= binom.ppf(0.999, 400, 0.05)


def test_the_doubt_is_what_the_readings_scatter_by() -> None:
    # computed: over 300 seeded sets mean size squared less the tester's own share comes back as it was put in
    rng, power = np.random.default_rng(12), []
    for _ in range(300):
        sets = [four(1.0, 0.01, rng.uniform(0, math.pi), math.pi / 4, rng.normal(0, 0.004, 4)) for _ in range(6)]
        power += [one.size**2 - 2 * one.size_doubt**2 for one in read_round(range(1, 7), sets, halves=True)]
    assert np.mean(power) == pytest.approx(1e-4, abs=4 * float(np.std(power)) / math.sqrt(len(power)))


def test_three_readings_are_refused() -> None:
    with pytest.raises(EvidenceError, match="not read four times"):
        read_round((1,), [[0.009, 0.009, 0.009]], halves=True)
    assert read_round((), [], halves=True) == []


def test_readings_that_agree_to_the_digit_are_known_no_better_than_the_digit() -> None:
    one = read_round((1,), [[0.009] * 4], halves=True)[0]
    # computed: a digit of 0.001 in has a uniform error of 0.0254 mm / sqrt 12, the mean of four half of that
    assert one.spine_doubt == pytest.approx(2.54e-5 / math.sqrt(12) / 2)
    assert not one.shown


def test_a_search_that_is_stopped_says_how_much_is_left() -> None:
    rng = np.random.default_rng(5)
    places, own = np.round(rng.normal(size=(288, 3))), 0.3 * rng.random(288)
    found = closest(places, own, 144)
    assert found.least <= found.cost
    assert found.proven == (found.gap <= TOLERANCE)
    assert found.gap < 0.05


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 3), st.integers(1, 9), st.booleans())
def test_no_other_choice_is_better(seed: int, directions: int, count: int, ties: bool) -> None:
    rng = np.random.default_rng(seed)
    places, own = rng.normal(size=(10, directions)), 0.5 * rng.random(10)
    if ties:
        places, own = np.round(places), np.zeros(10)
    found = closest(places, own, count)
    # computed: every choice tried
    best = min(
        float(((places[list(s)] - places[list(s)].mean(axis=0)) ** 2).sum() + own[list(s)].sum())
        for s in combinations(range(10), count)
    )
    assert found.least <= best + 1e-12
    assert found.cost <= best * (1 + 2 * TOLERANCE) + 1e-9
    assert len(set(found.which)) == count


def moves() -> Moves:
    state = example().state
    return moves_of(Asked(state.history, state.archer, 18.288))


def shafts(mass: list[float], spine: list[float] | None = None) -> Shafts:
    none = np.zeros(len(mass))
    return Shafts(none if spine is None else -np.log(np.array(spine)), none, none, np.array(mass), none)


def test_a_heavier_shaft_falls_as_a_slower_arrow_does() -> None:
    # computed: drop = g d^2 / (2 v^2), v^2 goes as 1 / (m + m_v), so it falls further by drop / (m + m_v) for each kg;
    # virtual mass 80 gr (from memory, of a usual compound). A heavier arrow also bends and sags more at the
    # rest, so a third either way is allowed
    launch = build_figures(example().state.now).fletched.launch.speed
    mass = example().state.now.build.total_mass(bare=False) + 80 * GRAIN
    fall = 9.80665 * 18.288**2 / (2 * launch**2) / mass
    assert -float(np.median(moves().mass[:, 1])) == pytest.approx(fall, rel=0.33)


def test_twice_the_differences_make_twice_the_spread() -> None:
    rng = np.random.default_rng(3)
    mass, spine = 0.016 + rng.normal(0, 1e-4, 9), np.exp(rng.normal(0, 0.01, 9))
    one, two = shafts(list(mass), list(spine)), shafts(list(2 * mass), list(spine**2))
    assert spread_of(two, moves()).middle == pytest.approx(2 * spread_of(one, moves()).middle)
    alike = shafts([0.016] * 5, [0.009] * 5)
    assert spread_of(alike, moves()).high == pytest.approx(0.0, abs=1e-12)


def test_stiff_sides_that_stand_alike_cost_only_their_difference() -> None:
    stiff = np.full(6, 0.02)
    same = Shafts(np.zeros(6), stiff, stiff**2, np.zeros(6), np.zeros(6), upright=True)
    assert spread_of(same, moves()).high == pytest.approx(0.0, abs=1e-12)
    anyhow = Shafts(np.zeros(6), stiff, stiff**2, np.zeros(6), np.zeros(6))
    assert parts_of(anyhow, moves())["stiff side"].middle == spread_of(anyhow, moves()).middle > 1e-5


def test_weight_that_makes_masses_alike_takes_most_of_their_spread_away() -> None:
    mass = np.array([0.0160, 0.0162, 0.0163, 0.0165])
    before = shafts(list(mass))
    after = weighted(before, moves(), mass.max() - mass, front=True)
    assert after.middle < 0.5 * spread_of(before, moves()).middle


def test_the_odd_shafts_are_left_over() -> None:
    mass = [0.016, 0.0161, 0.0180, 0.0160, 0.0161, 0.0150]
    groups = chosen_groups(shafts(mass), moves(), 4, 3)
    assert [one.which for one in groups] == [(0, 1, 3, 4)]
    assert groups[0].proven


def table(*rows: str, head: str = HEAD) -> str:
    return "\n".join(["# Invented.", head, *rows])


SET = table(
    *(
        f"{k},{mass} gr,{355 + k},{356 + k},{354 + k},{355 + k},0.002 in,29 1/4 in"
        for k, mass in enumerate((251.1, 251.4, 250.9, 257.8, 251.2, 251.0), 1)
    )
)


def texts(cells: tuple[Cell, ...]) -> list[str]:
    return [one if isinstance(one, str) else str(one["text"]) for one in cells]


def test_a_table_of_shafts_gives_a_set_a_reason_labels_and_a_sheet() -> None:
    found = asked("alike", shafts=SET, count="5")
    assert found.answer.startswith("Put shafts 1-3, 5, 6 together")
    assert found.answer.endswith("Leave out 4.")
    left = next(one for one in found.tables if one.title == "Left out").rows[0]
    assert texts(left)[:2] == ["4", "6.7 gr heavier"]  # computed by hand: 257.8 less the mean 251.12
    sheet = found.papers[0].to_json()["blocks"]
    assert isinstance(sheet, list)
    labels = next(block["texts"] for block in sheet if block["block"] == "labels")
    assert labels[3] == "4: leave out"
    assert len(labels) == 6
    assert any("Flex" in one for one in found.cautions)


def test_uncut_shafts_are_weighed_at_one_length() -> None:
    rows = ("1,300 gr,30 in", "2,310 gr,31 in", "3,320 gr,32 in")
    found = asked("alike", shafts=table(*rows, head="shaft,mass,length"))
    # computed by hand: all of them weigh 10 gr an inch, so 300 gr at the shortest length
    assert [texts(row)[1] for row in found.tables[0].rows] == ["300.0 gr"] * 3
    cut = asked("alike", shafts=table(*rows, head="shaft,mass,length"), cut_to="29 in")
    assert texts(cut.tables[0].rows[0])[1] == "290.0 gr"
    finished = asked("alike", shafts=table("1,400 gr,29 in", "2,400 gr,29 1/2 in", head="shaft,mass,length"),
                     weighed="finished arrows")  # fmt: skip
    assert any("differ by 0.5 in in length" in one for one in finished.sentences)


def test_one_shaft_that_makes_the_spread_is_named_where_all_go_in() -> None:
    found = asked("alike", shafts=SET)
    assert found.answer.startswith("All 6 go in")
    assert any(one.startswith("Shaft 4 alone makes much of that") for one in found.sentences)
    assert any("behind the points" in one for one in found.sentences)


def test_a_shaft_too_weak_or_too_light_is_warned_of() -> None:
    light = asked("alike", shafts=table("1,250 gr", "2,240 gr", head="shaft,mass"), weighed="finished arrows")
    assert any("lightest" in one and "do not shoot" in one for one in light.cautions)


def test_left_is_the_same_as_right_and_metric_says_the_same() -> None:
    right = asked("alike", shafts=SET, count="5").to_json()
    left = asked("alike", example(Hand.LEFT), shafts=SET, count="5").to_json()
    assert left == right  # no side stands in it, so a mirror changes nothing
    metric = asked("alike", example(Hand.RIGHT, System.METRIC), shafts=SET, count="5")
    assert metric.answer.startswith("Put shafts 1-3, 5, 6 together")
    assert "mm" in metric.answer
    assert texts(metric.tables[0].rows[0])[1] == "16.27 g"  # computed: 251.1 x 0.06479891 g


@pytest.mark.parametrize(
    ("given", "line", "field"),
    [
        ({"shafts": table("1,251 gr", "1,252 gr", head="shaft,mass")}, 4, "shaft"),
        ({"shafts": table("1,251 gr", "2,", head="shaft,mass")}, 4, "mass"),
        ({"shafts": table("1,251 gr", "2,9 kg", head="shaft,mass")}, 4, "mass"),
        ({"shafts": table("1,251 gr", "2,nan gr", head="shaft,mass")}, 4, "mass"),
        ({"shafts": table("a,251 gr", "2,250 gr", head="shaft,mass")}, 3, "shaft"),
        ({"shafts": table("1,251 gr", head="shaft,mass")}, None, "shafts"),
        ({"shafts": table("1,355,356", "2,355,356", head="shaft,spine 1,spine 2")}, 3, "spine 2"),
        ({"shafts": table("1,29 in", "2,29 in", head="shaft,length")}, 3, "mass"),
        ({"shafts": table("1,355", head="shaft,spin")}, 2, None),
        ({"shafts": SET, "count": "1"}, None, "count"),
        ({"shafts": SET, "count": "2.5"}, None, "count"),
        ({"shafts": SET, "cut_to": "30 in"}, None, "cut-to"),
        ({"shafts": SET, "distance": "900 yd"}, None, "distance"),
        ({"shafts": SET, "turn": "30 deg"}, None, "turn"),
        ({"shafts": SET, "step": "1 kg"}, None, "step"),
        ({}, None, "shafts"),
    ],
)
def test_bad_input_names_its_place(given: dict[str, str], line: int | None, field: str | None) -> None:
    with pytest.raises(InputError) as error:
        asked("alike", example(), **given)
    assert (error.value.place.line, error.value.place.field) == (line, field)
    assert error.value.place.table == (None if line is None else "shafts")


def test_kept_answers_are_used_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    keep_answers(path, task_named("alike"), {"shafts": (SET,), "count": ("5",)})
    bench = start_bench(path.read_text(encoding="utf-8"))
    assert asked("alike", bench).tables == asked("alike", shafts=SET, count="5").tables
