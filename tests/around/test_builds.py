"""What could be built: flight numbers against closed forms, scores against samples, lists, order and mirror."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spinewright.belief import BeliefSettings, believe, break_ground
from spinewright.equipment import face_named, mass_model
from spinewright.errors import InputError
from spinewright.flight import GRAVITY, coast, decay_rate, drift, flight_body
from spinewright.outlook import Line, Use, some_rows, told_apart
from spinewright.outlook.builds import BuildDraws, _worth, aim_scatter, build_draws
from spinewright.outlook.fitting import fitting_lengths, within_reach
from spinewright.outlook.grid import with_point
from spinewright.units import GRAIN, INCH, POUND_FORCE, Hand, System
from spinewright.workflow.around.account import Account, Table
from spinewright.workflow.around.invented_lists import POINTS, SHAFTS
from spinewright.workflow.open_bench import with_event
from tests.around.benches import asked, example

FEW = """name,spine,weight,outer diameter,inner diameter,length,cost per dozen
thick,350,7.6 gr/in,0.364 in,0.318 in,32 in,90
thin,350,8.9 gr/in,0.222 in,0.166 in,32 in,120.5
"""
ONE_POINT = "mass,cost per dozen\n100 gr,14\n"
STATE = example().state


def _table(account: Account, title: str) -> Table:
    return next(table for table in account.tables if table.title == title)


@pytest.fixture(scope="module")
def draws() -> tuple[BuildDraws, Use]:
    """The example arrow at 50 m, drop to 60 m, 3 m/s of wind; distances are known."""
    belief = believe(break_ground(STATE.history, (), (), BeliefSettings(bows=40)), STATE.history, STATE.archer)
    bows = belief.bows()
    members = bows.rows(some_rows(len(bows), 12))
    use = Use(50.0, 60.0, 3.0, 0.0, 0.0, face_named("80 cm six-ring"))
    return build_draws(members, STATE.now, Line.of(STATE.archer, 50.0), use, np.full(12, 0.08)), use


def test_drop_and_drift_agree_with_closed_forms(draws: tuple[BuildDraws, Use]) -> None:
    """Computed: flat fire with drag, z'' = g e^(2kx)/v^2 integrated twice in x; drift by the lag rule (Didion).

    Both with the model's own drag of the straight arrow; plausible bows differ in drag, hence the tolerances.
    """
    found, use = draws
    body = flight_body(STATE.now.build, mass_model(STATE.now.build, bare=False), bare=False)
    speed = float(np.median(found.speed))
    k = decay_rate(body, speed)

    def fall(x: float) -> float:  # z'' = g t'^2 with t' = e^(kx)/v: integrated twice in x
        return GRAVITY / speed**2 * ((math.exp(2 * k * x) - 1) / (4 * k**2) - x / (2 * k))

    times = use.further / use.distance
    below = fall(use.further) - fall(use.distance) * times - STATE.now.bow.peep_above * (times - 1)
    assert np.median(found.drop) == pytest.approx(below, rel=0.06)
    lag = drift(use.wind, coast(use.distance, speed, k)[0], use.distance, speed)
    assert np.median(found.drift) == pytest.approx(lag, rel=0.25)


@pytest.mark.parametrize(("circular", "aside"), [(0.03, 0.0), (0.03, 0.05), (0.08, 0.04)])
def test_score_with_something_misjudged_agrees_with_samples(circular: float, aside: float) -> None:
    """Computed: the mean ring value of 400,000 seeded random arrows, each a disc as thick as the shaft."""
    face, rng = face_named("60 cm"), np.random.default_rng(4)
    y, z = circular * rng.standard_normal((2, 400_000))
    away = np.hypot(y + aside * rng.standard_normal(len(y)), z) - 0.003
    sampled = sum(np.mean(away <= radius) for _, radius in face.rings)  # rings step by one point
    found = _worth(face, (np.array([circular]), np.array([aside])), 0.006, np.array([True]))
    assert found[0] == pytest.approx(float(sampled), abs=0.02)


def test_miss_is_root_mean_square_of_all_parts() -> None:
    found = _worth(None, (np.array([0.03]), np.array([0.04])), 0.006, np.array([True]))
    assert found[0] == pytest.approx(np.sqrt(0.03**2 + 0.03**2 + 0.04**2))


@given(st.floats(1e-4, 5e-3), st.floats(0.0, 0.2), st.floats(0.0, 0.05))
@settings(max_examples=30)
def test_aim_is_never_more_than_the_archers_scatter_nor_less_than_half(
    scatter: float, own: float, apart: float
) -> None:
    zero = np.zeros(1)
    now = BuildDraws(zero, zero, zero, np.array([own]), np.array([apart]), zero, np.array([True]), "")
    aim = aim_scatter(np.array([scatter]), 18.0, now)[0]
    assert 0.5 * scatter * 18.0 <= aim * (1 + 1e-12)
    assert aim <= scatter * 18.0 * (1 + 1e-12)


def test_a_heavier_point_fits_shorter_and_a_weaker_shaft_too() -> None:
    """25 gr in front read like 0.6 in of length, an eighth of spine like 1 in (charts of the trade, from memory)."""
    belief = believe(break_ground(STATE.history, (), (), BeliefSettings(bows=40)), STATE.history, STATE.archer)
    now = STATE.now
    here = np.median(fitting_lengths(belief, now, now))
    heavier = np.median(fitting_lengths(belief, with_point(now, now.build.head.mass + 25 * GRAIN), now))
    assert here - heavier == pytest.approx(0.6 * INCH, rel=0.15)
    shaft = replace(now.build.shaft, static_spine=now.build.shaft.static_spine * np.exp(0.25))
    weaker = np.median(fitting_lengths(belief, replace(now, build=replace(now.build, shaft=shaft)), now))
    assert here - weaker == pytest.approx(2.0 * INCH, rel=0.15)
    stiff = np.median(fitting_lengths(belief, now, now, aim=0.5 * INCH))
    assert here - 0.5 * INCH < stiff < here
    assert within_reach(np.array([0.6, 0.7, 0.855, 0.9]), 0.65, 0.85) == 0.5  # 5 mm longer is near enough


def test_a_difference_is_told_only_when_the_bows_agree_and_it_shows(draws: tuple[BuildDraws, Use]) -> None:
    found, _ = draws
    lower = replace(found, worth=found.worth - 0.2)
    assert told_apart(lower, found, points=True)[1]
    assert not told_apart(found, found, points=True)[1]
    assert not told_apart(replace(found, worth=found.worth - 0.01), found, points=True)[1]
    split = np.where(np.arange(12) % 2, 0.5, -0.3)
    assert not told_apart(replace(found, worth=found.worth - split), found, points=True)[1]


def test_side_by_side_with_cost_mass_and_the_least_allowed() -> None:
    account = asked("builds", shafts=FEW, points=ONE_POINT)
    arrows = {str(row[0])[2:]: row for row in _table(account, "The arrow").rows}
    mass, over = (arrows["thin, 100 gr"][k] for k in (1, 2))
    # 5 gr per lb of peak weight: rating arrow of ASTM F1544; the example draws 61.5 lb.
    assert isinstance(mass, dict)
    assert isinstance(over, dict)
    assert float(str(mass["value"])) - float(str(over["value"])) == pytest.approx(5 * GRAIN * 61.5)
    assert {row[6] for row in _table(account, "In order").rows} == {"104.00", "134.50"}
    assert account.plots[0].series
    assert "comes first" in account.answer
    # Computed: 18 m / 0.9144 m = 19.69 yd; an archer who counts in yards shoots the round at 18 m all the same.
    assert any("face at 18 m (19.7 yd)" in one for one in account.rests_on)
    assert any("shortest safe length" in caution for caution in account.cautions)


def test_a_shaft_thicker_than_the_round_allows_and_a_light_arrow_are_left_out() -> None:
    light = FEW + "light,500,4.2 gr/in,0.222 in,0.202 in,32 in,1\nlimp,900,8 gr/in,0.222 in,0.202 in,32 in,1\n"
    account = asked("builds", shafts=light, points=ONE_POINT, widest_shaft="9.0 mm")
    left = {str(row[0]).split(",")[0]: str(row[1]) for row in _table(account, "Not ranked").rows}
    assert "limit of your round" in left["thick"]
    assert "do not shoot this" in left["light"]
    assert left["limp"].startswith("Too weak for this bow even at the shortest safe length")
    assert len(_table(account, "In order").rows) == 1


def test_the_mark_made_at_full_draw_says_how_short_is_too_short() -> None:
    weak = FEW + "weak,400,8.0 gr/in,0.218 in,0.166 in,31 1/2 in,90\n"
    mark = {"kind": "safe length", "mark": "27 1/4 in", "helper": True, "backstop": True}
    account = asked("builds", with_event(example(), mark), shafts=weak, points="mass\n130 gr\n")
    # Computed by hand: the rest stands 28 3/4 - 1 3/4 = 27 in from the throat (ASTM F1880), 1 in more makes 28 in.
    rows = {str(row[0])[2:]: row[1] for row in _table(account, "In order").rows}
    length = rows["weak, 130 gr"]
    assert isinstance(length, dict)
    assert float(str(length["value"])) < (28.0 - 5 / 8) * INCH
    assert any("safe by your mark alone: weak, 130 gr" in one for one in account.cautions)
    unmarked = asked("builds", shafts=weak, points="mass\n130 gr\n")
    assert not any("your mark alone" in one for one in unmarked.cautions)
    below = {**mark, "mark": "29 1/4 in"}
    marked = _table(asked("builds", with_event(example(), below), shafts=weak, points="mass\n130 gr\n"), "In order")
    for row in marked.rows:
        assert isinstance(row[1], dict)
        assert float(str(row[1]["value"])) >= (29.25 - 5 / 8) * INCH - 1e-9


def test_a_limit_that_was_kept_leaves_out_what_breaks_it_and_says_so() -> None:
    lines = ("shaft diameter at most 9.3 mm, 2026-01-02, an invented round", "peak weight at most 60 lb, 2026-01-02",
             "Shaft diameter at most 9.0 mm, 2026-03-01, another invented round")  # fmt: skip
    rows = [{"question": "limit", "answer": line} for line in lines]
    kept = with_event(example(), {"kind": "answers", "to": "limits", "answers": rows})
    account = asked("builds", kept, shafts=FEW, points=ONE_POINT)
    assert [row[0] for row in _table(account, "Not ranked").rows] == ["thick, 100 gr"]
    said = account.sentences[0]
    assert "at most 9.0 mm (0.354 in)" in said  # as it was looked up; 9.0 mm / 25.4, computed
    assert "read on 2026-03-01, another invented round" in said
    assert "leaves out thick, 100 gr" in said
    other = asked("builds", kept, shafts=FEW, points=ONE_POINT, widest_shaft="9.3 mm")
    assert len(_table(other, "In order").rows) == 2
    assert not any("limit you kept" in one for one in other.sentences)


def test_left_hander_reads_the_same_and_units_change_no_value() -> None:
    given = {"shafts": FEW, "points": "mass,kind,blades,blade area\n125 gr,fixed,3,0.2 in2\n", "for": "fixed heads"}
    right = asked("builds", example(), **given)
    assert asked("builds", example(Hand.LEFT), **given).to_json() == right.to_json()
    metric = asked("builds", example(system=System.METRIC), **given)
    for ours, theirs in zip(right.tables[:3], metric.tables[:3], strict=True):
        for one, other in zip(ours.rows, theirs.rows, strict=True):
            pairs = [(a, b) for a, b in zip(one, other, strict=True) if isinstance(a, dict) and isinstance(b, dict)]
            for a, b in pairs:
                assert a.get("value", a.get("middle")) == b.get("value", b.get("middle"))
    assert "mm" in str(metric.to_json())
    # Computed: the usual 3 m/s are 6.71 miles an hour; nobody reads the wind in feet a second.
    assert (right.tables[1].columns[3], metric.tables[1].columns[3]) == ("drift in 6.7 mph", "drift in 3 m/s")
    assert "Never a broadhead on an unfletched shaft" in " ".join(right.cautions)


def test_the_invented_lists_are_those_of_the_documents_and_can_all_be_read() -> None:
    docs = Path(__file__).parents[2] / "docs" / "around"
    assert (docs / "builds-shafts.csv").read_text(encoding="utf-8") == SHAFTS
    assert (docs / "builds-points.csv").read_text(encoding="utf-8") == POINTS
    assert "Invented" in SHAFTS.splitlines()[0]


def test_without_lists_what_lies_on_the_bench_is_taken_and_kept_answers_stand() -> None:
    rows = [{"question": "distance", "answer": "25 yd"}]
    bench = with_event(example(), {"kind": "answers", "to": "builds", "answers": rows})
    account = asked("builds", bench)
    assert len(_table(account, "In order").rows) == 1
    assert "25 yd" in _table(account, "In flight").columns[2]


@pytest.mark.parametrize(
    ("given_now", "place", "says"),
    [
        ({"shafts": FEW + "x,350,8 gr/in,0.2 in,0.3 in,32 in,\n"}, "shafts, line 4", "inner diameter"),
        ({"shafts": FEW + "x,350,heavy,0.3 in,0.2 in,32 in,\n"}, "shafts, line 4, weight", "heavy"),
        ({"shafts": FEW + "x,350,8 gr/in,0.3 in,0.2 in,,\n"}, "shafts, line 4, length", "missing"),
        ({"shafts": FEW + "thin,350,8 gr/in,0.3 in,0.2 in,32 in,\n"}, "shafts, line 4, name", "twice"),
        ({"shafts": FEW + "x,350,8 gr/in,0.3 in,0.2 in,32 in,-3\n"}, "shafts, line 4, cost per dozen", "cost"),
        ({"shafts": "name,stiffness\na,350\n"}, "shafts, line 1:", "stiffness"),
        ({"points": "mass,kind\n100 gr,sharp\n"}, "points, line 2, kind", "sharp"),
        ({"points": "mass,kind,blades\n100 gr,fixed,2.5\n"}, "points, line 2, blades", "whole number"),
        ({"points": "mass,kind\n100 gr,fixed\n"}, "points, line 2, kind of head", "blades"),
        ({"points": "mass,kind\n100 gr,mechanical\n"}, "points", "no field point"),
        ({"for": "fixed heads"}, "points", "blades"),
        ({"for": "darts"}, "for", "darts"),
        ({"distance": "400 yd"}, "distance", ""),
        ({"drop_to": "10 yd"}, "drop-to", "longer"),
        ({"wind": "0 m/s"}, "wind", "crosswind"),
        ({"range_error": "80 %"}, "range-error", "judges"),
        ({"face": "barn door", "for": "field or 3-d"}, "face", "barn door"),
        ({"invented": "perhaps"}, "invented", "yes"),
        ({"widest_shaft": "wide"}, "widest-shaft", "wide"),
        ({"shafts": FEW, "points": "mass\n" + "".join(f"{m} gr\n" for m in range(80, 102))}, "shafts", "at most 40"),
    ],
)
def test_what_cannot_be_used_is_said_with_its_place(given_now: dict[str, str], place: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        asked("builds", None, **given_now)
    assert place in str(caught.value)
    assert says in str(caught.value)


def test_peak_weight_of_the_example_is_what_the_tests_say() -> None:
    assert STATE.now.present_peak_weight == pytest.approx(61.5 * POUND_FORCE)
