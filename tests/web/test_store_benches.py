"""Benches of the store: what was tapped and logged comes back after a restart, and sent twice it is kept once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from spinewright import logbook
from spinewright.errors import InputError
from spinewright.logbook.splitting import joined, split
from spinewright.units import Hand, System
from spinewright.workflow.benches import Benches, Missing, Refused, Taken, open_benches
from spinewright.workflow.benches.invented import invented_session
from spinewright.workflow.benches.starting import make_bench
from tests.stores import Place
from tests.web.benches_samples import SHOTS, tap

DATA = Path(__file__).parents[1] / "data"


def _bench(where: Path | str, hand: str = "right") -> Benches:
    benches = open_benches(where)
    make_bench(benches, "b1", {"from": "quick", "values": {"scope.hand": hand, "bow.name": "shed bow"}}, System.INCH)
    return benches


def _walk(benches: Benches, walk: str = "w1", **more: object) -> None:
    for number, (state, x, y) in enumerate(SHOTS, 1):
        benches.put_tap("b1", walk, f"t{number}", tap(number, state, x, y, **more))


def test_a_session_file_is_taken_apart_and_put_together_byte_for_byte() -> None:
    events = (DATA / "invented_events.toml").read_text()
    text = (DATA / "invented_bench.toml").read_text() + "\n" + events
    for whole in (invented_session(), text, logbook.template(filled=True)):
        head, chunks = split(whole)
        assert head + "".join(chunks) == whole
        again = logbook.parse(joined(head, chunks))
        assert logbook.replay(again) == logbook.replay(logbook.parse(whole))


def test_events_between_sections_are_written_anew_with_the_same_meaning() -> None:
    whole = invented_session()
    head, chunks = split(whole)
    owned = head.index("[owned]")
    mixed = head[:owned] + chunks[0] + "\n" + head[owned:] + "".join(chunks[1:])
    again_head, again = split(mixed)
    assert len(again) == len(chunks)
    assert logbook.replay(logbook.parse(joined(again_head, again))) == logbook.replay(logbook.parse(whole))


@pytest.mark.parametrize("hand", ["right", "left"])
def test_everything_comes_back_after_a_restart(place: Place, hand: str) -> None:
    benches = _bench(place(), hand)
    _walk(benches, when="2026-05-03T10:15:00")
    benches.add_event("b1", "e1", {"kind": "rest moved", "intended_xy": [0.0005, 0.0], "when": "2026-05-03T10:30:00"})
    _walk(benches, "w2", when="2026-05-03T10:40:00")
    before = benches.bench("b1")
    benches.close()
    again = open_benches(place())
    after = again.bench("b1")
    assert after.text == before.text
    assert after.bench == before.bench
    assert after.open == "w2"
    assert [event.kind for event in after.bench.session.events] == ["shots", "rest moved", "shots"]
    # +x is this archer's own right: in the right-handed frame left is positive, a left-hander's is mirrored
    sign = -1.0 if hand == "right" else 1.0
    assert after.bench.state.now.rest_y == pytest.approx(sign * 0.0005, abs=1e-5)  # written to 0.001 in
    assert logbook.replay(logbook.parse(after.text)) == after.bench.state
    again.close()


def test_left_and_right_mirror_each_other(place: Place) -> None:
    states = []
    for hand, sign in (("right", 1.0), ("left", -1.0)):
        benches = _bench(place(hand), hand)
        for number, (state, x, y) in enumerate(SHOTS, 1):
            sent = tap(number, state, sign * x, y, lean_x=sign * 0.03)
            benches.put_tap("b1", "w1", f"t{number}", sent)
        states.append(benches.bench("b1").bench.state)
        benches.close()
    assert states[0].history.seen == states[1].history.seen
    assert {states[0].scope.hand, states[1].scope.hand} == {Hand.RIGHT, Hand.LEFT}


def test_the_same_sent_twice_is_kept_once(place: Place) -> None:
    benches = _bench(place())
    _walk(benches)
    event = {"kind": "rest moved", "clicks": "left 3", "when": "2026-05-03T10:30:00"}
    benches.add_event("b1", "e1", event)
    before = benches.bench("b1")
    _walk(benches)
    benches.add_event("b1", "e1", event)
    assert benches.bench("b1").row.revision == before.row.revision
    assert benches.bench("b1").text == before.text
    with pytest.raises(Taken, match="taken by another event"):
        benches.add_event("b1", "e1", {**event, "clicks": "left 4"})
    with pytest.raises(Taken, match="taken by another bench"):
        make_bench(benches, "b1", {"from": "demo"}, System.INCH)
    with pytest.raises(Missing, match="no bench"):
        benches.bench("b2")
    benches.close()


def test_a_tap_is_corrected_taken_back_and_its_first_saying_is_kept(place: Place) -> None:
    benches = _bench(place())
    _walk(benches)
    benches.put_tap("b1", "w1", "t1", tap(1, "fletched", 0.1, 0.0, bad=True))
    benches.put_tap("b1", "w1", "t2", tap(2, "fletched", 0.0, 0.0, gone=True))
    [visit] = [item.what for item in benches.bench("b1").bench.state.history.seen]
    assert [one.shaft for one in visit.impacts] == [1, 3, 4]  # type: ignore[union-attr]
    assert visit.impacts[0].called_bad  # type: ignore[union-attr]
    assert len(benches._store.taps("b1")) == len(SHOTS) + 2
    for number in (1, 3, 4):
        benches.put_tap("b1", "w1", f"t{number}", tap(number, "bare", 0.0, 0.0, gone=True))
    assert benches.bench("b1").bench.session.events == ()
    assert benches.bench("b1").open_walk is None
    benches.close()


def test_undoing_the_last_takes_back_the_walk_that_goes_on(place: Place) -> None:
    benches = _bench(place())
    _walk(benches)
    benches.add_event("b1", "e1", {"kind": "undo", "undoes": "last"})
    kept = benches.bench("b1")
    assert kept.bench.state.undone == ("w1",)
    assert kept.bench.state.history.seen == ()
    benches.add_event("b1", "e2", {"kind": "undo", "undoes": "e1"})
    assert len(benches.bench("b1").bench.state.history.seen) == 1
    make_bench(benches, "b2", {"from": "quick"}, System.INCH)
    with pytest.raises(InputError, match="no event is left to undo"):
        benches.add_event("b2", "e1", {"kind": "undo", "undoes": "last"})
    benches.close()


def test_a_tap_that_comes_late_still_lands_in_its_walk(place: Place) -> None:
    benches = _bench(place())
    _walk(benches)
    _walk(benches, "w2")
    benches.put_tap("b1", "w1", "late", tap(5, "bare", 0.05, 0.0))
    state = benches.bench("b1").bench.state
    assert [len(item.what.impacts) for item in state.history.seen] == [5, 4]  # type: ignore[union-attr]
    assert benches.bench("b1").open == "w2"
    for number in (1, 2, 3, 4):
        benches.put_tap("b1", "w1", f"t{number}", tap(number, "bare", 0.0, 0.0, gone=True))
    with pytest.raises(InputError, match="keeps at least one arrow"):
        benches.put_tap("b1", "w1", "late", tap(5, "bare", 0.05, 0.0, gone=True))
    text = benches.bench("b1").text
    benches.close()
    again = open_benches(place())
    assert again.bench("b1").text == text
    again.close()


def test_a_clock_that_is_behind_or_far_ahead_loses_nothing(place: Place) -> None:
    benches = _bench(place())
    _walk(benches, when="2026-05-03T10:15:00")
    behind = {"kind": "rest moved", "clicks": "left 3", "when": "2026-05-03T09:00:00"}
    kept = benches.add_event("b1", "e1", behind)
    assert kept.bench.session.events[-1].when == datetime(2026, 5, 3, 10, 15)
    ahead = (datetime.now() + timedelta(days=4000)).isoformat(timespec="seconds")
    kept = benches.add_event("b1", "e2", {**behind, "when": ahead})
    when = kept.bench.session.events[-1].when
    assert isinstance(when, datetime)
    assert when <= datetime.now() + timedelta(minutes=1)
    _walk(benches, "w2", when="2026-05-03T08:00:00")
    text = benches.bench("b1").text
    benches.close()
    again = open_benches(place())
    assert again.bench("b1").text == text
    again.close()


def test_what_cannot_have_happened_is_refused_and_changes_nothing(place: Place) -> None:
    benches = _bench(place())
    _walk(benches)
    before = benches.bench("b1")
    with pytest.raises(Refused, match="shortest-safe-length mark"):
        benches.add_event("b1", "e1", {"kind": "cut", "throat_length": "29 in", "carbon_length": "28 3/8 in"})
    with pytest.raises(InputError, match="not a kind of event"):
        benches.add_event("b1", "e1", {"kind": "wish"})
    with pytest.raises(InputError, match="cannot have the number 0"):
        benches.put_tap("b1", "w1", "t9", tap(0, "bare", 0.0, 0.0))
    with pytest.raises(InputError, match="not a number"):
        benches.put_tap("b1", "w1", "t9", tap(1, "bare", float("nan"), 0.0))
    with pytest.raises(InputError, match="never shoot a broadhead"):
        benches.put_tap("b1", "w1", "t9", tap(1, "bare", 0.0, 0.0, head="fixed-blade head"))
    assert benches.bench("b1") == before
    benches.close()


def test_every_advice_is_kept_for_the_story_and_only_the_newest_picture(place: Place) -> None:
    benches = _bench(place())
    for revision in (1, 2, 3):
        benches.keep_answer("b1", "next", revision, "{}")
        benches.keep_answer("b1", "map", revision, "{}")
    assert [row.revision for row in benches.answers("b1", "next")] == [1, 2, 3]
    assert [row.revision for row in benches.answers("b1", "map")] == [3]
    benches.close()


def test_four_devices_that_tap_at_once_lose_nothing(place: Place) -> None:
    benches = _bench(place())

    def device(number: int) -> None:
        for shot in range(12):
            sent = tap(number * 20 + shot + 1, "bare" if shot % 2 else "fletched", 0.001 * shot, 0.001 * number)
            benches.put_tap("b1", f"w{number}", f"t{number}-{shot}", sent)
            if shot % 5 == 4:
                benches.add_event("b1", f"e{number}-{shot}", {"kind": "rest moved", "clicks": f"left {number + 1}"})

    with ThreadPoolExecutor(4) as pool:
        for done in [pool.submit(device, number) for number in range(4)]:
            done.result(60.0)
    kept = benches.bench("b1")
    shafts = [
        hit.impact.shaft
        for event in kept.bench.session.events
        if event.kind == "shots"
        for hit in event.hits  # type: ignore[attr-defined]
    ]
    assert sorted(shafts) == sorted(number * 20 + shot + 1 for number in range(4) for shot in range(12))
    assert sum(event.kind == "rest moved" for event in kept.bench.session.events) == 8
    benches.close()
    again = open_benches(place())
    assert again.bench("b1").text == kept.text
    assert again.bench("b1").row.revision == kept.row.revision == 1 + 48 + 8
    again.close()
