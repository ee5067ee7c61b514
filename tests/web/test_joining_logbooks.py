"""Two logbooks joined by files: in any order and as often as one likes it comes to the same, and nothing is dropped."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError
from typer.testing import CliRunner

from spinewright import logbook
from spinewright.cli import app
from spinewright.errors import InputError, SessionFileError, StoreError
from spinewright.logbook.exchange import _sum, exchange_text, read_exchange
from spinewright.logbook.store import BenchRow, EventRow, HeadRow, TapRow, Whole
from spinewright.logbook.store.stories import put_whole
from spinewright.logbook.uniting import put_together, united
from spinewright.units import System
from spinewright.workflow.benches import Benches, Refused, open_benches
from spinewright.workflow.benches.bench_json import bench_json
from spinewright.workflow.benches.joining import export_file, export_text, import_file, import_text
from spinewright.workflow.benches.kept import kept_from
from spinewright.workflow.benches.starting import make_bench
from spinewright.workflow.benches.view import view_of
from tests.stores import Place
from tests.web.benches_samples import SHOTS, served, tap

MARK = {"kind": "safe length", "mark": "25 in", "helper": True, "backstop": True, "when": "2026-05-01"}
HEAD = logbook.split(logbook.template(filled=True))[0]


def _moment(number: int) -> str:
    return f"2026-05-{1 + number // 1440:02d}T{number // 60 % 24:02d}:{number % 60:02d}:00.000000+00:00"


def _cut(length: str, carbon: str, day: int) -> dict[str, object]:
    return {"kind": "cut", "throat_length": length, "carbon_length": carbon, "when": f"2026-05-{day:02d}"}


@pytest.fixture
def two(place: Place) -> Iterator[tuple[Benches, Benches]]:
    """Two logbooks that both hold the same bow, with one entry."""
    here, there = open_benches(place("here")), open_benches(place("there"))
    make_bench(here, "b1", {"from": "quick", "values": {"bow.name": "shed bow"}}, System.INCH)
    here.add_event("b1", "e1", MARK)
    import_text(there, export_text(here), "file")
    yield here, there
    here.close()
    there.close()


def _exchanged(here: Benches, there: Benches) -> str:
    """What both come to once each was brought the other's."""
    mine, yours = export_text(here), export_text(there)
    import_text(here, yours, "file")
    import_text(there, mine, "file")
    assert export_text(here) == export_text(there)
    return export_text(here)


def test_a_logbook_goes_out_and_comes_in_whole(tmp_path: Path) -> None:
    here, there = open_benches(tmp_path / "here"), open_benches(tmp_path / "there")
    make_bench(here, "bdemo", {"from": "demo"}, System.INCH)
    make_bench(here, "b1", {"from": "quick"}, System.INCH)
    for number, (state, x, y) in enumerate(SHOTS, 1):
        here.put_tap("b1", "w1", f"t{number}", tap(number, state, x, y))
    here.rename("b1", "the other bow")
    assert export_file(here, tmp_path / "all.json") == 2
    said = import_file(there, tmp_path / "all.json")
    assert said.changed
    assert said.disputes == {}
    for bench in ("bdemo", "b1"):
        assert there.bench(bench).text == here.bench(bench).text
        assert there.bench(bench).row.name == here.bench(bench).row.name
    assert there.bench("b1").open == "w1", "a walk that goes on goes on there"
    assert export_text(there) == export_text(here) == (tmp_path / "all.json").read_text()
    again = import_file(there, tmp_path / "all.json")
    assert not again.changed
    assert "nothing was changed" in again.words[0]
    here.close()
    there.close()


def test_branches_are_joined_in_the_order_of_time_and_either_way_round(two: tuple[Benches, Benches]) -> None:
    here, there = two
    here.add_event("b1", "ea", {"kind": "rest moved", "clicks": "left 3", "when": "2026-05-03T10:00:00"})
    there.add_event(
        "b1", "eb", {"kind": "bolts turned", "both_bolts": "out 1/2", "weighed": "58 lb", "when": "2026-05-02"}
    )
    there.add_event("b1", "ec", {"kind": "settings good"})
    there.add_event("b1", "ed", {"kind": "settings good", "when": "2026-05-05"})
    _exchanged(here, there)
    assert [one.id for one in here.bench("b1").entries] == ["e1", "eb", "ea", "ec", "ed"]
    assert here.bench("b1").disputes == ()
    before = here.bench("b1").row.revision
    import_text(here, export_text(there), "file")
    assert here.bench("b1").row.revision == before, "brought in twice changes nothing"
    logbook.parse(here.bench("b1").export)


def test_two_cuts_of_the_same_arrows_are_told_and_a_person_settles_it(two: tuple[Benches, Benches]) -> None:
    here, there = two
    here.add_event("b1", "ea", _cut("29 in", "28 3/8 in", 3))
    there.add_event("b1", "eb", _cut("28 1/2 in", "27 7/8 in", 2))
    there.add_event("b1", "ec", {"kind": "rest moved", "clicks": "left 3", "when": "2026-05-04"})
    text = _exchanged(here, there)
    assert '"ea"' in text
    kept = here.bench("b1")
    assert [one.id for one in kept.entries] == ["e1", "eb", "ec"]
    told = " ".join(kept.disputes)
    assert "(entry ea) does not count" in told
    assert "changed the length of the arrows apart from each other" in told
    assert bench_json(here, view_of(kept, None))["cautions"] == [*kept.disputes, *kept.bench.state.cautions]
    assert 'id = "ea"' in kept.export
    assert [one.id for one in logbook.parse(kept.export).events] == ["e1", "eb", "ec"], "what is held is a comment"
    here.add_event("b1", "f1", {"kind": "sight moved", "clicks": "left 1", "when": "2026-05-05"})
    assert len(here.bench("b1").disputes) == 2, "something else settles nothing"
    with pytest.raises(InputError, match="cannot be undone here"):
        here.add_event("b1", "u1", {"kind": "undo", "undoes": "nobody"})
    here.add_event("b1", "u1", {"kind": "undo", "undoes": "eb"})
    here.add_event("b1", "u1", {"kind": "undo", "undoes": "eb"})
    kept = here.bench("b1")
    assert kept.disputes == ()
    assert kept.held == ()
    assert [one.id for one in kept.entries] == ["e1", "eb", "ea", "ec", "f1", "u1"]
    _exchanged(here, there)
    assert there.bench("b1").disputes == ()


def test_a_cut_that_is_held_may_itself_be_undone(two: tuple[Benches, Benches]) -> None:
    here, there = two
    here.add_event("b1", "ea", _cut("29 in", "28 3/8 in", 3))
    there.add_event("b1", "eb", _cut("28 1/2 in", "27 7/8 in", 2))
    _exchanged(here, there)
    kept = here.add_event("b1", "u1", {"kind": "undo", "undoes": "ea"})
    assert kept.disputes == ()
    assert kept.held == ()
    assert [one.id for one in kept.entries] == ["e1", "eb", "ea", "u1"]
    assert kept.bench.state.undone == ("ea",)
    with pytest.raises(Refused, match="undone already"):
        here.add_event("b1", "u2", {"kind": "undo", "undoes": "ea"})
    here.add_event("b1", "g1", {"kind": "settings good"})
    assert [one.id for one in here.bench("b1").entries][4:] == ["g1"]


def test_the_same_thing_moved_twice_is_told_until_it_is_measured_anew(two: tuple[Benches, Benches]) -> None:
    here, there = two
    here.add_event("b1", "ea", {"kind": "nock point moved", "measured": "up 0.03 in", "when": "2026-05-02"})
    there.add_event("b1", "eb", {"kind": "nock point moved", "measured": "up 0.05 in", "when": "2026-05-03"})
    _exchanged(here, there)
    [told] = here.bench("b1").disputes
    assert "changed the nock point apart from each other: 'nock point moved' on 2026-05-02 (entry ea) and" in told
    here.add_event("b1", "ec", {"kind": "nock point moved", "measured": "down 0.01 in", "when": "2026-05-04"})
    assert here.bench("b1").disputes == ()


def test_the_same_id_with_other_content_is_told_and_both_are_kept(two: tuple[Benches, Benches]) -> None:
    here, there = two
    here.add_event("b1", "ea", {"kind": "rest moved", "clicks": "left 3"})
    there.add_event("b1", "ea", {"kind": "rest moved", "clicks": "left 4"})
    text = _exchanged(here, there)
    assert "left 3" in text
    assert "left 4" in text
    [told] = here.bench("b1").disputes
    assert "(entry ea) was written otherwise in another logbook" in told
    assert "left 4" in told, "what was saved first counts"


def test_two_recorded_starts_and_two_names_are_told(two: tuple[Benches, Benches]) -> None:
    here, there = two
    for benches, points in ((here, "110 gr"), (there, "120 gr")):
        head = benches.bench("b1").head
        text = head.text.replace('"100 gr"]', f'"{points}"]')
        assert text != head.text
        benches.set_head("b1", text, head.assumed)
    there.rename("b1", "the loft bow")
    said = import_text(here, export_text(there), "file")
    assert "It was called 'shed bow' here." in said.words[0]
    assert "recorded start was changed in two logbooks" in here.bench("b1").disputes[0]
    head = here.bench("b1").head
    here.set_head("b1", head.text.replace('"120 gr"]', '"125 gr"]'), head.assumed)
    assert here.bench("b1").disputes == ()


def test_taps_of_one_walk_from_two_phones_are_one_walk(two: tuple[Benches, Benches]) -> None:
    here, there = two
    here.put_tap("b1", "w1", "t1", tap(1, "bare", 0.05, 0.0))
    import_text(there, export_text(here), "file")
    here.put_tap("b1", "w1", "t2", tap(2, "fletched", 0.0, 0.0))
    there.put_tap("b1", "w1", "t3", tap(3, "fletched", 0.01, 0.0))
    here.close_walk("b1", "w1")
    there.close_walk("b1", "w1")
    _exchanged(here, there)
    [visit] = [one.what for one in here.bench("b1").bench.state.history.seen]
    assert sorted(one.shaft for one in visit.impacts) == [1, 2, 3]  # type: ignore[union-attr]


def _both_correct_a_tap(here: Benches, there: Benches) -> None:
    here.put_tap("b1", "w1", "t1", tap(1, "bare", 0.05, 0.0))
    here.put_tap("b1", "w1", "t2", tap(2, "fletched", 0.0, 0.0))
    here.put_tap("b1", "w1", "t2", tap(2, "fletched", 0.001, 0.0))
    here.close_walk("b1", "w1")
    import_text(there, export_text(here), "file")
    assert there.bench("b1").disputes == (), "one who corrected what he knew contradicts nobody"
    here.put_tap("b1", "w1", "t1", tap(1, "bare", 0.0254, 0.0))
    there.put_tap("b1", "w1", "t1", tap(1, "bare", 0.0508, 0.0))
    _exchanged(here, there)
    for benches in (here, there):
        kept = benches.bench("b1")
        [told] = kept.disputes
        assert "tapped otherwise in two logbooks apart from each other" in told
        assert "saved last counts (shaft 1, state bare, hole right 2 in, high 0 in" in told
        assert "the other is kept (shaft 1, state bare, hole right 1 in, high 0 in" in told
        assert bench_json(benches, view_of(kept, None))["cautions"] == [told, *kept.bench.state.cautions]


@pytest.mark.parametrize("again", [0.0508, 0.03])
def test_a_tap_that_both_corrected_is_told_until_it_is_tapped_once_more(
    two: tuple[Benches, Benches], again: float
) -> None:
    here, there = two
    _both_correct_a_tap(here, there)
    here.put_tap("b1", "w1", "t2", tap(2, "fletched", 0.002, 0.0))
    assert len(here.bench("b1").disputes) == 1, "another arrow settles nothing"
    here.put_tap("b1", "w1", "t1", tap(1, "bare", again, 0.0))
    assert here.bench("b1").disputes == ()
    _exchanged(here, there)
    assert there.bench("b1").disputes == ()
    assert there.bench("b1").walks["w1"].taps["t1"]["x"] == again
    revision = here.bench("b1").row.revision
    assert here.put_tap("b1", "w1", "t1", tap(1, "bare", again, 0.0)).row.revision == revision


def test_a_tap_that_both_corrected_is_told_no_more_once_the_walk_is_undone(two: tuple[Benches, Benches]) -> None:
    here, there = two
    _both_correct_a_tap(here, there)
    assert here.add_event("b1", "u1", {"kind": "undo", "undoes": "w1"}).disputes == ()


def test_a_tap_that_one_took_back_and_the_other_corrected_is_told(two: tuple[Benches, Benches]) -> None:
    here, there = two
    for number in (1, 2):
        here.put_tap("b1", "w1", f"t{number}", tap(number, "bare", 0.05, 0.0))
    import_text(there, export_text(here), "file")
    here.put_tap("b1", "w1", "t1", tap(1, "bare", 0.0254, 0.0))
    there.put_tap("b1", "w1", "t1", tap(1, "bare", 0.05, 0.0, gone=True))
    _exchanged(here, there)
    [told] = here.bench("b1").disputes
    assert "An arrow of the walk that goes on" in told
    assert "counts (shaft 1, taken back)" in told


def test_taps_of_a_file_that_does_not_say_after_which_they_were_written_follow_one_another(
    two: tuple[Benches, Benches],
) -> None:
    here, there = two
    for x in (0.05, 0.04, 0.03):
        here.put_tap("b1", "w1", "t1", tap(1, "bare", x, 0.0))
    data = json.loads(export_text(here))
    for one in data["benches"][0]["taps"]:
        del one["after"]
    import_text(there, _signed(data), "file")
    assert there.bench("b1").disputes == ()
    assert export_text(there) == export_text(here)


def test_nothing_comes_in_when_anything_is_wrong(two: tuple[Benches, Benches], monkeypatch: pytest.MonkeyPatch) -> None:
    here, there = two
    make_bench(here, "b2", {"from": "quick"}, System.INCH)
    here.add_event("b1", "ea", {"kind": "settings good"})
    before = export_text(there)
    data = json.loads(export_text(here))
    data["benches"][1]["heads"][0]["text"] = "format = 1\n"
    with pytest.raises(InputError, match=r"benches\[2\].heads\[1\].text"):
        import_text(there, _signed(data), "file")
    assert export_text(there) == before
    calls: list[Whole] = []

    def second_breaks(connection: Connection, whole: Whole, now: str) -> None:
        calls.append(whole)
        if len(calls) == 2:
            raise DBAPIError("insert", None, OSError("the disk is full"))
        put_whole(connection, whole, now)

    with monkeypatch.context() as patched:
        patched.setattr("spinewright.logbook.store.store.put_whole", second_breaks)
        with pytest.raises(StoreError, match=r"the disk is full\); nothing was changed"):
            import_text(there, export_text(here), "file")
    assert export_text(there) == before, "the first bench did not come in either"
    assert import_text(there, export_text(here), "file").changed


def _signed(data: dict[str, Any]) -> str:
    return json.dumps({**data, "sha256": _sum(data["benches"])})


KINDS = (
    {"kind": "settings good"},
    {"kind": "rest moved", "clicks": "left 1"},
    {"kind": "nock point moved", "measured": "up 0.03 in"},
    {"kind": "safe length", "mark": "25 in", "helper": True, "backstop": True},
    {"kind": "cut", "throat_length": "28 1/2 in", "carbon_length": "27 7/8 in"},
    {"kind": "cut", "throat_length": "29 in", "carbon_length": "28 3/8 in"},
)


@st.composite
def wholes(draw: st.DrawFn) -> Whole:
    """A logbook's story of the bow that all of them hold: some of the same few ids, which may say different things."""
    ids = draw(st.lists(st.sampled_from("abcdefg"), unique=True, max_size=6))
    events: list[EventRow] = []
    for number, id_ in enumerate(ids):
        keys: dict[str, Any] = dict(draw(st.sampled_from(KINDS)))
        when = draw(st.none() | st.integers(1, 9))
        if when is not None:
            from datetime import date

            keys["when"] = date(2026, 5, when)
        after = draw(st.lists(st.sampled_from(ids[:number]), unique=True, max_size=2)) if number else []
        text = logbook.event_text({**keys, "id": id_})
        events.append(EventRow(id_, text, _moment(draw(st.integers(0, 9))), tuple(sorted(after))))
    heads = [HeadRow(HEAD, (), _moment(0))]
    if draw(st.booleans()):
        text = HEAD.replace("[owned]", f"# {draw(st.sampled_from('xy'))}\n[owned]")
        heads.append(HeadRow(text, (), _moment(draw(st.integers(1, 2))), (_moment(0),)))
    said = [
        TapRow(
            walk,
            "t1",
            json.dumps(tap(draw(st.integers(1, 3)), "bare", 0.01, 0.0)),
            _moment(draw(st.integers(0, 9))),
            tuple(_moment(n) for n in draw(st.sets(st.integers(0, 9), max_size=2))),
        )
        for walk in draw(st.lists(st.sampled_from(("w1", "w2")), max_size=2))
    ]
    name = draw(st.sampled_from(("one", "two")))
    row = BenchRow("b1", name, False, _moment(0), _moment(0), 1, True, _moment(draw(st.integers(0, 2))))
    return put_together(row, events, heads, said)


@settings(max_examples=15)
@given(wholes(), wholes(), wholes())
def test_joining_is_the_same_in_any_order_and_as_often_as_one_likes(a: Whole, b: Whole, c: Whole) -> None:
    _any_order(a, b, c)


@pytest.mark.endurance
@settings(max_examples=150)
@given(wholes(), wholes(), wholes())
def test_joining_many_more_is_the_same_in_any_order(a: Whole, b: Whole, c: Whole) -> None:
    _any_order(a, b, c)


def _any_order(a: Whole, b: Whole, c: Whole) -> None:
    both = united(a, b)
    assert _same(united(b, a)) == _same(both)
    assert _same(united(both, c)) == _same(united(a, united(b, c))) == _same(united(united(c, a), b))
    for part in (a, b, both):
        assert _same(united(both, part)) == _same(both)
    assert _same(read_exchange(exchange_text([both]), "file")[0]) == _same(both), "it goes through a file as it is"


@settings(max_examples=15)
@given(wholes(), wholes())
def test_nothing_is_dropped_and_each_story_keeps_its_order(a: Whole, b: Whole) -> None:
    both = united(a, b)
    for one in (a, b):
        assert {(e.id, e.text) for e in (*one.events, *one.variants)} <= {
            (e.id, e.text) for e in (*both.events, *both.variants)
        }
        assert {(t.walk, t.tap, t.body) for t in one.taps} <= {(t.walk, t.tap, t.body) for t in both.taps}
        assert {h.text for h in one.heads} <= {h.text for h in both.heads}
    kept = kept_from(both)
    assert {one.id for one in kept.entries} | {one.id for one in kept.held} == {one.id for one in both.events}
    place = {one.id: number for number, one in enumerate(both.events)}
    new = [one for one in a.events if one.id not in {other.id for other in b.events}]
    own = {one.id for one in new}
    for event in new:  # where both say of an id what it came after they may contradict each other; else none may
        for before in own & set(event.after):
            assert place[before] < place[event.id]


def _same(whole: Whole) -> str:
    return exchange_text([whole])


# --- hostile and broken files ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("good")
    benches = open_benches(folder)
    make_bench(benches, "b1", {"from": "quick"}, System.INCH)
    benches.add_event("b1", "e1", MARK)
    benches.put_tap("b1", "w1", "t1", tap(1, "bare", 0.05, 0.0))
    text = export_text(benches)
    benches.close()
    shutil.rmtree(folder)
    return text


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda b: b.update(id="../../etc"), r"benches\[1\].id: .* cannot be an id"),
        (lambda b: b.update(name="a\0b"), r"benches\[1\].name: .* can be kept"),
        (lambda b: b.update(name="\ud800"), r"benches\[1\].name"),
        (lambda b: b.update(made="yesterday"), r"benches\[1\].made: 'yesterday' is no moment"),
        (lambda b: b.update(extra=1), r"benches\[1\].extra: 'extra' is not known here"),
        (lambda b: b.pop("taps"), r"benches\[1\].taps: 'taps' is missing"),
        (lambda b: b.update(heads=[]), r"benches\[1\].heads: a bench needs a recorded start"),
        (lambda b: b["heads"][0].update(text="format = 1"), r"benches\[1\].heads\[1\].text"),
        (lambda b: b.update(events={}), r"benches\[1\].events: 'events' is no list"),
        (lambda b: b.update(events=[1]), r"benches\[1\].events\[1\]: this is no object"),
        (lambda b: b["events"][0].update(id="e2"), r"events\[1\].text: .* calls itself 'e1'"),
        (lambda b: b["events"][0].update(text="[[event]]\n[[event]]\n"), r"events\[1\].text: .* not one"),
        (lambda b: b["events"][0].update(text="x = " + "[" * 5000), r"events\[1\].text: this is not TOML"),
        (lambda b: b["events"][0].update(text='[[event]]\nkind = "wish"\nid = "e1"\n'), r"events\[1\].kind: 'wish'"),
        (lambda b: b["events"][0].update(after=["nobody"]), r"events\[1\].after: .* stands after 'nobody'"),
        (lambda b: b["taps"][0].update(body="{"), r"taps\[1\].body: what a tap says is no JSON"),
        (lambda b: b["taps"][0].update(body='{"walk": 1}'), r"taps\[1\].body: a tap needs"),
    ],
)
def test_a_hostile_file_is_refused_in_one_sentence_with_where(
    tmp_path: Path, good: str, change: Callable[[dict[str, Any]], object], says: str
) -> None:
    data = json.loads(good)
    change(data["benches"][0])
    benches = open_benches(tmp_path)
    with pytest.raises(InputError, match=rf"^evil\.json, (benches\[1\]\.)?{says}") as refused:
        import_text(benches, _signed(data), "evil.json")
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 1200
    assert benches.rows() == ()
    benches.close()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "line 1: this is no logbook file"),
        ("[]", "this is no logbook file"),
        ('{"spinewright_logbook": 2}', "the file has format 2, but this version of spinewright knows up to 1"),
        ('{"spinewright_logbook": true}', "True is no format"),
        ('{"spinewright_logbook": 1, "spinewright_logbook": 1}', "a name is there twice"),
        ('{"spinewright_logbook": NaN}', "NaN is no number"),
        ('{"spinewright_logbook": ' + "9" * 5000 + "}", "endless number"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_what_is_no_logbook_file_is_refused(text: str, says: str) -> None:
    with pytest.raises(SessionFileError, match=says):
        read_exchange(text, "file")


@settings(max_examples=30)
@given(st.data())
def test_a_file_with_any_letter_changed_or_its_end_missing_is_refused(good: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(good) - 2))
    letter = data.draw(st.sampled_from('0aZ" \n{}[],:\\é'))
    changed = good[:at] + letter + good[at + 1 :]
    for broken in (changed, good[:at]):
        with suppress(InputError):
            found = read_exchange(broken, "file")
            # blanks between the parts, or the version that wrote it, may be other ones
            assert _same(found[0]) == good


def test_the_commands_say_what_came_of_it(tmp_path: Path) -> None:
    def run(*said: str) -> tuple[int, str]:
        done = CliRunner().invoke(app, list(said))
        return done.exit_code, " ".join(done.output.split())

    here, there, file = str(tmp_path / "here"), str(tmp_path / "there"), str(tmp_path / "all.json")
    benches = open_benches(here)
    make_bench(benches, "b1", {"from": "quick"}, System.INCH)
    benches.add_event("b1", "e1", {"kind": "nock point moved", "measured": "up 0.03 in"})
    benches.close()
    assert run("export", file, "--store", here)[1].startswith("1 bench written to")
    assert "New here: 'My bow' with 1 entry." in run("import", file, "--store", there)[1]
    assert "nothing was changed" in run("import", file, "--store", there)[1]
    again, said = run("export", file, "--store", here)
    assert (again, "already" in said) == (4, True), "no file is written over"
    for number, folder in enumerate((here, there)):
        benches = open_benches(folder)
        benches.add_event("b1", f"n{number}", {"kind": "nock point moved", "measured": f"up 0.0{number + 1} in"})
        benches.close()
    run("export", str(tmp_path / "more.json"), "--store", here)
    told = run("import", str(tmp_path / "more.json"), "--store", there)[1]
    assert "Does not go together, My bow:" in told
    assert "changed the nock point apart from each other" in told
    assert run("import", str(tmp_path / "none.json"), "--store", there)[0] == 2


def test_the_page_saves_and_brings_in_a_whole_logbook(tmp_path: Path) -> None:
    with served(tmp_path / "one") as one, served(tmp_path / "two") as two:
        one.put("/api/benches/b1", json={"from": "quick"})
        saved = one.get("/api/logbook/export")
        assert saved.headers["content-disposition"].startswith('attachment; filename="logbook-20')
        answer = two.post("/api/logbook/import", json={"text": saved.text, "name": "logbook.json"})
        assert answer.status_code == 200
        assert answer.json()["words"] == ["New here: 'My bow' with 0 entries."]
        assert two.get("/api/logbook/export").text == saved.text
        assert "/api/logbook/export" in two.get("/").text
        refused = two.post("/api/logbook/import", json={"text": "{", "name": "logbook.json"})
        assert refused.status_code == 400
        assert refused.json()["error"]["field"]
        assert two.post("/api/logbook/import", json={}).status_code == 400
