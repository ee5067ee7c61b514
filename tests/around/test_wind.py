"""Wind: the lag rule, SciPy on a point in a wind from any side, mirrors, and what a person may do."""

from __future__ import annotations

import json
import math
from contextlib import suppress
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from spinewright import logbook
from spinewright.errors import InputError
from spinewright.flight import AIR_DENSITY, GRAVITY, blown, coast
from spinewright.outlook.sight_line import departure_of
from spinewright.outlook.sight_marks import MarkFit, SightPrior, fit_marks
from spinewright.outlook.wind_drift import moved_by_wind
from spinewright.units import Hand, System
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.asks.marks import TASK as MARKS
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.running import run
from tests.around.benches import asked, example

FloatArray = NDArray[np.float64]


# --- closed form -----------------------------------------------------------------------------------------------------


def by_scipy(k: float, speed: float, wind: tuple[float, float], climb: float, distance: float) -> tuple[float, ...]:
    """Time, drift and height of a point whose drag k u^2 pulls along its own way through the moving air."""
    air = np.array([-wind[0], wind[1], 0.0])

    def rates(_t: float, state: FloatArray) -> FloatArray:
        through = state[3:] - air
        return np.concatenate([state[3:], -k * np.linalg.norm(through) * through - [0.0, 0.0, GRAVITY]])

    def there(_t: float, state: FloatArray) -> float:
        return float(state[0]) - distance

    there.terminal = True  # type: ignore[attr-defined]
    begin = np.array([0.0, 0.0, 0.0, speed, 0.0, climb * speed])
    flown = solve_ivp(rates, (0.0, 5.0), begin, events=there, rtol=1e-10, atol=1e-12)
    assert flown.t_events is not None
    assert flown.y_events is not None
    end = flown.y_events[0][0]
    return float(flown.t_events[0][0]), float(end[1]), float(end[2])


@pytest.mark.parametrize("against", [-6.0, 0.0, 6.0])
@pytest.mark.parametrize("k", [1.0e-3, 2.5e-3])
def test_wind_from_any_side_meets_scipy(against: float, k: float) -> None:
    across, climb, distance, speed = 4.0, 0.03, 60.0, 75.0
    time, drift, height = by_scipy(k, speed, (against, across), climb, distance)
    found = blown(distance, speed, k, against, climb)
    # The path is taken as flat: its slope squared (1e-3) and the crosswind's share of the speed squared are left out.
    assert found.time == pytest.approx(time, rel=2e-3)
    assert across * found.lag == pytest.approx(drift, rel=2e-2)
    still = blown(distance, speed, k, 0.0, climb)
    assert found.height - still.height == pytest.approx(
        height - by_scipy(k, speed, (0.0, across), climb, distance)[2], abs=2e-3
    )


@pytest.mark.parametrize(("coefficient", "published"), [(1.5, 0.163), (2.0, 0.219), (2.6, 0.288)])
def test_drift_is_the_lag_rule_s(coefficient: float, published: float) -> None:
    # Computed by the lag rule w (t - x/v0) (Didion): 3 m/s across, 70 m, 57 m/s, 17.5 g, 5.5 mm.
    k = 0.5 * AIR_DENSITY * 0.25 * math.pi * 0.0055**2 * coefficient / 0.0175
    assert 3.0 * blown(70.0, 57.0, k, 0.0).lag == pytest.approx(published, rel=0.02)


def test_in_still_air_it_coasts() -> None:
    assert blown(70.0, 57.0, 1.6e-3, 0.0).time == pytest.approx(coast(70.0, 57.0, 1.6e-3)[0], rel=1e-12)
    free = blown(70.0, 57.0, 0.0, 5.0, 0.02)
    assert free.time == pytest.approx(70.0 / 57.0)
    assert free.lag == 0.0
    assert free.height == pytest.approx(0.02 * 70.0 - 0.5 * GRAVITY * (70.0 / 57.0) ** 2)


@pytest.mark.parametrize(("speed", "against", "k"), [(50.0, -60.0, 1e-3), (20.0, 40.0, 0.05)])
def test_a_wind_no_arrow_gets_through_is_refused(speed: float, against: float, k: float) -> None:
    with pytest.raises(ValueError, match="arrow"):
        blown(90.0, speed, k, against)


# --- the flown arrow -------------------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def fit() -> MarkFit:
    prior = SightPrior(80.0, 0.006, 0.85, 0.005, 0.11, 0.003, 1e-3)
    return fit_marks(departure_of(example().state.now), prior, ())


def test_the_flown_drift_is_the_lag_rule_s_once_the_arrow_has_settled() -> None:
    # The rule holds for an arrow that points into the air it meets; ours leaves along the line of the shot and its
    # vanes turn it there within some thirty metres.
    across = np.array([2.0, 4.0])
    moved = moved_by_wind(fit(), np.array([40.0, 55.0, 70.0]), across, np.zeros(2))
    assert moved.side == pytest.approx(moved.blunt, rel=0.12)
    assert (moved.side[1] / moved.side[0] > 1.95).all()
    assert (moved.side[1] / moved.side[0] < 2.3).all()


def test_left_and_right_are_exact_mirrors_and_only_sideways_changes() -> None:
    far = np.array([20.0, 60.0])
    left, right = (moved_by_wind(fit(), far, np.array([sign * 3.0]), np.array([2.0])) for sign in (1.0, -1.0))
    assert (left.side == -right.side).all()
    assert (left.height == right.height).all()
    assert (left.side_sd == right.side_sd).all()


def test_wind_ahead_lowers_and_lags_more_wind_behind_the_other_way() -> None:
    far, across = np.array([60.0]), np.array([3.0, 3.0, 3.0])
    moved = moved_by_wind(fit(), far, across, np.array([5.0, 0.0, -5.0]))
    ahead, still, behind = moved.height[:, 0]
    assert ahead < still == 0.0 < behind
    assert moved.side[0, 0] > moved.side[1, 0] > moved.side[2, 0]


def test_doubt_of_drift_is_mostly_the_drag_s() -> None:
    # First order: drift goes with drag, so 13 % of drag is about 13 % of drift.
    moved = moved_by_wind(fit(), np.array([60.0]), np.array([3.0]), np.zeros(1))
    assert moved.side_sd[0, 0] / moved.side[0, 0] == pytest.approx(0.13, rel=0.25)


# --- the task --------------------------------------------------------------------------------------------------------


def cells(account: Account, number: int) -> list[list[dict[str, float | str]]]:
    return [[dict(cell) if not isinstance(cell, str) else {"text": cell} for cell in row[1:]]  # type: ignore[arg-type]
            for row in account.tables[number].rows]  # fmt: skip


@lru_cache(maxsize=8)
def blowing(side: str = "left", hand: Hand = Hand.RIGHT) -> Account:
    return asked("wind", example(hand), **{"wind": "10 mph", "from": side, "distances": "20, 60 yd"})


def test_wind_from_the_left_takes_the_arrow_right() -> None:
    json.dumps(blowing().to_json(), allow_nan=False)
    assert all(float(row[0]["left"]) < 0.0 for row in cells(blowing(), 0))
    assert "from the left takes the arrow right" in blowing().answer
    assert all(str(row[0]["text"]).startswith("right") for row in cells(blowing(), 1))  # the sight follows the arrow


def test_a_left_hander_s_wind_is_the_exact_mirror() -> None:
    # A left-hander's right is a right-hander's left: the same wind over the mirrored archer, the same numbers.
    one, other = cells(blowing("left", Hand.RIGHT), 0), cells(blowing("right", Hand.LEFT), 0)
    for mine, theirs in zip(one, other, strict=True):
        assert float(mine[0]["left"]) == -float(theirs[0]["left"])
        assert mine[0]["up"] == theirs[0]["up"]
        swapped = str(theirs[0]["text"]).replace("left", "x").replace("right", "left").replace("x", "right")
        assert mine[0]["text"] == swapped


def test_the_clock_goes_round() -> None:
    hours = cells(blowing(), 2)
    assert len(hours) == 12
    for hour in range(1, 6):
        assert float(hours[hour - 1][0]["left"]) == pytest.approx(-float(hours[11 - hour][0]["left"]))
    assert hours[11][0]["text"] == "nothing"  # from ahead
    assert float(hours[11][1]["up"]) < 0.0 < float(hours[5][1]["up"])


@pytest.mark.parametrize(("word", "hour"), [("left", "9"), ("right", "3 o'clock"), ("Ahead", "12"), ("behind", "6h")])
def test_words_and_hours_say_the_same(word: str, hour: str) -> None:
    assert cells(blowing(word), 0) == cells(blowing(hour), 0)


def test_a_distance_is_called_as_it_is_where_it_is_shot() -> None:
    account = asked("wind", wind="3 m/s", distances="30, 50 m")
    said = [str(row[0]["text"]) for row in account.tables[0].rows if isinstance(row[0], dict)]
    assert said == ["30 m (32.8 yd)", "50 m (54.7 yd)"]  # computed: 30 / 0.9144 and 50 / 0.9144
    assert "at 50 m (54.7 yd)" in account.answer


def test_metric_archers_get_the_same_numbers_in_their_units() -> None:
    given = {"wind": "10 mph", "from": "left", "distances": "20, 60 yd"}
    metric = asked("wind", example(Hand.RIGHT, System.METRIC), **given)
    assert [row[0]["left"] for row in cells(metric, 0)] == [row[0]["left"] for row in cells(blowing(), 0)]
    assert "mm" in str(cells(metric, 0)[0][0]["text"])


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"wind": "10"}, "no unit"),
        ({"wind": "60 mph"}, "no wind to shoot in"),
        ({"wind": "0 mph"}, "no wind to shoot in"),
        ({"wind": ("1 mph",) * 6}, "at most 5"),
        ({"from": "north"}, "where the wind comes from"),
        ({"from": "13"}, "where the wind comes from"),
        ({"distances": "1 yd"}, "no distance"),
        ({"speed": "3 m/s"}, "no arrow leaves"),
        ({"speed": "20 m/s", "wind": "20 m/s", "from": "behind", "distances": "10 m"}, "faster than the wind"),
    ],
)
def test_bad_answers_are_said_in_one_sentence(given: dict[str, str | tuple[str, ...]], said: str) -> None:
    with pytest.raises(InputError, match=said):
        asked("wind", None, **given)


@given(st.text(max_size=12))
@examples(max_examples=25)
def test_no_word_for_a_side_is_more_than_refused(text: str) -> None:
    # Anything else than an InputError would be a fault.
    with suppress(InputError):
        asked("wind", None, **{"from": text, "distances": "18 m", "wind": "2 m/s"})


def test_kept_sight_marks_are_used_and_narrow_the_doubt(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    path.write_text(str(logbook.template(Hand.RIGHT, System.INCH, filled=True)), encoding="utf-8")
    before = run(path, "wind", {})
    marks = [f"{d} yd, {r} mm, 60" for d, r in ((20, 20.9), (30, 25.5), (40, 31.5), (50, 37.9), (60, 44.8))]
    keep_answers(path, MARKS, {"mark": marks, "sight-radius": ["34 in"], "speed": ["253 ft/s"]})
    after = run(path, "wind", {})
    assert "5 sight marks you kept" in after.sentences[0]
    assert any("chronograph" in one for one in before.sentences)
    assert not any("chronograph" in one for one in after.sentences)
    keep_answers(path, MARKS, {"mark": ["20 yd, 10", "30 yd, 22", "60 yd, 23"]})
    assert "do not go together" in run(path, "wind", {}).sentences[0]
