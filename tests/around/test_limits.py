"""Limits that a person looked up: kept, broken, too near to tell, grown old; no rule is ever known here."""

from __future__ import annotations

from pathlib import Path

import pytest

from spinewright import logbook
from spinewright.errors import InputError
from spinewright.units import Hand, System
from spinewright.workflow import start_bench, with_event
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.looked_up import read_rule
from spinewright.workflow.around.register import task_named
from tests.around.benches import asked, example

DAY = ", 2026-03-01, a round that was invented"


def stands(account: Account) -> list[str]:
    return [str(row[3]) for row in account.tables[0].rows]


def yours(account: Account) -> list[str]:
    return [str(row[1]["text"]) if isinstance(row[1], dict) else row[1] for row in account.tables[0].rows]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        # computed by hand from the invented bench: 0.262 in = 6.65 mm, 61.5 lb, 82 % let-off, 29 7/8 in
        ("shaft diameter at most 9.3 mm", "kept"),
        ("shaft diameter at most 6.5 mm", "broken"),
        ("shaft diameter at most 6.66 mm", "too near to tell: measure it"),
        ("peak weight at most 61.5 lb", "kept"),
        ("peak weight at most 60 lb", "broken"),
        ("peak weight at least 40 lb", "kept"),
        ("Let-off at most 80 %", "broken"),
        ("arrow length at least 28 in", "kept"),
        ("head width at least 7/8 in", "not known"),
        # 8.6 x 29.25 + 9 + 3 x 6.8 + 110 = 390.95 gr
        ("arrow mass at least 390 gr", "too near to tell: measure it"),
        ("arrow mass at least 385 gr", "kept"),
        ("arrow mass at least 400 gr", "broken"),
        ("arrow speed at most 400 ft/s", "kept"),
        ("arrow speed at most 150 ft/s", "broken"),
        ("kinetic energy at least 40 ft lb", "kept"),
    ],
)
def test_each_limit_is_held_against_the_build(line: str, said: str) -> None:
    assert stands(asked("limits", limit=line + DAY)) == [said]


def test_energy_is_that_of_mass_and_speed() -> None:
    found = asked("limits", limit=("arrow speed at most 400 ft/s" + DAY, "kinetic energy at least 1 J" + DAY))
    speed, energy = (row[1]["value"] for row in found.tables[0].rows if isinstance(row[1], dict))
    # computed: m v^2 / 2 with 390.95 gr of 64.79891 mg
    assert float(str(energy)) == pytest.approx(0.5 * 390.95 * 6.479891e-5 * float(str(speed)) ** 2, rel=1e-6)


def test_a_reading_of_this_build_counts_before_what_is_computed() -> None:
    read = with_event(example(), {"kind": "chronograph", "speed": "281 ft/s", "state": "fletched", "doubt": "1 ft/s"})
    found = asked("limits", read, limit="arrow speed at most 280 ft/s" + DAY)
    assert yours(found) == ["281.0 ± 1.0 ft/s"]
    assert stands(found) == ["too near to tell: measure it"]
    longer = with_event(read, {"kind": "bolts turned", "both_bolts": "out 0.5 turns", "weighed": "60 lb"})
    assert yours(asked("limits", longer, limit="arrow speed at most 280 ft/s" + DAY)) != yours(found)


def test_what_is_broken_is_said_first_and_what_is_old_with_it() -> None:
    lines = ("shaft diameter at most 6 mm" + DAY, "head width at least 1 in" + DAY, "peak weight at most 65 lb" + DAY)
    found = asked("limits", limit=lines, today="2027-03-03")
    assert found.answer.startswith("Broken: shaft diameter. What you looked up does not allow this build.")
    # computed: 2026-03-01 to 2027-03-03 are 367 days
    assert "look it up again: head width, peak weight, shaft diameter" in found.answer
    assert asked("limits", limit=lines[2], today="2027-03-01").answer == "Every limit you wrote down is kept."
    assert "not settled: head width" in asked("limits", limit=lines[1:]).answer
    assert asked("limits", limit=lines[1], head_width="1 1/8 in").answer == "Every limit you wrote down is kept."


def test_days_that_are_missing_or_still_to_come_are_said() -> None:
    assert any("No day is known" in one for one in asked("limits", limit="peak weight at most 65 lb" + DAY).sentences)
    early = asked("limits", limit="peak weight at most 65 lb" + DAY, today="2026-01-01")
    assert any("still to come" in one for one in early.sentences)
    dated = with_event(example(), {"kind": "settings good", "when": "2028-01-01"})
    assert "look it up again" in asked("limits", dated, limit="peak weight at most 65 lb" + DAY).answer


def test_nothing_written_down_is_nothing_checked() -> None:
    assert "nothing can be checked" in asked("limits").answer


def test_limits_of_the_file_are_shown_and_not_judged() -> None:
    text = str(logbook.template(filled=True)) + (
        '\n[[limits]]\nabout = "an invented round"\nsays = "no shaft thicker than 9.3 mm"\ndated = 2026-01-15\n'
    )
    assert "not checked here" in asked("limits", start_bench(text)).sentences[0]


def test_an_arrow_too_light_for_the_bow_is_warned_of_whatever_the_round_allows() -> None:
    light = with_event(example(), {"kind": "point changed", "mass": "25 gr"})
    found = asked("limits", light, limit="arrow mass at least 250 gr" + DAY)
    assert found.cautions[0].startswith("Arrow mass")  # 306 gr on 61.5 lb is less than 5 gr per lb (ASTM F1544)


def test_both_hands_and_both_systems_say_the_same() -> None:
    lines = ("shaft diameter at most 9.3 mm" + DAY, "arrow speed at most 300 ft/s" + DAY)
    right = asked("limits", limit=lines).to_json()
    assert asked("limits", example(Hand.LEFT), limit=lines).to_json() == right  # no side stands in it
    metric = asked("limits", example(Hand.RIGHT, System.METRIC), limit=lines)
    assert stands(metric) == stands(asked("limits", limit=lines))
    assert yours(metric)[0] == "6.65 ± 0.02 mm"  # computed: 0.262 x 25.4


@pytest.mark.parametrize(
    ("given", "field", "what"),
    [
        ({"limit": "nonsense"}, "limit", "is not a limit with the day"),
        ({"limit": "shaft diameter at most 9.3 mm"}, "limit", "is not a limit with the day"),
        ({"limit": "shaft diameter at most 9.3 mm, spring"}, "limit", "is not a day"),
        ({"limit": "shaft diameter at most 9.3, 2026-03-01"}, "limit", "has no unit"),
        ({"limit": "shaft colour at most 9.3 mm, 2026-03-01"}, "limit", "cannot be checked here"),
        ({"limit": "peak weight at most 65 lb" + DAY, "today": "soon"}, "today", "is not a day"),
        ({"limit": "peak weight at most 65 lb" + DAY, "head_width": "wide"}, "head-width", "number"),
    ],
)
def test_bad_input_names_its_place(given: dict[str, str], field: str, what: str) -> None:
    with pytest.raises(InputError, match=what) as error:
        asked("limits", example(), **given)
    assert error.value.place.field == field


def test_kept_answers_are_used_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    lines = ("peak weight at most 65 lb" + DAY, "arrow mass at least 350 gr" + DAY)
    keep_answers(path, task_named("limits"), {"limit": lines})
    bench = start_bench(path.read_text(encoding="utf-8"))
    assert asked("limits", bench).tables == asked("limits", limit=lines).tables


@pytest.mark.parametrize(
    ("written", "inch", "metric"),
    [  # computed: 9.3 / 25.4 in, 22.225 mm, 40 x 1.3558 J; pounds are said by metric archers as well
        ("shaft diameter at most 9.3 mm", "at most 9.3 mm (0.366 in)", "at most 9.3 mm"),
        ("head width at least 7/8 in", "at least 7/8 in", "at least 7/8 in (22.2 mm)"),
        ("kinetic energy at least 40 ft lb", "at least 40 ft lbf", "at least 40 ft lb (54.2 J)"),
        ("peak weight at most 60 lb", "at most 60 lb", "at most 60 lb (267 N)"),
        ("let-off at most 80%", "at most 80 %", "at most 80 %"),
    ],
)
def test_a_limit_is_said_as_it_was_looked_up(written: str, inch: str, metric: str) -> None:
    rule = read_rule(written + DAY)
    assert rule.sentence(System.INCH) == inch
    assert rule.sentence(System.METRIC) == metric
