"""Sight marks: closed forms without drag, SciPy on the same law of drag, published slowing, what a person may do."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from spinewright import logbook
from spinewright.equipment.arrow import ArrowBuild, Component, Fletching, Head
from spinewright.equipment.masses import mass_model
from spinewright.equipment.shaft import Shaft
from spinewright.errors import InputError, SolveError
from spinewright.flight import AIR_DENSITY, GRAVITY, flight_body, fly, nominal_flight
from spinewright.flight.drag import DragParts
from spinewright.outlook.sight_line import Aims, Departure, departure_of, elevations, passing_line
from spinewright.outlook.sight_marks import MarkFit, ShotMark, SightPrior, Unknown, contradicting, fit_marks, runs
from spinewright.outlook.slopes import nearest_rising, on_slopes
from spinewright.units import INCH, YARD, Hand, System
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.asks.marks import TASK
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.running import run
from spinewright.workflow.around.sighting import distances_of
from tests.around.benches import asked, example

FloatArray = NDArray[np.float64]

FAR = np.array([15.0, 30.0, 50.0, 70.0])
THREE = ("20 yd, 20.9 mm, 6 arrows", "40 yd, 31.6 mm, 12", "60 yd, 44.7 mm")
# Invented.
TARGET = ArrowBuild(
    shaft=Shaft(0.480 * INCH, 6.3 * 6.479891e-5 / INCH, 0.0055, 0.0042),
    throat_length=0.700,
    carbon_length=0.690,
    nock=Component(5 * 6.479891e-5, 0.015, -0.002),
    head=Head(110 * 6.479891e-5, 0.020),
    fletching=Fletching(3, 2.0 * 6.479891e-5, 0.040, 0.0075),
)


@lru_cache(maxsize=1)
def leaves() -> Departure:
    return departure_of(example().state.now)


@lru_cache(maxsize=1)
def in_vacuum() -> Departure:
    """An arrow that the air does not touch, its tip at the peep as it leaves."""
    body = replace(leaves().body, lift_areas=(0.0, 0.0, 0.0), strip_lengths=(0.0,) * len(leaves().body.strip_lengths))
    return Departure(body, -body.tip_place)


def aims(distance: FloatArray, slope: float = 0.0, speed: float = 85.0, drag: float = 1.0, peep: float = 0.11) -> Aims:
    one = np.ones(len(distance))
    return Aims(distance, slope * one, speed * one, drag * one, peep * one)


# --- the line of sight -----------------------------------------------------------------------------------------------


def test_without_drag_and_peep_the_angle_is_the_textbook_one() -> None:
    # sin 2e = g D/v^2, level range of a projectile (any textbook).
    found = elevations(in_vacuum(), aims(FAR, drag=1e-12, peep=0.0))
    assert found == pytest.approx(0.5 * np.arcsin(GRAVITY * FAR / 85.0**2), rel=1e-4)


@pytest.mark.parametrize("degrees", [-30.0, 15.0, 40.0])
def test_without_drag_a_slope_is_the_textbook_one(degrees: float) -> None:
    # Range along a slope s: D = 2 v^2 cos(s + e) sin(e)/(g cos^2 s), any textbook of mechanics.
    slope = math.radians(degrees)
    for distance, found in zip(FAR, elevations(in_vacuum(), aims(FAR, slope, drag=1e-12, peep=0.0)), strict=True):

        def short(e: float, distance: float = float(distance)) -> float:
            return 2 * 85.0**2 * math.cos(slope + e) * math.sin(e) / (GRAVITY * math.cos(slope) ** 2) - distance

        assert found == pytest.approx(brentq(short, 0.0, 0.3), rel=1e-4)


@pytest.mark.parametrize("slope", [0.0, 0.4])
def test_with_drag_and_peep_it_meets_scipy(slope: float) -> None:
    # Computed: a point with drag k v^2 by solve_ivp, started where the arrow's centre of mass leaves; its tip stands
    # ahead along the path. As its vanes turn the arrow into the falling path they lift it once, by a third of a
    # milliradian that every mark has alike; so it is the difference between two distances that has to agree.
    drag = DragParts(tail=2.2, laminar=0.0, turbulent=0.0, fins=0.0, tripped=1.0)
    body = replace(leaves().body, drag=drag)
    arrow = replace(leaves(), body=body)
    k = 0.5 * AIR_DENSITY * body.section * 2.2 / body.mass
    peep, speed = 0.11, 80.0

    def over(e: float, distance: float) -> float:
        """How far the tip is over the line of sight where it passes the target."""
        way = np.array([math.cos(slope + e), math.sin(slope + e)])
        sight, across = np.array([math.cos(slope), math.sin(slope)]), np.array([-math.sin(slope), math.cos(slope)])

        def rates(_t: float, state: FloatArray) -> FloatArray:
            v = state[2:]
            return np.concatenate([v, -k * np.hypot(*v) * v - [0.0, GRAVITY]])

        def tip(state: FloatArray) -> FloatArray:
            return np.asarray(state[:2] + body.tip_place * state[2:] / np.hypot(*state[2:]))

        def there(_t: float, state: FloatArray) -> float:
            return float(tip(state) @ sight) - distance

        there.terminal = True  # type: ignore[attr-defined]
        begin = np.concatenate([arrow.start * way - peep * across, speed * way])
        flown = solve_ivp(rates, (0.0, 2.0), begin, events=there, rtol=1e-10, atol=1e-12)
        assert flown.y_events is not None
        return float(tip(flown.y_events[0][0]) @ across)

    near, far = 25.0, 60.0
    found = elevations(arrow, aims(np.array([near, far]), slope, speed=speed, peep=peep))
    expected = [brentq(over, 0.0, 0.2, args=(one,), xtol=1e-10) for one in (near, far)]
    assert found[1] - found[0] == pytest.approx(expected[1] - expected[0], rel=5e-3)
    assert found == pytest.approx(np.array(expected), abs=5e-4)


def test_speed_lost_over_a_target_distance_is_the_published_one() -> None:
    # Ortiz et al. 2020 (Proceedings 49:56): about 8 % from 56.4 m/s; the distance, 70 m, is assumed.
    arrow = Departure(flight_body(TARGET, mass_model(TARGET, bare=False), bare=False), 0.5)
    passed = passing_line(arrow, aims(np.array([70.0]), speed=56.4))
    assert 1.0 - passed.speed[0] / 56.4 == pytest.approx(0.08, abs=0.015)


def test_one_angle_of_launch_for_each_flight_is_the_same_as_one_by_one() -> None:
    body, far = leaves().body, np.array([40.0])
    angles = np.array([0.0, 0.3, -0.5])
    calm = nominal_flight(3)
    many = fly(body, np.full(3, 80.0), np.zeros((3, 2, 4)), calm, far, launch_angle=angles)
    for k, angle in enumerate(angles):
        one = fly(body, np.array([80.0]), np.zeros((1, 2, 4)), nominal_flight(1), far, launch_angle=float(angle))
        assert one.hole[0] == pytest.approx(many.hole[k], rel=1e-12)
    with pytest.raises(InputError, match="angles of launch"):
        fly(body, np.full(3, 80.0), np.zeros((3, 2, 4)), calm, far, launch_angle=np.zeros(2))


def test_out_of_reach_is_said() -> None:
    with pytest.raises(SolveError, match="does not reach"):
        elevations(leaves(), aims(np.array([140.0]), speed=20.0))


# --- slopes ----------------------------------------------------------------------------------------------------------


def flat_fit(**changed: float) -> MarkFit:
    given = {"speed": 80.0, "speed_sd": 0.006, "radius": 0.85, "radius_sd": 0.005, "peep": 0.11, "peep_sd": 0.003}
    return fit_marks(leaves(), SightPrior(**{**given, **changed}, unit=1e-3), ())  # type: ignore[arg-type]


def test_a_slope_is_shot_about_as_its_level_distance() -> None:
    # Common practice: shoot the horizontal distance, D cos s. It is exact for a flat path without drag and peep.
    fit = flat_fit(speed=150.0, peep=1e-6)
    for degrees in (20.0, -20.0):
        slope = math.radians(degrees)
        (found,) = on_slopes(fit, np.array([30.0, 45.0, 60.0]), (slope,))
        assert found.shoot_as == pytest.approx(np.array([30.0, 45.0, 60.0]) * math.cos(slope), rel=0.02)


def test_down_a_slope_the_mark_changes_more_than_up() -> None:
    # Common practice: the same angle takes more off downhill, because the arrow keeps its speed.
    up, down = on_slopes(flat_fit(), np.array([60.0]), (0.5, -0.5))
    assert 0.0 < up.high[0] < down.high[0]
    assert down.shoot_as[0] < up.shoot_as[0] < 60.0
    # First order: drop times (1 - cos s); drop of a flat path is D e.
    drop = 60.0 * (flat_fit().passing(np.array([60.0])).elevation[0] - 0.11 / 60.0)
    assert 0.5 * (up.high[0] + down.high[0]) == pytest.approx(drop * (1 - math.cos(0.5)), rel=0.15)


def test_marks_turn_where_the_peep_is_as_high_as_the_drop() -> None:
    # e = h/D + g D/(2 v^2) is least at D = v sqrt(2 h/g): computed by hand, the arrow's start left out.
    assert nearest_rising(flat_fit(), 60.0) == pytest.approx(80.0 * math.sqrt(2 * 0.11 / GRAVITY), rel=0.15)


# --- the fit ---------------------------------------------------------------------------------------------------------

TRUE = {"zero": 5.0, "scale": 860.0, "speed": 82.0, "drag": 1.08, "peep": 0.115}


def shot(distance: FloatArray, noise: float = 0.0, rng: np.random.Generator | None = None) -> tuple[ShotMark, ...]:
    e = elevations(leaves(), aims(distance, speed=TRUE["speed"], drag=TRUE["drag"], peep=TRUE["peep"]))
    reading = TRUE["zero"] + TRUE["scale"] * np.tan(e)
    if rng is not None:
        reading = reading + noise * rng.standard_normal(len(reading))
    return tuple(ShotMark(float(d), float(r), 400, 1e-3) for d, r in zip(distance, reading, strict=True))


PRIOR = SightPrior(80.8, 0.055, 0.84, 0.12, 0.13, 0.012, 1e-3)


def test_without_a_mark_what_is_known_beforehand_stands() -> None:
    fit = fit_marks(leaves(), PRIOR, ())
    assert fit.speed == pytest.approx(80.8)
    assert fit.sd(Unknown.SPEED) == pytest.approx(0.055)
    assert fit.radius == pytest.approx(0.84)
    assert not fit.settled
    assert contradicting(fit) == ()


@pytest.mark.parametrize("unit", [1e-3, None])
def test_two_marks_foretell_the_distances_between_and_more_sharpen_them(unit: float | None) -> None:
    # Computed: marks of an arrow that is faster, draggier and sighted otherwise than was thought beforehand.
    prior = replace(PRIOR, unit=unit)
    truth = np.array([mark.reading for mark in shot(FAR)])
    wide = []
    for distance in (np.array([18.0, 60.0]), np.linspace(18.0, 60.0, 7)):
        known = fit_marks(leaves(), prior, shot(distance)).marks_at(FAR)
        assert (np.abs(known.reading - truth) < 2.0 * known.reading_sd).all()
        assert np.abs(known.reading - truth)[1:3].max() < 0.35  # in units of the scale: under half a millimetre
        wide.append(known.reading_sd)
    assert (wide[1] < wide[0]).all()


def test_what_is_said_to_hold_in_four_cases_of_five_does() -> None:
    # Simulated: truths drawn from what is known beforehand, marks with their stated noise; 70 readings foretold.
    rng = np.random.default_rng(7)
    inside, total = 0, 0
    prior = replace(PRIOR, radius_sd=0.01)
    for _ in range(14):
        speed, drag = 80.8 * math.exp(0.055 * rng.standard_normal()), math.exp(0.13 * rng.standard_normal())
        peep, scale = 0.13 + 0.012 * rng.standard_normal(), 840.0 * math.exp(0.01 * rng.standard_normal())
        far = np.array([18.0, 35.0, 50.0, 25.0, 30.0, 40.0, 60.0, 70.0])
        reading = scale * np.tan(elevations(leaves(), aims(far, speed=speed, drag=drag, peep=peep)))
        # 6 arrows of 1 mrad, 0.15 in at 20 yd from day to day, and 0.2 mm of setting: what the fit assumes.
        noise = math.hypot(840.0 * math.hypot(1e-3 / math.sqrt(6), 0.15 * INCH / (20 * YARD)), 0.2)
        marks = tuple(
            ShotMark(float(d), float(r + noise * rng.standard_normal()), 6, 1e-3)
            for d, r in zip(far[:3], reading[:3], strict=True)
        )
        known = fit_marks(leaves(), prior, marks).marks_at(far[3:])
        inside += int((np.abs(known.reading - reading[3:]) < 1.2816 * known.reading_sd).sum())
        total += 5
    assert 0.68 < inside / total < 0.92


def test_a_mark_that_contradicts_the_others_is_found_and_only_that_one() -> None:
    good = shot(np.linspace(18.0, 60.0, 4))
    assert contradicting(fit_marks(leaves(), PRIOR, good)) == ()
    wrong = (*good[:2], replace(good[2], reading=good[2].reading + 3.0), *good[3:])
    assert contradicting(fit_marks(leaves(), PRIOR, wrong)) == (2,)
    far_off = replace(PRIOR, speed=55.0, speed_sd=0.005, radius_sd=0.005)
    assert contradicting(fit_marks(leaves(), far_off, good[1:])) == (-1,)


def test_a_scale_that_falls_is_the_mirror_of_one_that_grows() -> None:
    marks = shot(np.array([18.0, 40.0, 60.0]))
    falling = tuple(replace(mark, reading=-mark.reading) for mark in marks)
    assert (runs(leaves(), PRIOR, marks), runs(leaves(), PRIOR, falling)) == (1, -1)
    one = fit_marks(leaves(), PRIOR, marks).marks_at(FAR)
    other = fit_marks(leaves(), replace(PRIOR, grows=-1), falling).marks_at(FAR)
    assert other.reading == pytest.approx(-one.reading, rel=1e-7)
    assert other.travel == pytest.approx(one.travel, rel=1e-7)


# --- the task --------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=4)
def three(hand: Hand = Hand.RIGHT) -> Account:
    return asked("marks", example(hand), mark=THREE)


def table(account: Account, title: str) -> list[tuple[str, ...]]:
    rows = next(one.rows for one in account.tables if one.title == title)
    return [tuple(cell if isinstance(cell, str) else str(cell["text"]) for cell in row) for row in rows]


def test_marks_and_strip_of_three_shot_marks() -> None:
    account = three()
    json.dumps(account.to_json(), allow_nan=False)
    assert "3 shot marks" in account.answer
    read = {row[0]: float(row[1].split()[0]) for row in table(account, "Marks")}
    assert read["20 yd"] < read["25 yd"] < read["60 yd"]
    assert read["40 yd"] == pytest.approx(31.6, abs=0.4)  # the mark that was shot, of 12 arrows
    (sheet,) = account.papers
    strip = next(block for block in sheet.blocks if block["block"] == "strip")
    at = {mark["label"]: mark["at"] for mark in strip["marks"] if mark["label"]}  # type: ignore[attr-defined]
    # A mark in millimetres on the scale and the strip are the same lengths.
    assert at["60"] - at["20"] == pytest.approx(read["60 yd"] - read["20 yd"], abs=0.11)
    assert at["40"] - at["20"] == pytest.approx(read["40 yd"] - read["20 yd"], abs=0.11)


def test_a_strip_for_the_carriage_is_turned_round() -> None:
    strips = []
    for account in (three(), asked("marks", mark=THREE, strip="carriage")):
        (sheet,) = account.papers
        block = next(block for block in sheet.blocks if block["block"] == "strip")
        strips.append((block["length"], {m["label"]: m["at"] for m in block["marks"] if m["label"]}))  # type: ignore[attr-defined]
    (length, bar), (_, carriage) = strips
    assert bar["20"] < bar["60"]
    assert {label: length - at for label, at in carriage.items()} == pytest.approx(bar)


def test_a_left_hander_gets_the_same_marks() -> None:
    # Height knows no side, so nothing may change with the hand.
    assert three(Hand.LEFT).to_json() == three(Hand.RIGHT).to_json()


def test_metric_archers_get_the_same_numbers_in_their_units() -> None:
    given = {"mark": THREE, "distances": "20, 40, 60 yd"}
    inch = asked("marks", None, **given)
    metric = asked("marks", example(Hand.RIGHT, System.METRIC), **given)
    for one, other in zip(inch.tables[0].rows, metric.tables[0].rows, strict=True):
        assert one[0]["value"] == pytest.approx(other[0]["value"])  # type: ignore[index]
        assert one[1] == other[1]  # a scale in millimetres is read in millimetres by everyone
    assert table(metric, "Marks")[0][0] == "18.3 m"
    assert table(metric, "What you shot")[0][0] == "20 yd (18.3 m)"  # as it was shot; computed


def test_marks_that_settle_everything_shoot_on_the_spot() -> None:
    rows = table(asked("marks", mark=("20 yd, 20.9 mm, 6 arrows", "60 yd, 44.7 mm, 12 arrows")), "What you shot")
    # two marks settle where the scale begins and how far it goes, so both are met
    assert [row[4] for row in rows] == ["on the spot", "on the spot"]


def test_one_distance_is_enough() -> None:
    account = asked("marks", mark=THREE, distances="40 yd")
    assert "The mark for 40 yd from 3 shot marks is good to" in account.answer
    assert account.plots == ()


def test_plain_numbers_need_two_marks_or_the_length_of_one() -> None:
    one = asked("marks", mark="20 yd, 14.5", distances="20, 60 yd")
    assert "second mark" in one.answer
    assert not any(each.title == "Marks" for each in one.tables)
    assert "Marks" in {
        each.title for each in asked("marks", mark="20 yd, 14.5", per_unit="1 mm", distances="20, 60 yd").tables
    }
    two = asked("marks", mark=("20 yd, 14.5", "60 yd, 38"), distances="20, 60 yd")
    assert "Marks" in {each.title for each in two.tables}
    assert two.papers == ()  # nothing says how long a step of that scale is


def test_a_chronograph_and_the_sight_alone_give_the_pins() -> None:
    account = asked("marks", speed="272 ft/s", sight_radius="34 in", peep="4 1/2 in")
    assert "no reading of your scale" in account.answer
    assert table(account, "Gaps on the sight")[-1][1].startswith("0.8")
    assert len(account.papers) == 1


def test_a_mark_that_is_wrong_is_left_out_and_named() -> None:
    account = asked("marks", mark=(*THREE, "30 yd, 29 mm"), distances="20, 60 yd")
    assert "The mark at 30 yd does not go with everything else and is left out" in account.answer
    assert [row[-1] for row in table(account, "What you shot")].count("left out") == 1


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"mark": "20 yd"}, "is no mark"),
        ({"mark": "20 yd, x"}, "does not start with a number"),
        ({"mark": "20 yd, 14, 0"}, "how many arrows"),
        ({"mark": "2 yd, 14"}, "no distance to shoot a mark at"),
        ({"mark": "20 yd, 14 kg"}, "a length is wanted"),
        ({"mark": ("20 yd, 14 mm", "30 yd, 15")}, "the same way"),
        ({"mark": ("20 yd, 14", "60 yd, 14")}, "read the same"),
        ({"mark": ("20 yd, 14", "60 yd, 2"), "numbers": "grow"}, "the numbers fall"),
        ({"distances": "60 to 20 yd"}, "no run of at most"),
        ({"distances": "20 to 500 yd"}, "not a possible distance"),
        ({"distances": "20"}, "no unit"),
        ({"speed": "900 ft/s"}, "not a possible speed"),
        ({"speed": "5 m/s"}, "no arrow leaves"),
        ({"sight_radius": "3 m"}, "cannot be right"),
        ({"slope": "80 deg"}, "no slope to shoot on"),
        ({"slope": "0 deg"}, "no slope to shoot on"),
        ({"mark": "100 m, 14", "distances": "140 m", "speed": "21 m/s"}, "arrow"),
    ],
)
def test_bad_answers_are_said_in_one_sentence(given: dict[str, str | tuple[str, ...]], said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        asked("marks", None, **given)
    assert str(caught.value).count("\n") == 0


@given(st.text(max_size=40))
@examples(max_examples=60)
def test_no_text_of_distances_is_more_than_refused(text: str) -> None:
    try:
        found = distances_of(text, System.METRIC)
    except InputError:
        return
    assert all(5.0 <= one <= 150.0 for one in found)
    assert list(found) == sorted(found)


def test_kept_answers_are_used_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    path.write_text(str(logbook.template(Hand.RIGHT, System.INCH, filled=True)), encoding="utf-8")
    keep_answers(path, TASK, {"mark": THREE})
    assert run(path, "marks", {}).to_json() == three().to_json()
    assert "2 shot marks" in run(path, "marks", {"mark": THREE[:2], "distances": ("20, 60 yd",)}).answer


def test_what_does_not_go_together_is_said_first_and_no_strip_is_printed() -> None:
    given = {"per_unit": "1 mm", "sight_radius": "86 cm", "speed": "62 m/s"}
    far = "20, 60 m"
    wrong_speed = asked("marks", None, **given, distances=far, mark=("18 m, 12.5", "50 m, 31", "60 m, 39"))
    assert "no single mark mends it" in wrong_speed.answer
    assert wrong_speed.papers == ()
    either = asked("marks", None, distances=far, mark=("18 m, 12.5", "30 m, 22", "60 m, 39"))
    assert "nobody can tell which" in either.answer
    assert either.papers == ()
