"""Long logbooks: the story page by page, the list of many benches, and a store filled at once as taps would fill it."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from soak.ten_years import Bow, build, event_rows, head_row, walked

from spinewright import logbook
from spinewright.logbook import events as ev
from spinewright.logbook.store import NewBench, Whole, open_store
from spinewright.units import Hand, System
from spinewright.workflow.benches import Benches, Kept, listing, open_benches, room, story
from spinewright.workflow.benches.answers import keep_answer
from spinewright.workflow.benches.joining import export_text, import_text
from spinewright.workflow.benches.kept import kept_from
from spinewright.workflow.benches.listing import benches_json, keep_said, read_ahead
from spinewright.workflow.benches.starting import make_bench
from spinewright.workflow.read_back import understood
from spinewright.workflow.undoing import undone_words
from tests.web.benches_samples import SHOTS, log, make, served, shoot, tap

replaying = import_module("spinewright.logbook.replay")  # the package has the function of the same name
LONG = Bow("blong", "invented long bow", Hand.LEFT, walks=90, scatter=0.02, tapped=True)
SHORT = replace(LONG, id="bshort", walks=25)


@pytest.fixture(scope="module")
def years(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("years") / "store"
    build(folder, [LONG], np.random.default_rng(3))
    return folder


def test_the_story_is_told_page_by_page_each_entry_once_and_as_it_was_understood_then(years: Path) -> None:
    session = _session(years)
    pages: list[list[dict[str, Any]]] = []
    with served(years) as client:
        told = client.get("/api/benches/blong/story").json()
        assert told["later"] is None
        while True:
            pages.insert(0, told["events"])
            assert {one["number"] for one in told["gaps"]} <= {one["number"] for one in told["events"]}
            if told["earlier"] is None:
                break
            assert client.get(told["earlier"]).status_code == 200
            told = client.get(f"/api{told['earlier'].replace('/b/', '/benches/')}").json()
            assert told["later"] is not None
    assert [len(page) for page in pages] == [20, 50, 50]
    events = [one for page in pages for one in page]
    assert [one["number"] for one in events] == list(range(1, len(session.events) + 1))
    assert [one["id"] for one in events] == [one.id for one in session.events]
    states = [logbook.replay(replace(session, events=session.events[:n])) for n in range(len(session.events) + 1)]
    for number, (event, one) in enumerate(zip(session.events, events, strict=True)):
        before, state = states[number : number + 2]
        if isinstance(event, ev.Undone):
            upto = replace(session, events=session.events[: number + 1])
            assert one["said"] == list(undone_words(upto, before, state))
        else:
            assert one["said"] == list(understood(event, state))
    assert any(one["undone_by"] for one in events)


def test_a_page_of_the_story_replays_what_came_before_it_once(years: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = _session(years)
    undos = [number for number, event in enumerate(session.events, 1) if isinstance(event, ev.Undone)]
    assert len(undos) > 2
    replayed: list[int] = []

    def played(one: logbook.Session) -> Any:  # noqa: ANN401 - passed on
        replayed.append(len(one.events))
        return _played(one)

    _played = replaying._played
    monkeypatch.setattr(replaying, "_played", played)
    with served(years) as client:
        client.get("/api/benches/blong")
        for last in (60, 75, *(one + 49 for one in undos)):  # undos in the middle, and as the first entry of a page
            monkeypatch.setattr(story, "_SAID", {})
            replayed.clear()
            assert client.get(f"/api/benches/blong/story?upto={last}").status_code == 200
            assert replayed == [max(min(last, len(session.events)) - 50 - story._BEFORE, 0)], last


def test_a_page_of_the_story_that_is_none_is_the_last_one(years: Path) -> None:
    with served(years) as client:
        last = client.get("/api/benches/blong/story").json()
        for upto in ("", "nonsense", "-3", "999999999", "9" * 400):
            assert client.get("/api/benches/blong/story", params={"upto": upto}).json() == last
        assert [one["number"] for one in client.get("/api/benches/blong/story?upto=0").json()["events"]] == [1]
        page = client.get("/b/blong/story").text
        assert 'href="/b/blong/story?upto=70"' in page
        assert ">Later entries<" not in page
        assert 'href="/b/blong/story"' in client.get("/b/blong/story?upto=70").text


def test_of_many_benches_the_latest_are_told_in_full_and_the_others_by_name_without_being_read(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    for number in range(14):
        store.make(NewBench(f"b{number}", f"bow {number}", number == 1, head_row(LONG)))
    store.make(NewBench("bodd", "bow that cannot be read", False, replace(head_row(LONG), text="odd")))
    store.close()
    with served(tmp_path) as client:
        make(client, "bnew", **{"from": "quick", "values": {"bow.name": "the newest"}})
        found = client.get("/api/benches").json()
        assert [one["id"] for one in found["benches"]] == ["bnew", "bodd", *(f"b{n}" for n in range(13, 3, -1))]
        assert found["benches"][0]["arrow"]
        assert found["benches"][1]["trouble"]
        assert [one["name"] for one in found["others"]] == ["bow 3", "bow 2", "bow 1", "bow 0"]
        assert found["demo"] == "b1"
        page = client.get("/").text
        assert all(f'href="/b/{one["id"]}"' in page for one in (*found["benches"], *found["others"]))
        desk = client.app.state.desk  # type: ignore[attr-defined]
        assert set(desk.benches._kept) == {one["id"] for one in found["benches"]} - {"bodd"}
        assert client.get("/b/b0").status_code == 200


def _list(benches: Benches, system: System | None) -> tuple[Any, set[str]]:
    """The list as one tells it who has just opened the store of ``benches``, and what had to be read for it."""
    opened = Benches(benches._store)
    told = json.loads(json.dumps(benches_json(opened, system)))
    return told, set(opened._kept)


def _anew(benches: Benches, system: System | None) -> Any:  # noqa: ANN401 - JSON
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(listing, "_said", lambda *_: None)
        return _list(benches, system)[0]


def _changes(benches: Benches) -> Iterator[None]:
    """Everything that can change what the list says of the bench 'b1', one after the other."""
    answer = {str(system): {"move": {"kind": "rest"}, "explanation": {"move": f"in {system}"}} for system in System}
    for number, (state, x, y) in enumerate(SHOTS):
        benches.put_tap("b1", "w1", f"t{number}", tap(number + 1, state, x, y))
        yield
    benches.close_walk("b1", "w1")
    yield
    keep_answer(benches, benches.bench("b1"), "next", {}, answer)
    yield
    benches.put_tap("b1", "w1", "t0", tap(1, "bare", 0.09, 0.09))
    yield
    benches.add_event("b1", "e1", {"kind": "rest moved", "clicks": "left 2"})
    yield
    keep_answer(benches, benches.bench("b1"), "next", {}, answer)
    yield
    benches.rename("b1", "the other bow")
    yield
    benches.set_head("b1", benches.bench("b1").head.text.replace('"100 gr"]', '"110 gr"]'), ())
    yield
    benches.add_event("b1", "e2", {"kind": "undo", "undoes": "w1"})
    yield


@pytest.mark.parametrize("joined", [False, True])
def test_what_is_kept_for_the_list_is_what_would_be_said_anew_after_every_change(tmp_path: Path, joined: bool) -> None:
    benches = open_benches(tmp_path / "store")
    make_bench(benches, "b1", {"from": "quick"}, System.INCH)
    if joined:
        other = open_benches(tmp_path / "other")
        make_bench(other, "b1", {"from": "quick"}, System.INCH)
        import_text(benches, export_text(other), "file")
        other.close()
    keep_said(benches)
    seen: list[Any] = []
    for _ in _changes(benches):
        anew = {system: _anew(benches, system) for system in (None, *System)}
        assert _list(benches, None)[0] == anew[None], "what was kept before the change is told as if it still held"
        keep_said(benches)
        for system, told in anew.items():
            assert _list(benches, system) == (told, set()), "what is kept needs no bench to be read"
        assert anew[None] not in seen
        seen.append(anew[None])
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(listing, "_program", lambda: "another one")
        assert _list(benches, None) == (seen[-1], {"b1"})
    benches.close()


def test_what_the_list_says_is_kept_when_the_benches_are_read_ahead(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        make(client, "b1", **{"from": "demo"})
        told = client.get("/api/benches").json()
    benches = open_benches(tmp_path)
    assert list(read_ahead(benches)) == ["b1"]
    assert _list(benches, None) == (told, set())
    benches.close()


def test_what_is_filled_in_at_once_is_what_tapping_leaves(tmp_path: Path) -> None:
    build(tmp_path / "filled", [SHORT], np.random.default_rng(4))
    rng = np.random.default_rng(4)
    walks = list(walked(SHORT, rng))
    others = iter([row for row in event_rows(walks, rng) if not row.id.startswith("w")])
    filled, tapped = open_benches(tmp_path / "filled"), open_benches(tmp_path / "tapped")
    tapped.make(SHORT.id, head_row(SHORT).text, SHORT.name, invented=True, assumed=head_row(SHORT).assumed)
    for number, walk in enumerate(walks):
        for name, body in walk.taps.items():
            tapped.put_tap(SHORT.id, walk.id, name, body)
        tapped.close_walk(SHORT.id, walk.id)
        if number % 3 == 2:
            row = next(others)
            tapped.add_event(SHORT.id, row.id, logbook.splitting.event_in(row.text))
    assert filled.bench(SHORT.id).text == tapped.bench(SHORT.id).text
    assert filled.bench(SHORT.id).walks == tapped.bench(SHORT.id).walks
    for one in (filled, tapped):
        one.close()


def _session(folder: Path) -> logbook.Session:
    benches = open_benches(folder)
    try:
        return benches.bench("blong").bench.session
    finally:
        benches.close()


def test_a_bench_that_takes_long_to_read_keeps_nobody_from_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    benches = open_benches(tmp_path)
    for bench in ("blong", "bother"):
        make_bench(benches, bench, {"from": "quick"}, System.INCH)
    benches.close()
    benches = open_benches(tmp_path)
    begun, may_end = threading.Event(), threading.Event()

    def slowly(whole: Whole, known: Kept | None = None) -> Kept:
        if whole.row.id == "blong":
            begun.set()
            assert may_end.wait(60.0)
        return kept_from(whole, known)

    monkeypatch.setattr(room, "kept_from", slowly)
    with ThreadPoolExecutor(2) as pool:
        reading = pool.submit(benches.bench, "blong")
        assert begun.wait(60.0)
        assert pool.submit(benches.put_tap, "bother", "w1", "t1", tap(1, "bare", 0.01, 0.02)).result(60.0).open == "w1"
        # what is changed meanwhile by one who read it too is not replaced by what was read before
        monkeypatch.setattr(room, "kept_from", kept_from)
        changed = benches.put_tap("blong", "w1", "t1", tap(1, "bare", 0.01, 0.02))
        may_end.set()
        assert reading.result(60.0) is changed is benches.bench("blong")
    benches.close()


def test_a_walk_that_was_drawn_before_is_drawn_as_if_it_were_the_first_time(tmp_path: Path) -> None:
    with served(tmp_path) as client:
        make(client, "b1", **{"from": "quick"})
        for walk in ("w1", "w2", "w3"):
            shoot(client, "b1", walk)

        def late(x: float) -> None:
            assert client.put("/api/benches/b1/walks/w1/taps/t1", json=tap(1, "fletched", x, 0.01)).status_code == 200

        steps = (
            lambda: None,
            lambda: late(0.05),
            lambda: log(client, "b1", "easide", kind="shaft set aside", shaft=3),
            lambda: client.put("/api/units", json={"units": "metric"}),
            lambda: log(client, "b1", "egone", kind="undo", undoes="w2"),
            lambda: late(-0.05),
            client.cookies.clear,
        )
        seen = []
        for step in steps:
            step()
            walks = client.get("/api/benches/b1/line").json()["walks"]
            assert walks == [client.get(f"/api/benches/b1/walks/{one['id']}").json()["walk"] for one in walks]
            seen.append(walks)
        assert all(before != after for before, after in pairwise(seen))
        assert [one["id"] for one in seen[-1]] == ["w3", "w1"]
