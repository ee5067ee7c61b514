"""The cards: one page each, the same bytes, what stands on them, mirrored holes, and words of any length."""

from __future__ import annotations

import re
from typing import Any, cast

import pytest

from spinewright.errors import InputError
from spinewright.report.paper import paper_pdf
from spinewright.report.plot_picture import plot_svg
from spinewright.units import Hand, System
from spinewright.workflow import OpenBench, with_event
from spinewright.workflow.around import papers as p
from spinewright.workflow.around.account import Account, Plot
from spinewright.workflow.build_sheet import sheet
from tests.around.benches import asked, example


def _shot(hand: Hand = Hand.RIGHT, system: System = System.INCH) -> OpenBench:
    """The invented bench after a walk; every word of a side is mirrored for the other hand."""
    far, near = ("right", "left") if hand is Hand.RIGHT else ("left", "right")
    hits = [
        {"shaft": 1, "state": "fletched", "hole": f"{near} 0.4 in, high 0.2 in"},
        {"shaft": 2, "state": "fletched", "hole": f"{far} 5 in", "bad": True},
        {"shaft": 7, "state": "bare", "hole": f"{far} 2.1 in, low 0.6 in"},
    ]
    found = example(hand, system)
    shots = {"kind": "shots", "when": "2026-05-03", "distance": "20 yd", "target": "fresh foam", "hits": hits}
    for event in (shots, {"kind": "rest moved", "intended": f"{far} 1/64 in"}):
        found = with_event(found, event)
    return found


SHOT = _shot()


def _pages(account: Account) -> int:
    """How many page objects the PDF has (ISO 32000-1, table 30)."""
    return len(re.findall(rb"/Type\s*/Page\b", paper_pdf(account.to_json()["papers"])))  # type: ignore[arg-type]


def _told(account: Account) -> str:
    return str(account.to_json()["papers"])


def test_each_card_is_one_page() -> None:
    assert _pages(asked("card", SHOT)) == 2
    for whose, title in (("bench", "Bench card"), ("customer", "Your bow and arrow")):
        account = asked("card", SHOT, **{"for": whose})
        assert [one.title for one in account.papers] == [title]
        assert _pages(account) == 1


def test_a_card_with_all_that_can_stand_on_it_goes_on_to_a_second_page() -> None:
    bench = SHOT
    for k in range(30):
        bench = with_event(bench, {"kind": "rest moved", "intended": f"{'left' if k % 2 else 'right'} 0.002 in"})
    for k in range(6):
        bench = with_event(bench, {"kind": "flex check", "shaft": 20 + k, "sound": False})
    long = "a long word to the customer " * 40
    account = asked("card", bench, customer="W" * 900, by=long, note=[long] * 9, day="2026-05-04")
    assert _pages(account) == 4
    assert "W" * 40 not in _told(account)
    assert any("last 14 of 31 changes" in one for one in account.sentences)


def test_the_same_logbook_gives_the_same_bytes() -> None:
    def pdf(by: str) -> bytes:
        return paper_pdf(cast(Any, asked("card", _shot(), **{"for": "bench", "by": by}).to_json()["papers"]))

    first = pdf("bench 2")
    assert pdf("bench 2") == first
    assert pdf("bench 3") != first


def test_everything_to_build_it_again_is_on_the_bench_card() -> None:
    told = _told(asked("card", SHOT, **{"for": "bench"}))
    found = sheet(SHOT)
    for label, text in (*found.parts, *found.settings, *found.checks):
        assert label in told
        assert text in told or text.replace("'", "\\'") in told
    for sentence in (*found.ledger, *found.put_back):
        assert sentence in told
    figures = {one.name: one.text for one in found.figures if one.of == "fletched"}
    assert figures["speed"] in told
    assert "±" in figures["speed"]  # a number that is not known exactly carries its doubt


def test_cautions_and_a_line_to_sign_are_on_both() -> None:
    for paper in asked("card", SHOT).papers:
        (fitted,) = paper.blocks
        inner = cast(list[dict[str, Any]], fitted["blocks"])
        assert inner[-1]["block"] == "signature"
        cares = [one["text"] for one in inner if one.get("care")]
        assert any("backstop" in one for one in cares)
        assert any("makers' limits" in one for one in cares)


def test_what_must_not_be_done_now_stands_at_the_head() -> None:
    bench = with_event(SHOT, {"kind": "flex check", "shaft": 7, "sound": False})
    grave = bench.state.cautions[0]
    for paper in asked("card", bench).papers:
        blocks = cast(list[dict[str, Any]], paper.blocks[0]["blocks"])
        assert blocks[0] == {"block": "words", "text": grave, "care": True}
        assert sum(one.get("text") == grave for one in blocks) == 1


def test_a_fault_that_was_found_stands_at_the_head_of_both() -> None:
    bench = with_event(SHOT, {"kind": "bow check", "cam_lean": False, "nock_fit": True})
    for paper in asked("card", bench).papers:
        blocks = cast(list[dict[str, Any]], paper.blocks[0]["blocks"])
        assert "found wrong: cam lean" in blocks[0]["text"]
        assert blocks[0]["care"]


def _holes(plot: Plot) -> dict[str, list[float]]:
    """Right and up of every hole, one after the other, by what it is of."""
    return {one.name: [*one.x, *one.y] for one in plot.series}


def test_the_holes_are_where_the_archer_sees_them() -> None:
    (plot,) = asked("card", SHOT).plots
    # By hand from the entry: right and high are positive, a shot called bad is left out.
    assert _holes(plot)["fletched"] == pytest.approx([-0.4, 0.2])
    assert _holes(plot)["bare"] == pytest.approx([2.1, -0.6])
    assert plot.even
    assert plot_svg({**plot.to_json(), "even": False}) != plot_svg(plot.to_json())
    (metric,) = asked("card", _shot(system=System.METRIC)).plots
    assert _holes(metric)["bare"] == pytest.approx([53.34, -15.24])
    assert "mm" in metric.x


def test_left_is_the_mirror_of_right() -> None:
    right, left = asked("card", SHOT), asked("card", _shot(Hand.LEFT))
    for one, other in zip(right.plots[0].series, left.plots[0].series, strict=True):
        assert one.x == tuple(-x for x in other.x)
        assert one.y == other.y
    swap = {"left": "right", "right": "left", "Left": "Right", "Right": "Left"}

    def words(account: Account) -> str:
        told = re.sub(r"'(x|low|high)': \[[^\]]*\]|'(left|right)': \[", "", _told(account))
        # These two say which hand, or both sides at once, and are no places.
        told = re.sub(r"(left|right)-handed", "handed", told)
        return re.sub(r"[Ll]eft and right|right of the spot", "", told)

    mirrored = re.sub(r"\b(left|right|Left|Right)\b", lambda m: swap[m[0]], words(left))
    assert mirrored == words(right)


def test_nothing_shot_and_no_marks_are_said() -> None:
    account = asked("card")
    assert account.plots == ()
    assert any("No walk" in one for one in account.sentences)
    assert any("'marks'" in one for one in account.sentences)
    assert "Nothing was shot yet" in _told(account)


def test_kept_limits_have_their_word() -> None:
    rows = [{"question": "limit", "answer": "shaft diameter at most 5 mm, 2026-03-01, indoor round"}]
    kept = with_event(SHOT, {"kind": "answers", "to": "limits", "answers": rows})
    assert "Broken: shaft diameter" in _told(asked("card", kept))


def test_kept_answers_that_hold_no_more_are_said() -> None:
    rows = [{"question": "limit", "answer": "shaft diameter about 5 mm"}]
    kept = with_event(SHOT, {"kind": "answers", "to": "limits", "answers": rows})
    assert "do not hold any more" in _told(asked("card", kept))


def test_a_day_that_is_none_is_refused() -> None:
    with pytest.raises(InputError) as error:
        asked("card", day="next week")
    assert error.value.place.field == "day"
    with pytest.raises(InputError) as error:
        asked("card", example(), **{"for": "nobody"})
    assert error.value.place.field == "for"


def test_the_day_is_that_of_the_last_entry() -> None:
    assert "2026-05-03" in _told(asked("card", SHOT))
    assert "2027-01-31" in _told(asked("card", SHOT, day="2027-01-31"))


def test_own_answers_kept_are_used_again() -> None:
    rows = [{"question": "customer", "answer": "number 3"}, {"question": "for", "answer": "customer"}]
    kept = with_event(SHOT, {"kind": "answers", "to": "card", "answers": rows})
    assert "number 3" in _told(asked("card", kept))
    assert len(asked("card", kept).papers) == 1


def test_fitted_blocks_shrink_onto_one_page_as_far_as_they_are_read() -> None:
    lines = [p.words(f"line {k}") for k in range(90)]

    def pages(*blocks: Any) -> int:  # noqa: ANN401 - any block
        pdf = paper_pdf([p.Paper("s", "t", blocks).to_json()])
        return len(re.findall(rb"/Type\s*/Page\b", pdf))

    assert pages(*lines[:55]) > 1
    assert pages(p.fitted(lines[:55])) == 1
    assert pages(p.fitted(lines)) == 2  # on one page its 90 lines would be set at 6 pt, computed
    assert pages(p.fitted([p.beside(lines[:45], lines[45:])])) == 1
    assert pages(p.beside(lines[:20], [p.grid(("a", "b"), [("1", "2")]), p.signature("x")])) == 1
