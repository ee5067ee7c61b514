"""Shafts by number: every shot counted once, every check dated, and who is due said rather too often than too late."""

from __future__ import annotations

from pathlib import Path

import pytest

from spinewright import logbook
from spinewright.errors import InputError
from spinewright.units import Hand, System
from spinewright.workflow import OpenBench, start_bench, with_event
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.register import task_named
from tests.around.benches import asked, example


def shots(bench: OpenBench, *shafts: tuple[int, str], when: str = "2026-05-02T10:00:00") -> OpenBench:
    side = "left" if bench.state.scope.hand is Hand.RIGHT else "right"
    hits = [{"shaft": n, "state": state, "hole": f"{side} 0.5 in, high 0.2 in"} for n, state in shafts]
    event = {"kind": "shots", "when": when, "distance": "20 yd", "target": "fresh foam", "hits": hits}
    return with_event(bench, event)


def flexed(bench: OpenBench, shaft: int, *, sound: bool = True, when: str | None = "2026-05-02T12:00:00") -> OpenBench:
    event = {"kind": "flex check", "shaft": shaft, "sound": sound, **({} if when is None else {"when": when})}
    return with_event(bench, event)


def row(account: Account, shaft: int) -> list[str]:
    return [str(cell) for line in account.tables[0].rows if line[0] == str(shaft) for cell in line]


def test_every_shot_is_counted_once_and_by_what_it_was() -> None:
    bench = shots(example(), (1, "fletched"), (1, "fletched"), (2, "bare"))
    tear = {"kind": "tear", "shaft": 2, "state": "bare", "distance": "6 ft", "tail": "right 0.5 in"}
    bench = with_event(bench, tear)
    series = {
        "kind": "nock series", "shaft": 2, "state": "bare", "distance": "6 ft", "through": "paper",
        "turning": "clockwise", "readings": [{"nock": f"{a} deg", "tail": "right 0.2 in"} for a in (0, 20, 40)],
    }  # fmt: skip
    found = asked("shafts", with_event(bench, series))
    # computed by hand: what was logged above
    assert row(found, 1)[1:6] == ["0", "2", "0", "2", "2"]
    assert row(found, 2)[1:6] == ["1", "0", "4", "5", "5"]


def test_a_shaft_no_check_was_logged_of_is_due() -> None:
    found = asked("shafts", shots(example(), (4, "bare")), set="4-5")
    assert found.answer == "2 shafts, 2 to shoot. Before the next session flex 4, 5."
    assert row(found, 4)[7] == "flex it first: no check logged"
    assert row(found, 5)[6] == "never"


def test_a_check_holds_until_it_is_shot_or_the_next_day() -> None:
    bench = flexed(shots(example(), (1, "fletched")), 1)
    assert asked("shafts", bench).answer.endswith("No check is due.")
    assert asked("shafts", bench, today="2026-05-02").answer.endswith("No check is due.")
    assert "flex 1" in asked("shafts", bench, today="2026-05-03").answer
    again = shots(bench, (1, "fletched"), when="2026-05-02T13:00:00")
    found = asked("shafts", again)
    assert row(found, 1)[4:6] == ["2", "1"]
    assert "flex 1" in found.answer
    undated = flexed(shots(example(), (1, "fletched")), 1, when=None)
    assert "flex 1" in asked("shafts", undated, today="2026-05-02").answer


def test_a_hard_hit_makes_it_due_until_a_check_that_is_surely_later() -> None:
    bench = flexed(example(), 3)
    hit = "3, 2026-05-02, the frame"
    found = asked("shafts", bench, hit=hit, today="2026-05-02")
    assert found.answer.startswith("1 shaft, 1 to shoot. Now flex 3, hit hard")
    assert row(found, 3)[7] == "flex it now: hit hard (2026-05-02, the frame)"
    assert any("may have been before it" in one for one in found.sentences)
    assert "Now flex" not in asked("shafts", bench, hit="3, 2026-05-02 11:00, the frame").answer
    assert "Now flex" in asked("shafts", bench, hit="3, 2026-05-02 12:30").answer
    assert "Now flex" not in asked("shafts", flexed(bench, 3, when="2026-05-03"), hit=hit).answer
    assert "Now flex 3" in asked("shafts", flexed(example(), 3, when=None), hit=hit).answer
    assert "Now flex 3" in asked("shafts", hit=hit).answer


def test_what_failed_is_never_shot_again_and_what_is_out_is_not_due() -> None:
    bench = flexed(shots(example(), (1, "bare"), (2, "bare"), (3, "bare")), 2, sound=False)
    bench = with_event(flexed(bench, 2, when="2026-05-04"), {"kind": "shaft set aside", "shaft": 3})
    found = asked("shafts", bench, retired="1, 2026-05-01, nock end worn", hit="2, 2026-05-05, a post")
    assert row(found, 2)[7] == "failed: break it in two"
    assert row(found, 1)[7] == "retired (2026-05-01, nock end worn)"
    assert row(found, 3)[7] == "set aside"
    assert found.answer == "3 shafts, 0 to shoot. Never shoot 2 again."
    assert any("failed its flex check" in one for one in found.cautions)


def test_the_persons_own_rule_retires_and_added_shots_count() -> None:
    table = "shaft,fletched,bare\n1,1990,\n2,5,3"
    found = asked("shafts", shots(example(), *[(1, "fletched")] * 10), unlogged=table, most="2000")
    assert row(found, 1)[1:5] == ["0", "2000", "0", "2000"]
    assert "retire it by your rule (2000 of 2000)" in row(found, 1)[7]
    assert row(found, 2)[1:5] == ["3", "5", "0", "8"]
    assert any("Shots you added have no day" in one for one in found.sentences)


def test_a_new_set_begins_at_nothing() -> None:
    bench = flexed(shots(example(), (1, "fletched"), (2, "bare")), 2, sound=False)
    changed = {"kind": "shaft changed", "throat_length": "30 in", "carbon_length": "29 3/8 in"}
    found = asked("shafts", shots(with_event(bench, changed), (1, "bare"), when="2026-05-03"))
    assert [line[0] for line in found.tables[0].rows] == ["1"]
    assert row(found, 1)[4] == "1"
    assert any("since the shafts were changed" in one for one in found.sentences)


def test_what_was_undone_does_not_count() -> None:
    bench = shots(example(), (1, "fletched"))
    undone = with_event(bench, {"kind": "undo", "undoes": bench.session.events[-1].id})
    assert "No shaft has a number yet" in asked("shafts", undone).answer


def test_carbon_is_flexed_and_aluminium_looked_at() -> None:
    bench = shots(example(), (1, "fletched"))
    assert any("break it in two" in one for one in asked("shafts", bench).cautions)
    text = str(logbook.template(filled=True)).replace('material = ""', 'material = "aluminium"')
    metal = asked("shafts", shots(start_bench(text), (1, "fletched")))
    assert "look at 1" in metal.answer
    assert row(metal, 1)[7] == "look at it first: no check logged"
    assert not any("lex " in one for one in metal.cautions)


def test_the_sheet_has_a_label_for_every_shaft() -> None:
    found = asked("shafts", shots(example(), (1, "fletched")), set="1-3", retired="2, 2026-05-01", today="2026-05-03")
    sheet = found.papers[0].to_json()
    blocks = sheet["blocks"]
    assert isinstance(blocks, list)
    labels = next(block["texts"] for block in blocks if block["block"] == "labels")
    assert labels == ["Shaft 1", "Shaft 2: retired (2026-05-01)", "Shaft 3"]
    assert sheet["foot"] == "For the session of 2026-05-03"


def test_left_is_the_mirror_of_right_and_metric_says_the_same() -> None:
    right = asked("shafts", shots(example(), (1, "fletched"))).to_json()
    assert asked("shafts", shots(example(Hand.LEFT), (1, "fletched"))).to_json() == right  # no side stands in it
    assert asked("shafts", shots(example(Hand.RIGHT, System.METRIC), (1, "fletched"))).to_json() == right


@pytest.mark.parametrize(
    ("given", "line", "field"),
    [
        ({"set": "1-x"}, None, "set"),
        ({"hit": "3"}, None, "hit"),
        ({"hit": "three, 2026-05-02, the frame"}, None, "hit"),
        ({"hit": "3, yesterday, the frame"}, None, "hit"),
        ({"retired": "0, 2026-05-02"}, None, "retired"),
        ({"today": "tomorrow"}, None, "today"),
        ({"most": "0"}, None, "most"),
        ({"most": "many"}, None, "most"),
        ({"unlogged": "shaft,bare\n1,2.5"}, 2, "bare"),
        ({"unlogged": "shaft,bare\n1,-2"}, 2, "bare"),
        ({"unlogged": "shaft,bare\n1,2\n1,3"}, 3, "shaft"),
        ({"unlogged": "shaft,bear\n1,2"}, 1, None),
    ],
)
def test_bad_input_names_its_place(given: dict[str, str], line: int | None, field: str) -> None:
    with pytest.raises(InputError) as error:
        asked("shafts", example(), **given)
    assert (error.value.place.line, error.value.place.field) == (line, field)


def test_kept_answers_are_used_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    given = {"set": ("1-3",), "hit": ("1, 2026-05-02, a post", "3, 2026-05-02, the frame")}
    keep_answers(path, task_named("shafts"), given)
    bench = start_bench(path.read_text(encoding="utf-8"))
    assert asked("shafts", bench).tables == asked("shafts", set="1-3", hit=given["hit"]).tables
