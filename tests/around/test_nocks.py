"""The nocks of a set: what is there is found with its turn, what is not there is left, and left mirrors right."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom

from spinewright import logbook
from spinewright.advice.diagnosis import _cleanest
from spinewright.belief import sightings_of
from spinewright.errors import InputError
from spinewright.evidence import NockReading, NockSeries
from spinewright.evidence.nock_series import fit_nock_series
from spinewright.evidence.orienting import Aim, Shot, Standing, Verdict, harmonic, holm, orient, predicted
from spinewright.units import Hand, System
from spinewright.workflow import OpenBench, start_bench, with_event
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.register import task_named
from spinewright.workflow.build_words import alone_rows
from spinewright.workflow.showing import Voice
from spinewright.workflow.situations import situation_of
from tests.around.benches import asked, example

ROUND = np.radians(np.arange(0, 360, 20))


def shot(
    rng: np.random.Generator,
    *,
    shaft: int = 1,
    noise: float = 0.003,
    once: float = 0.0,
    twice: float = 0.0,
    at: float = 0.6,
    since: float = 0.0,
) -> Shot:
    """A series on paper: tail 4 mm left on the mean, its parts furthest left at nock angle ``at``."""
    readings = [
        NockReading(
            float(a),
            float(0.004 + once * math.cos(a - at) + twice * math.cos(2 * (a - at)) + rng.normal(0, noise)),
            float(rng.normal(0, noise)),
        )
        for a in ROUND
    ]
    return Shot(NockSeries(shaft, True, 1.8, True, tuple(readings)), since)


def alone(shot: Shot, aim: Aim = Aim.CLEAN) -> Standing:
    return orient([shot], aim, [None])[0]


def apart(a: float | None, b: float, turn: float = math.tau) -> float:
    assert a is not None
    return abs(math.remainder(a - b, turn))


def test_the_parts_of_a_known_series_come_back() -> None:
    # computed: sideways only, so the widest swing of each part is its own amplitude
    fit = fit_nock_series(shot(np.random.default_rng(0), noise=0.0, once=0.003, twice=0.011).series, noise=0.002)
    assert harmonic(fit, 1).size == pytest.approx(0.003)
    assert harmonic(fit, 2).size == pytest.approx(0.011)
    # computed: 18 shots evenly round give every coefficient a variance of 2/18 of a reading's
    assert harmonic(fit, 2).doubt == pytest.approx(0.002 * math.sqrt(2 / 18))
    tails, sd = predicted(fit, [0.6])
    assert tails[0] == pytest.approx((0.018, 0.0))
    assert sd[0] == pytest.approx(0.002 * math.sqrt(5 / 18))  # computed: 1/18 for the mean and 2/18 for each part


def test_holms_steps() -> None:
    # computed by hand from Holm 1979: 4 x 0.005, 3 x 0.01, 2 x 0.03, and never less than the step before
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([0.9, 0.8]) == [1.0, 1.0]
    assert holm([]) == []


def test_a_set_without_anything_is_named_no_oftener_than_it_says() -> None:
    # computed: 200 seeded sets of six shafts that differ in nothing; 99.9 % binomial bound over one in twenty
    named = 0
    for seed in range(200):
        rng = np.random.default_rng(seed)
        found = orient([shot(rng, shaft=k) for k in range(1, 7)], Aim.CLEAN, [None] * 6)
        named += any(one.verdict is not Verdict.NOTHING for one in found)
        assert all(one.turn is None for one in found if one.verdict is Verdict.NOTHING)
    assert named <= binom.ppf(0.999, 200, 0.05)


def test_a_stiff_side_goes_upright_and_counts_from_where_the_nock_stands() -> None:
    # common practice: a stiffer shaft tears its tail further right, so it is upright where the tail is furthest left
    series = shot(np.random.default_rng(1), twice=0.01, since=0.25)
    found = alone(series, Aim.STIFF)
    assert found.verdict is Verdict.STIFF_SIDE
    assert found.turn_doubt is not None
    assert apart(found.turn, 0.6 - 0.25, math.pi) < 4 * found.turn_doubt
    assert apart(found.other, found.turn or 0.0) == pytest.approx(math.pi)


def test_the_clean_angle_is_where_the_tail_is_short() -> None:
    found = alone(shot(np.random.default_rng(2), twice=0.012))
    # computed: 0.004 + 0.012 cos 2(a - 0.6) is nothing where the cosine is -1/3
    clean = [0.6 + sign * math.acos(-1 / 3) / 2 + half for sign in (1, -1) for half in (0, math.pi)]
    assert min(apart(found.turn, angle) for angle in clean) < 0.25
    assert found.size is not None
    assert found.size < 0.004
    assert found.gain is not None
    assert found.gain[1] <= found.gain[0] <= found.gain[2]


def test_a_bent_shaft_is_not_called_stiff() -> None:
    series = shot(np.random.default_rng(3), once=0.012)
    assert alone(series).verdict is Verdict.BENT
    assert alone(series, Aim.STIFF).turn is None


def table(*rows: str) -> str:
    return "\n".join(["# Invented.", "shaft,angle,where", *rows])


def readings(shaft: int, seed: int, hand: Hand = Hand.RIGHT) -> list[str]:
    rng, rows = np.random.default_rng(seed), []
    for angle in range(0, 360, 20):
        y = 0.2 + 0.5 * math.cos(2 * math.radians(angle - 40)) + rng.normal(0, 0.08)
        side = "left" if (y > 0) == (hand is Hand.RIGHT) else "right"
        rows.append(f"{shaft},{angle} deg,{side} {abs(y):.2f} in and high 0.1 in")
    return rows


def test_a_table_of_readings_gives_turns_labels_and_a_ring() -> None:
    found = asked("nocks", readings=table(*readings(1, 1), *readings(2, 2)), set="1-3", to="stiff")
    turns = found.tables[0].rows
    assert [row[0] for row in turns] == ["1", "2", "3"]
    assert turns[2][1:3] == ("no series", "leave it")
    assert "clockwise" in str(turns[0][2])
    assert "stiff side" in found.answer
    sheet = found.papers[0].to_json()["blocks"]
    assert isinstance(sheet, list)
    assert [len(block["texts"]) for block in sheet if block["block"] == "labels"] == [3]
    ring = next(block for block in sheet if block["block"] == "strip")
    assert ring["length"] == pytest.approx(math.pi * 0.262 * 25.4)  # computed: once round the example's shaft
    json.dumps(found.to_json(), allow_nan=False)


def test_left_mirrors_right() -> None:
    right = asked("nocks", readings=table(*readings(1, 1)))
    left = asked("nocks", example(Hand.LEFT), readings=table(*readings(1, 1, Hand.LEFT)), turning="counterclockwise")
    turned = str(right.to_json()["tables"])
    swapped = turned.replace("counterclockwise", "?").replace("clockwise", "counterclockwise").replace("?", "clockwise")
    assert "clockwise" in turned
    assert str(left.to_json()["tables"]) == swapped


def test_metric_says_the_same() -> None:
    inch = asked("nocks", readings=table(*readings(1, 1)))
    metric = asked("nocks", example(Hand.RIGHT, System.METRIC), readings=table(*readings(1, 1)))
    assert inch.tables[0].rows[0][2] == metric.tables[0].rows[0][2]
    one, other = inch.tables[0].rows[0][5], metric.tables[0].rows[0][5]
    assert isinstance(one, dict)
    assert isinstance(other, dict)
    assert one["middle"] == other["middle"]
    assert "mm" in str(other["text"])


def logged(bench: OpenBench, shaft: int = 7, seed: int = 1) -> OpenBench:
    lines = [row.split(",") for row in readings(shaft, seed)]
    event = {
        "kind": "nock series",
        "shaft": shaft,
        "state": "bare",
        "distance": "6 ft",
        "through": "paper",
        "turning": "clockwise",
        "readings": [{"nock": angle, "tail": where} for _, angle, where in lines],
    }
    return with_event(bench, event)


def test_logged_series_are_read_and_follow_the_turns_of_the_set() -> None:
    bench = logged(example())
    before = asked("nocks", bench, to="stiff")
    typed = asked("nocks", readings=table(*readings(7, 1)), to="stiff")
    assert before.tables[0].rows == typed.tables[0].rows
    turned = with_event(bench, {"kind": "nock turned", "turned": "clockwise 30 deg"})
    after = asked("nocks", turned, to="stiff")
    degrees = [_signed(str(one.tables[1].rows[0][4])) for one in (before, after)]
    assert apart(math.radians(degrees[0] - degrees[1]), math.radians(30), math.pi) < math.radians(1.01)


def test_a_nock_turned_alone_is_counted_in_and_its_fellows_stay() -> None:
    bench = logged(logged(example()), shaft=8, seed=2)
    turned = with_event(bench, {"kind": "nock turned", "turned": "clockwise 30 deg", "shaft": 7})
    before, after = (asked("nocks", one, to="stiff") for one in (bench, turned))
    ways = [{row[0]: _signed(str(row[4])) for row in one.tables[1].rows} for one in (before, after)]
    assert apart(math.radians(ways[0]["7"] - ways[1]["7"]), math.radians(30), math.pi) < math.radians(1.01)
    assert ways[0]["8"] == ways[1]["8"]
    assert any("of shaft 7 clockwise 30" in one for one in after.sentences)
    ((_, shown),) = alone_rows(turned.state.history.own_turns, Voice(Hand.RIGHT, System.INCH))
    assert shown.startswith("shaft 7: 30")
    assert "clockwise" in shown
    undone = with_event(turned, {"kind": "undo", "undoes": turned.session.events[-1].id})
    assert undone.state.history.own_turns == ()


def test_a_nock_turned_alone_and_back_again_stands_as_its_fellows() -> None:
    there = with_event(example(), {"kind": "nock turned", "turned": "clockwise 200 deg", "shaft": 7})
    assert dict(there.state.history.own_turns) == pytest.approx({7: math.radians(-160)})
    back = with_event(there, {"kind": "nock turned", "turned": "counterclockwise 200 deg", "shaft": 7})
    assert back.state.history.own_turns == ()
    cut = with_event(there, {"kind": "safe length", "mark": "27 in", "helper": True, "backstop": True})
    cut = with_event(cut, {"kind": "cut", "throat_length": "29 3/8 in", "carbon_length": "28 3/4 in"})
    assert cut.state.history.own_turns == ()  # every nock was out and seated anew


def test_a_left_handers_nock_turned_alone_reads_as_written() -> None:
    bench = with_event(example(Hand.LEFT), {"kind": "nock turned", "turned": "clockwise 40 deg", "shaft": 3})
    ((_, shown),) = alone_rows(bench.state.history.own_turns, Voice(Hand.LEFT, System.INCH))
    assert re.match(r"shaft 3: 40\S* (deg )?clockwise", shown)


def test_a_series_begun_with_the_nock_turned_counts_from_there() -> None:
    turned = with_event(example(), {"kind": "nock turned", "turned": "clockwise 40 deg", "shaft": 7})
    bench = logged(turned)
    (item,) = bench.state.history.seen
    assert isinstance(item.what, NockSeries)
    assert item.what.turned == pytest.approx(math.radians(40))
    setups = [bench.state.start]
    first = sightings_of(bench.state.history.seen, setups)[0]
    assert first.angle == pytest.approx(math.radians(40) + item.what.readings[0].angle)


def test_the_advice_leaves_a_series_whose_shaft_was_turned_alone_since() -> None:
    bench = logged(example())
    turned = with_event(bench, {"kind": "nock turned", "turned": "clockwise 40 deg", "shaft": 7})
    other = with_event(bench, {"kind": "nock turned", "turned": "clockwise 40 deg", "shaft": 8})
    rng = np.random.default_rng(1)
    assert _cleanest(situation_of(turned.state), rng) is None
    assert _cleanest(situation_of(other.state), rng) is not None
    again = logged(turned, seed=3)
    assert _cleanest(situation_of(again.state), rng) is not None
    assert any("turned alone" in one for one in turned.state.notices)


def _signed(text: str) -> float:
    way, size, *_ = text.split()
    return float(size) * (1 if way == "clockwise" else -1)


def test_what_no_longer_says_anything_is_left_out() -> None:
    cut = with_event(logged(example()), {"kind": "safe length", "mark": "27 in", "helper": True, "backstop": True})
    cut = with_event(cut, {"kind": "cut", "throat_length": "29 3/8 in", "carbon_length": "28 3/4 in"})
    found = asked("nocks", cut)
    assert "no nock series to read" in found.answer
    assert "the nock was out since" in found.sentences[0]
    twice = asked("nocks", logged(logged(example()), seed=2))
    assert "only the last series" in twice.sentences[0]


def test_too_little_is_said() -> None:
    few = asked("nocks", readings=table("1,0 deg,right 0.2 in", "1,20 deg,right 0.3 in"))
    assert "cannot show what turns" in few.answer
    assert "no nock series" in asked("nocks").answer


@pytest.mark.parametrize(
    ("given", "line", "field"),
    [
        ({"readings": table("1,0 deg,0.2 in")}, 3, "where"),
        ({"readings": table("one,0 deg,right 0.2 in")}, 3, "shaft"),
        ({"readings": table("1.5,0 deg,right 0.2 in")}, 3, "shaft"),
        ({"readings": table("1,,right 0.2 in")}, 3, "angle"),
        ({"readings": table("1,800 deg,right 0.2 in")}, 3, "angle"),
        ({"readings": table("1,0 deg,right 200 in")}, 3, "where"),
        ({"readings": table("1,0 deg,right 2 in"), "distance": "80 yd"}, None, "readings"),
        ({"set": "1-x"}, None, "set"),
        ({"set": "1-1000"}, None, "set"),
        ({"to": "best"}, None, "to"),
    ],
)
def test_bad_input_names_its_place(given: dict[str, str], line: int | None, field: str) -> None:
    with pytest.raises(InputError) as error:
        asked("nocks", example(), **given)
    assert (error.value.place.line, error.value.place.field) == (line, field)


def test_kept_answers_are_used_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    keep_answers(path, task_named("nocks"), {"readings": (table(*readings(1, 1)),), "set": ("1-2",)})
    bench = start_bench(path.read_text(encoding="utf-8"))
    assert asked("nocks", bench).tables == asked("nocks", readings=table(*readings(1, 1)), set="1-2").tables


def test_an_arrow_that_is_too_light_is_said_first() -> None:
    # ASTM F1544: 5 gr per lb of peak weight, 308 gr for 61.5 lb; shafts of 4 gr/in stay below it
    text = str(logbook.template(filled=True)).replace('weight = "8.6 gr/in"', 'weight = "4 gr/in"')
    assert asked("nocks", start_bench(text)).cautions[0].startswith("Arrow mass")
