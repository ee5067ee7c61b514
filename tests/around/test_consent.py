"""Consent before a cut: to one plan only, never without the mark, never below it, and the mirror for the other hand."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from spinewright import logbook
from spinewright.errors import InputError
from spinewright.report.paper import paper_pdf
from spinewright.units import Hand, System
from spinewright.workflow import OpenBench, start_bench, with_event
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.keeping import keep_answers
from spinewright.workflow.around.register import task_named
from tests.around.benches import asked, example

MARK = {"kind": "safe length", "mark": "28 1/2 in", "helper": True, "backstop": True}
AGREED = "the owner of the bow, 2026-05-03, 28 3/4 in, 6 shafts"


@lru_cache(maxsize=4)
def marked(hand: Hand = Hand.RIGHT, system: System = System.INCH) -> OpenBench:
    """The invented bench (29 1/4 in of shaft, 29 7/8 in from the throat) with its shortest safe length marked."""
    return with_event(example(hand, system), MARK)


@lru_cache(maxsize=4)
def weak(hand: Hand = Hand.RIGHT, away: str = "3 in") -> OpenBench:
    """With bare shafts that read weak; with ``away`` '-3 in' stiff."""
    side, other = ("right", "left") if (hand is Hand.RIGHT) == (away[0] != "-") else ("left", "right")
    bare = [(n, "bare", f"{side} {away.lstrip('-')}, low 0.5 in") for n in (4, 5, 6)]
    fletched = [(n, "fletched", f"{other} 0.{n} in, high 0.1 in") for n in (1, 2, 3)]
    hits = [{"shaft": n, "state": state, "hole": hole} for n, state, hole in fletched + bare]
    return with_event(marked(hand), {"kind": "shots", "distance": "20 yd", "target": "fresh foam", "hits": hits})


def blocks(account: Account) -> list[Any]:
    found: Any = account.papers[0].to_json()["blocks"]
    assert [one["block"] for one in found] == ["fitted"]
    return list(found[0]["blocks"])


def test_without_a_plan_nothing_is_cut() -> None:
    found = asked("consent", marked())
    assert found.answer.startswith("No cut is planned here")
    assert found.papers == ()


def test_without_the_mark_there_is_no_sheet_to_sign() -> None:
    found = asked("consent", example(), cut_to="28 3/4 in", shafts="6")
    assert "no shortest safe length is marked" in found.answer
    assert found.papers == ()


def test_work_on_the_bow_voids_the_mark_and_the_sheet_with_it() -> None:
    worked = with_event(marked(), {"kind": "bow changed", "what": "new string, by a technician"})
    assert asked("consent", worked, cut_to="28 3/4 in", agreed=AGREED).papers == ()


@pytest.mark.parametrize(
    ("length", "barred"),
    [
        # computed by hand: 28 1/2 in from the throat leaves 27 7/8 in of shaft, the nock makes 5/8 in
        ("27 7/8 in", False),
        ("27 13/16 in", True),
    ],
)
def test_never_below_the_mark(length: str, barred: bool) -> None:
    found = asked("consent", marked(), cut_to=length, shafts="6")
    assert found.answer.startswith("Do not cut that far") == barred
    assert (found.papers == ()) == barred


def test_never_lighter_than_the_bow_allows() -> None:
    heavy = with_event(marked(), {"kind": "bow check", "weighed": "78 lb"})
    found = asked("consent", heavy, cut_to="28 1/2 in", shafts="6")
    # computed by hand: 390.95 gr is just over 5 gr per lb of 78 lb (ASTM F1544), 6.45 gr less is not
    assert found.answer.startswith("Do not cut that far. Arrow mass")
    assert found.papers == ()


def test_the_sheet_says_what_is_cut_and_has_places_to_sign() -> None:
    found = asked("consent", marked(), cut_to="28 3/4 in", shafts="6")
    assert found.answer.startswith("Nobody has agreed yet to cut 6 shafts from 29 1/4 in to 28 3/4 in")
    rows = {
        str(row[0]): [one if isinstance(one, str) else one["text"] for one in row[1:]] for row in found.tables[0].rows
    }
    # computed by hand: half an inch of 8.6 gr/in is 4.3 gr of 390.95 gr
    assert rows["whole arrow weighs, worked out"] == ["391 gr", "386.6 gr"]
    assert rows["taken off, gone for good"][1] == "1/2 in"
    assert rows["more than that by"][1] == "7/8 in"
    kinds = [block["block"] for block in blocks(found)]
    assert kinds.count("signature") == 2
    assert kinds.count("picture") == 1
    assert any("cannot be undone" in str(block) for block in blocks(found))
    assert any("dust mask" in one for one in found.cautions)


def test_consent_stands_for_that_plan_alone() -> None:
    assert asked("consent", marked(), agreed=AGREED).answer == (
        "Consent to cut 6 shafts from 29 1/4 in to 28 3/4 in stands since 2026-05-03 (the owner of the bow). "
        "Any other plan needs a new one."
    )
    assert "stands since" in asked("consent", marked(), cut_to="730.25 mm", shafts="4", agreed=AGREED).answer
    for other in ({"cut_to": "28 1/2 in"}, {"cut_to": "28 7/8 in"}, {"shafts": "12"}):
        found = asked("consent", marked(), agreed=AGREED, **other)
        assert found.answer.startswith("The plan has changed")
        assert "2026-05-03 the owner of the bow agreed to 28 3/4 in for 6 shafts" in found.answer
        assert found.tables[1].rows[0][4] == "no longer the plan"
    later = "the owner of the bow, 2026-05-10, 28 1/2 in, 6 shafts"
    both = asked("consent", marked(), agreed=(AGREED, later))
    assert "28 1/2 in stands since 2026-05-10" in both.answer
    assert [row[4] for row in both.tables[1].rows] == ["no longer the plan", "stands"]
    swapped = asked("consent", marked(), agreed=(later, AGREED))
    assert any("not in the order" in one for one in swapped.sentences)
    unsaid = asked("consent", marked(), shafts="6", agreed="the owner of the bow, 2026-05-03, 28 3/4 in")
    assert unsaid.answer.startswith("The plan has changed")


def test_once_it_is_cut_a_further_cut_needs_a_new_consent() -> None:
    cut = {"kind": "cut", "throat_length": "29 3/8 in", "carbon_length": "28 3/4 in"}
    found = asked("consent", with_event(marked(), cut), agreed=AGREED)
    assert "agreed to on 2026-05-03 is made" in found.answer
    assert found.papers == ()
    further = asked("consent", with_event(marked(), cut), agreed=AGREED, cut_to="28 1/2 in")
    assert further.answer.startswith("The plan has changed")
    short = {"kind": "cut", "throat_length": "29 1/8 in", "carbon_length": "28 1/2 in"}
    assert "shorter than the 28 3/4 in" in asked("consent", with_event(marked(), short), agreed=AGREED).answer


def test_the_picture_teaches_the_rule_of_the_trade() -> None:
    plot = asked("consent", marked(), cut_to="28 3/4 in").plots[0]
    places = {one.name: one.x for one in plot.series}
    # common practice: for a right-handed archer a bare hole left of the fletched ones is stiff, right of them weak
    assert (
        places["bare, stiff arrow"][0]
        < min(places["fletched"])
        < max(places["fletched"])
        < places["bare, weak arrow"][0]
    )


def test_what_to_expect_carries_its_doubt_and_a_cut_goes_to_the_stiff_side() -> None:
    found = asked("consent", weak(), cut_to="28 1/2 in", shafts="6", expect="yes")
    now, after = found.plots[1].series
    assert now.low[0] < now.y[0] < now.high[0]
    assert after.y[0] < now.y[0]  # common practice: shorter is stiffer, so bare goes left for a right-hander
    assert any("in four bows of five" in one for one in found.sentences)
    assert len(found.papers) == 1


def test_a_stiff_arrow_gets_no_sheet() -> None:
    found = asked("consent", weak(away="-3 in"), cut_to="28 1/2 in", shafts="6", expect="yes")
    assert "a stiff arrow is never cut" in found.answer
    assert found.papers == ()


@pytest.mark.parametrize("expect", ["no", "yes"])
def test_the_plan_stands_on_the_page_that_is_signed(expect: str) -> None:
    found = asked("consent", weak(), cut_to="28 1/2 in", shafts="6", expect=expect)
    # page objects of the PDF (ISO 32000-1, table 30)
    assert len(re.findall(rb"/Type\s*/Page\b", paper_pdf(found.to_json()["papers"]))) == 1  # type: ignore[arg-type]


def _mirrored(text: str) -> str:
    return text.replace("left", "?").replace("right", "left").replace("?", "right")


def test_left_mirrors_right() -> None:
    given = {"cut_to": "28 1/2 in", "shafts": "6", "expect": "yes"}
    right, left = asked("consent", weak(), **given), asked("consent", weak(Hand.LEFT), **given)
    assert [_mirrored(one) for one in right.sentences] == list(left.sentences)
    assert [one.y[0] for one in right.plots[1].series] == pytest.approx([-one.y[0] for one in left.plots[1].series])
    assert [one.low[0] for one in right.plots[1].series] == pytest.approx(
        [-one.high[0] for one in left.plots[1].series]
    )
    for ours, theirs in zip(right.plots[0].series[1:], left.plots[0].series[1:], strict=True):
        assert ours.x[0] == -theirs.x[0]
    assert _mirrored(right.plots[0].words) == left.plots[0].words
    assert right.tables == left.tables


def test_metric_says_the_same() -> None:
    found = asked("consent", marked(Hand.RIGHT, System.METRIC), agreed=AGREED)
    assert found.answer.startswith("Consent to cut 6 shafts from 742.9 mm to 730.2 mm stands")


@pytest.mark.parametrize(
    ("given", "field", "what"),
    [
        ({"cut_to": "30 in"}, "cut-to", "nothing can be cut to"),
        ({"cut_to": "29 1/4 in"}, "cut-to", "nothing can be cut to"),
        ({"cut_to": "9 in"}, "cut-to", "cannot be right"),
        ({"cut_to": "28"}, "cut-to", "has no unit"),
        ({"shafts": "0"}, "shafts", "no number of shafts"),
        ({"shafts": "some"}, "shafts", "not a whole number"),
        ({"agreed": "yes"}, "agreed", "does not say who agreed"),
        ({"agreed": "the owner, in May, 28 in"}, "agreed", "is not a day"),
        ({"agreed": "the owner, 2026-05-03, short"}, "agreed", "number"),
        ({"agreed": "the owner, 2026-05-03, 28 in, all"}, "agreed", "no number of shafts"),
        ({"agreed": "the owner, 2026-05-03, 31 in"}, "agreed", "nothing can be cut to"),
        ({"cut_to": "28 3/4 in", "expect": "maybe"}, "expect", "neither yes nor no"),
    ],
)
def test_bad_input_names_its_place(given: dict[str, str], field: str, what: str) -> None:
    with pytest.raises(InputError, match=what) as error:
        asked("consent", marked(), **given)
    assert error.value.place.field == field


def test_kept_consent_is_found_again(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    logbook.append(path, MARK)
    keep_answers(path, task_named("consent"), {"agreed": (AGREED,)})
    bench = start_bench(path.read_text(encoding="utf-8"))
    assert asked("consent", bench).answer == asked("consent", marked(), agreed=AGREED).answer
    assert asked("consent", bench, cut_to="28 1/2 in").answer.startswith("The plan has changed")
