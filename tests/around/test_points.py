"""Points: rounds against integration and simulation, a published score, mirrors, and what a person may do."""

from __future__ import annotations

import json
import math
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import dblquad

from spinewright import logbook
from spinewright.belief import BeliefSettings, believe, break_ground, draw_members
from spinewright.equipment import face_named, zone_shares
from spinewright.errors import InputError
from spinewright.evidence import Impact, TargetKind, Visit
from spinewright.outlook import Line, some_rows
from spinewright.outlook.points import (
    ROUNDS,
    Round,
    build_scatters,
    known_scatter,
    most_likely_totals,
    own_miss,
    points_of,
    round_named,
    scatter_draws_of,
    total_shares,
)
from spinewright.units import INCH, YARD, Hand, System
from spinewright.workflow import OpenBench, with_event
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.asks.points import TASK
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.running import run
from spinewright.workflow.session_log import log_event
from spinewright.workflow.situations import situation_of
from tests.around.benches import asked, example

INDOOR = round_named("18 m")

# --- one arrow and a round -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("off", [(0.0, 0.0), (0.03, -0.02)])
def test_shares_of_the_rings_meet_integration_over_the_face(off: tuple[float, float]) -> None:
    # Computed by SciPy's dblquad of the normal's density over each disc; a shaft of 6.6 mm touches the higher ring.
    face, scatter, shaft = face_named("40 cm triple, inner ten"), 0.035, 0.0066
    shares = zone_shares(face, scatter, off, shaft)
    inside = 0.0
    for score, radius in face.rings:

        def density(r: float, angle: float) -> float:
            y, z = r * math.cos(angle) - off[0], r * math.sin(angle) - off[1]
            return r * math.exp(-(y * y + z * z) / (2 * scatter**2)) / (2 * math.pi * scatter**2)

        within = dblquad(density, 0.0, 2 * math.pi, 0.0, radius + shaft / 2, epsabs=1e-9)[0]
        assert shares[score] == pytest.approx(within - inside, abs=1e-7)
        inside = within
    assert shares[0] == pytest.approx(1.0 - inside, abs=1e-7)


def test_a_published_score_comes_out_at_its_published_scatter() -> None:
    # Park, magazine article (published): an archer of 600/720 at 70 m on the 122 cm face has a one-axis sd of 107 mm.
    found = points_of(round_named("70 m"), np.array([0.107 / 70.0]), 0.0)
    assert found[0] == pytest.approx(600.0, abs=3.0)


def test_rounds_are_the_rule_book_s() -> None:
    # World Archery rule book, Book 2; faces' ring steps read there for 122 cm, all else from memory of the same book.
    known = {one.name: (one.distance, one.arrows, one.highest) for one in ROUNDS}
    assert known == {
        "18 m": (18.0, 60, 600),
        "25 m": (25.0, 60, 600),
        "50 m": (50.0, 72, 720),
        "70 m": (70.0, 72, 720),
    }
    # Compound archers indoors: only the inner ten of 20 mm across is a 10 on a 40 cm face.
    assert INDOOR.face.rings[0] == (10, 0.010)
    # The six-ring face of 80 cm ends at the 5, 24 cm from the middle.
    last = round_named("50 m").face.rings[-1]
    assert last[0] == 5
    assert last[1] == pytest.approx(0.24)


def test_totals_of_a_round_meet_simulation() -> None:
    # Simulated: 20,000 rounds of 60 arrows, each a point of a circular normal, scored ring by ring.
    scatter, shaft = 1.3e-3, 0.0066
    shot = np.random.default_rng(3).standard_normal((20_000, 60, 2)) * scatter * INDOOR.distance
    away = np.hypot(shot[..., 0], shot[..., 1]) - shaft / 2
    scores = np.zeros(away.shape)
    for score, radius in reversed(INDOOR.face.rings):
        scores[away <= radius] = score
    totals = scores.sum(axis=1)
    shares = total_shares(INDOOR, scatter, shaft)
    assert shares.sum() == pytest.approx(1.0, abs=1e-12)
    possible = np.arange(len(shares))
    mean = float(possible @ shares)
    sd = math.sqrt(float((possible - mean) ** 2 @ shares))
    assert mean == pytest.approx(points_of(INDOOR, np.array([scatter]), shaft)[0], rel=1e-12)
    assert mean == pytest.approx(totals.mean(), abs=4 * sd / math.sqrt(20_000))
    assert sd == pytest.approx(totals.std(), rel=0.03)
    low, high = most_likely_totals(INDOOR, [scatter], shaft)
    assert ((totals >= low) & (totals <= high)).mean() == pytest.approx(0.8, abs=0.06)  # whole points only


def test_a_tighter_group_never_scores_less_and_a_shifted_one_never_more() -> None:
    scatter = np.linspace(0.2e-3, 6e-3, 40)
    for one in ROUNDS:
        centred = points_of(one, scatter, 0.006)
        assert (np.diff(centred) <= 0.0).all()
        assert (points_of(one, scatter, 0.006, off=0.01) <= centred + 1e-9).all()


# --- scatter ---------------------------------------------------------------------------------------------------------


def walk(count: int, scatter: float, rng: np.random.Generator) -> Visit:
    places = rng.standard_normal((count, 2)) * scatter * 18.0
    hits = tuple(Impact(shaft=k + 1, bare=False, y=float(y), z=float(z)) for k, (y, z) in enumerate(places))
    return Visit(distance=18.0, target=TargetKind.LAYERED, impacts=hits)


def test_logged_groups_count_for_as_much_as_they_tell() -> None:
    archer = example().state.archer
    assert known_scatter(archer, ()) == (archer.scatter, archer.scatter_doubt, 0)
    rng = np.random.default_rng(5)
    few = known_scatter(archer, [walk(3, 0.8e-3, rng)])
    many = known_scatter(archer, [walk(6, 0.8e-3, rng) for _ in range(30)])
    assert many[2] == 180
    assert many[0] == pytest.approx(0.8e-3, rel=0.12)
    assert many[1] < few[1] < archer.scatter_doubt
    assert many[1] > 0.09  # one day is not another (from memory, 10 %)


def test_draws_of_the_scatter_are_the_lognormal_they_stand_for() -> None:
    draws = scatter_draws_of(1e-3, 0.3, 400, np.random.default_rng(1))
    assert np.log(draws).mean() == pytest.approx(math.log(1e-3), abs=1e-9)
    assert np.log(draws).std() == pytest.approx(0.3, rel=0.02)
    assert np.quantile(draws, 0.9) == pytest.approx(1e-3 * math.exp(1.2816 * 0.3), rel=0.02)


def test_another_build_exchanges_only_what_the_arrow_carries() -> None:
    scatter, now = np.array([1.5e-3, 0.5e-3]), np.array([0.6e-3, 0.6e-3])
    assert build_scatters(scatter, now, now) == pytest.approx(scatter)
    # By hand: 1.5^2 - 0.6^2 = 1.89; the second has 0.6 > sqrt(0.8) 0.5, so a fifth of its variance is left.
    none = build_scatters(scatter, now, np.zeros(2))
    assert none == pytest.approx([1e-3 * math.sqrt(1.89), 0.5e-3 * math.sqrt(0.2)])
    assert (build_scatters(scatter, now, 2 * now) > scatter).all()


def test_what_the_arrow_carries_grows_with_the_mistakes() -> None:
    state = example().state
    members = draw_members(8, state.now, None, np.random.default_rng(2))
    line = Line.of(state.archer, 50.0)
    miss = own_miss(members, state.now, line)
    assert miss.shape == (8,)
    assert 0.05e-3 < np.median(miss) < state.archer.scatter  # part of the archer's scatter, not more than all of it


# --- the task --------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=8)
def usual(hand: Hand = Hand.RIGHT, system: System = System.INCH) -> Account:
    return asked("points", example(hand, system), smaller=("1/4 in", "1/2 in"), group_at="20 yd")


def number(account: Account, table: int, row: int, column: int = 1) -> tuple[float, float, float]:
    cell = account.tables[table].rows[row][column]
    assert not isinstance(cell, str)
    return tuple(float(str(cell[name])) for name in ("low", "middle", "high"))  # type: ignore[return-value]


def test_half_an_inch_is_worth_what_the_score_says() -> None:
    account = usual()
    json.dumps(account.to_json(), allow_nan=False)
    quarter, half = number(account, 1, 0), number(account, 1, 1)
    assert 0.0 < quarter[1] < half[1]
    assert half[0] < half[1] < half[2]
    # By hand at the middle: the score of a scatter that is 1/2 in over the mean width of six (3.276 sds) smaller.
    state = example().state
    scatter = np.array([state.archer.scatter, state.archer.scatter - 0.5 * INCH / (20 * YARD) / 3.276])
    now, then = points_of(round_named("50 m"), scatter, state.now.build.shaft.outer_diameter)
    assert half[1] == pytest.approx(then - now, rel=0.02)
    assert number(account, 0, 1)[1] == pytest.approx(now, rel=0.01)
    assert f"{half[1]:.1f}" in account.answer


def test_no_build_buys_more_than_one_that_forgives_everything() -> None:
    account = asked("points", point="125 gr", length="28 1/2 in")
    other, most = number(account, 2, 0), number(account, 2, 1)
    assert other[1] < most[1]
    assert any("do not cut" in one for one in account.cautions)


def test_left_handers_and_metric_archers_get_the_same_points() -> None:
    # A score knows no side, so nothing may change with the hand.
    assert usual(Hand.LEFT).to_json() == usual().to_json()
    metric = usual(Hand.RIGHT, System.METRIC)
    for row in (0, 1):
        assert number(metric, 1, row) == pytest.approx(number(usual(), 1, row))
    assert metric.tables[1].rows[1][0] == "12.7 mm"


def shot(hand: Hand = Hand.RIGHT) -> OpenBench:
    """The invented bench with two walks of bare shafts to the weak side; one fletched arrow tells no group."""
    weak = "right" if hand is Hand.RIGHT else "left"
    hits = [{"shaft": 1, "state": "fletched", "hole": "centre"}]
    hits += [{"shaft": 7 + k, "state": "bare", "hole": f"{weak} {size} in"} for k, size in enumerate((2.1, 1.9, 2.3))]
    walked = example(hand)
    for _ in range(2):
        walked = with_event(walked, {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "hits": hits})
    return walked


def test_builds_are_shot_by_the_bows_that_fit_what_was_logged() -> None:
    before, after = (asked("points", bench, point="125 gr") for bench in (example(), shot()))
    for row in range(5):  # bare shafts say nothing of how closely the archer shoots
        assert before.tables[0].rows[row][1] == after.tables[0].rows[row][1]
    assert number(before, 2, 0) != number(after, 2, 0)
    assert asked("points", shot(Hand.LEFT), point="125 gr").tables == after.tables
    # Computed: the same bows, once through the task and once by hand.
    state = shot().state
    situation = situation_of(state)
    belief = believe(break_ground(situation.history, (), (), BeliefSettings(bows=200)), situation.history, state.archer)
    bows = belief.bows()
    line = Line.of(state.archer, 50.0)
    now = np.resize(own_miss(bows.rows(some_rows(len(bows), 40)), state.now, line), 200)
    scatter = scatter_draws_of(*known_scatter(state.archer, ())[:2], 200, np.random.default_rng(20_240_501))
    shaft = state.now.build.shaft.outer_diameter
    best = points_of(round_named("50 m"), build_scatters(scatter, now, np.zeros(200)), shaft)
    gain = np.median(best - points_of(round_named("50 m"), scatter, shaft))
    assert number(after, 2, 1)[1] == pytest.approx(gain, rel=1e-9)


def test_more_than_the_group_is_wide_cannot_be_won() -> None:
    account = asked("points", smaller="6 in", group_at="20 yd")
    assert account.tables[1].rows[0][1] == "more than the group is wide"
    assert "less than that is to be won" in account.answer


def test_a_round_of_your_own() -> None:
    account = asked("points", round="own", face="40 cm", distance="20 yd", arrows="30")
    assert "30 arrows at 20 yd, face 40 cm, at most 300" in account.tables[0].title
    own = Round("own", face_named("40 cm"), 20 * YARD, 30)
    state = example().state
    expected = points_of(own, np.array([state.archer.scatter]), state.now.build.shaft.outer_diameter)
    assert number(account, 0, 1)[1] == pytest.approx(expected[0], rel=0.01)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"round": "60 m"}, "not known here"),
        ({"round": "own", "distance": "20 yd", "arrows": "30"}, "the face of your own round"),
        ({"round": "own", "face": "40 cm", "arrows": "30"}, "is not answered"),
        ({"round": "own", "face": "41 cm", "distance": "20 yd", "arrows": "30"}, "no face is called"),
        ({"round": "own", "face": "40 cm", "distance": "20 yd", "arrows": "1.5"}, "a whole number"),
        ({"round": "own", "face": "40 cm", "distance": "20 yd", "arrows": "0"}, "are no round"),
        ({"round": "own", "face": "40 cm", "distance": "200 m", "arrows": "9"}, "no round is shot"),
        ({"smaller": "0 in"}, "no size to ask for"),
        ({"smaller": ("1 in",) * 7}, "at most 6"),
        ({"group_at": "1 m"}, "no group is measured"),
        ({"point": "3 kg"}, "point|head|mass"),
        ({"length": "2 in"}, "length|long|short"),
    ],
)
def test_bad_answers_are_said_in_one_sentence(given: dict[str, str | tuple[str, ...]], said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        asked("points", None, **given)
    assert str(caught.value).count("\n") == 0


def test_kept_answers_and_the_start_are_held_against_what_is_there_now(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    path.write_text(str(logbook.template(Hand.RIGHT, System.INCH, filled=True)), encoding="utf-8")
    keep_answers(path, TASK, {"round": ["18 m"]})
    assert "at 18 m" in run(path, "points", {}).tables[0].title
    log_event(path, {"kind": "point changed", "mass": "125 gr"})
    assert run(path, "points", {}).tables[2].rows[0][0] == "as it was at the start"
