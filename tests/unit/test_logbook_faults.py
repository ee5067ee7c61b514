"""A fault that was put right: what was shot with it no longer counts, and a new rest finds its place again."""

from __future__ import annotations

from pathlib import Path

from spinewright.workflow import situation_of, start_bench, with_event

BENCH = (Path(__file__).parents[1] / "data" / "invented_bench.toml").read_text(encoding="utf-8")
WALK = {
    "kind": "shots",
    "distance": "20 yd",
    "target": "fresh foam",
    "hits": [
        {"shaft": 1, "state": "fletched", "hole": "left 0.4 in, high 0.2 in"},
        {"shaft": 7, "state": "bare", "hole": "left 2.1 in, high 0.6 in", "nock_leans": "right 2 deg"},
    ],
}


def test_shots_with_contact_do_not_count_once_it_is_cleared() -> None:
    bench = start_bench(BENCH)
    touched = with_event(with_event(bench, WALK), {"kind": "contact check", "vanes": False})
    before = len(situation_of(touched.state).history.seen)
    cleared = with_event(touched, {"kind": "contact check", "vanes": True})
    assert before > 0
    assert situation_of(cleared.state).history.seen == ()
    assert len(cleared.state.history.seen) == before  # kept all the same
    again = with_event(cleared, WALK)
    assert len(situation_of(again.state).history.seen) == 1


def test_a_lean_without_a_height_says_nothing_of_height() -> None:
    state = with_event(start_bench(BENCH), WALK).state
    bare = next(i for i in state.history.seen[-1].what.impacts if i.bare)  # type: ignore[union-attr] # a walk
    assert bare.lean_y is not None
    assert bare.lean_y < 0
    assert bare.lean_z is None


def test_the_rest_moved_there_and_back_is_the_same_setup() -> None:
    bench = start_bench(BENCH)
    there = with_event(bench, {"kind": "rest moved", "intended": "left 0.03 in"})
    back = with_event(there, {"kind": "rest moved", "intended": "right 0.03 in"})
    assert there.state.now != bench.state.now
    assert back.state.now == bench.state.now
