"""Benches in memory and on disk, what advice is asked about, and events read back."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from spinewright import workflow
from spinewright.errors import EvidenceError, InputError, SessionFileError, StoreError
from spinewright.logbook import template
from spinewright.units import GRAIN, INCH, Hand, System
from spinewright.workflow import OpenBench, bench, log_event, new_session, situation_of, start_bench, with_event
from spinewright.workflow.read_back import last_seen, understood

SAFE = {"kind": "safe length", "mark": "27 1/4 in", "helper": True, "backstop": True}
WALK = {
    "kind": "shots",
    "distance": "18 m",
    "target": "fresh foam",
    "hits": [
        {"shaft": 1, "state": "fletched", "hole": "left 0.4 in, high 0.2 in"},
        {"shaft": 7, "state": "bare", "hole": "left 2.1 in", "nock_leans": "right 2 deg", "bad": True},
    ],
}


def _bench(*events: Mapping[str, object], hand: Hand = Hand.RIGHT, system: System = System.INCH) -> OpenBench:
    text = template(hand, system, filled=True).replace("# points =", "points =")
    now = start_bench(text)
    for event in events:
        now = with_event(now, event)
    return now


def _said(now: OpenBench) -> str:
    return " ".join(understood(now.session.events[-1], now.state))


def test_the_public_list_is_exact() -> None:
    homes = {name for names in workflow._HOMES.values() for name in names}
    assert sorted(workflow.__all__) == sorted(homes)
    for name in workflow.__all__:
        assert getattr(workflow, name) is not None
    with pytest.raises(AttributeError, match="nosuch"):
        _ = workflow.nosuch


def test_memory_and_file_lead_to_the_same_bench(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(template(filled=True).replace("# points =", "points ="))
    for event in (SAFE, {**WALK, "id": "w1"}):
        log_event(path, event)
    from_file, in_memory = bench(path), _bench(SAFE, {**WALK, "id": "w1"}).state
    assert from_file.history == in_memory.history
    assert from_file.safe_length == in_memory.safe_length


def test_an_event_leaves_the_bench_before_it_alone() -> None:
    before = _bench()
    after = with_event(before, {"kind": "rest moved", "intended": "left 1/64 in"})
    assert before.state.now.rest_y == 0.0
    assert after.state.now.rest_y == pytest.approx(INCH / 64)
    assert len(before.session.events) == 0


def test_an_event_that_cannot_be_read_names_its_key_only() -> None:
    with pytest.raises(InputError) as caught:
        with_event(_bench(), {"kind": "rest moved", "intended": "left"})
    assert caught.value.place.field == "intended"
    with pytest.raises(SessionFileError, match="is not a kind of event"):
        with_event(_bench(), {"kind": "rest mvoed"})


def test_the_mark_is_handed_on_as_shaft_length() -> None:
    # the mark is nock throat to mark; the nock adds throat - carbon, 29 7/8 - 29 1/4 in here (computed)
    situation = situation_of(_bench(SAFE).state)
    assert situation.safe_length == pytest.approx((27.25 - 0.625) * INCH)
    assert situation_of(_bench().state).safe_length is None


def test_points_owned_and_distance_come_from_the_bench() -> None:
    situation = situation_of(_bench(WALK).state)
    assert [round(head.mass / GRAIN) for head in situation.heads_owned] == [100, 110, 125]
    assert situation.distance == pytest.approx(18.0)
    assert situation_of(_bench().state).distance == pytest.approx(20 * 0.9144)


def test_a_proof_group_says_nothing_of_where_the_archer_tests() -> None:
    proof = {**WALK, "kind": "proof group", "purpose": "before", "distance": "50 m", "hits": WALK["hits"][:1]}
    assert situation_of(_bench(WALK, proof).state).distance == pytest.approx(18.0)
    assert situation_of(_bench(proof).state).distance == pytest.approx(20 * 0.9144)


def test_clicks_of_unknown_size_are_handed_on() -> None:
    assert situation_of(_bench().state).rest_known
    assert not situation_of(_bench({"kind": "rest moved", "clicks": "left 3"}).state).rest_known


@pytest.mark.parametrize("hand", list(Hand))
def test_holes_are_read_back_in_the_archers_own_sides(hand: Hand) -> None:
    now = _bench(WALK, hand=hand)
    said = _said(now)
    assert "Shaft 1, fletched: hole left 0.40 in, high 0.20 in." in said
    assert "Shaft 7, bare: hole left 2.10 in; nock leaning right 2.0 deg; called bad, kept and not counted." in said
    assert f"{hand}-handed" in said
    assert last_seen(now.state).endswith(f"{hand}-handed.")


SAYS = [
    (
        ({"kind": "rest moved", "clicks": "right 3"}, {"kind": "rest moved", "intended": "left 1/64 in"}),
        "how far it stands from the recorded start is not known",
    ),
    (
        ({"kind": "rest moved", "clicks": "right 3"},),
        "3 clicks right (of unknown size); 3 clicks right from the recorded start",
    ),
    (({"kind": "rest moved", "intended": "left 1/64 in", "measured": "left 0.014 in"},), "0.016 in left intended"),
    (({"kind": "rest moved", "intended": "left 1/64 in", "measured": "left 0.014 in"},), "0.014 in left measured"),
    (
        ({"kind": "rest moved", "intended": "up 1/64 in"}, {"kind": "rest moved", "intended": "down 1/64 in"}),
        "back at the recorded start",
    ),
    (({"kind": "nock point moved", "measured": "up 1/32 in"},), "0.031 in up from the recorded start"),
    (({"kind": "bolts turned", "both_bolts": "out 1/2", "weighed": "60 lb"},), "0.5 turns out"),
    (({"kind": "bolts turned", "both_bolts": "out 1/2", "weighed": "60 lb"},), "Peak weight now 60.0 lb, weighed."),
    (({"kind": "nock turned", "turned": "counterclockwise 40 deg"},), "40 deg counterclockwise"),
    (({"kind": "tape changed", "tape": "20.4 gr"},), "it makes up for the vanes"),
    (({"kind": "tape changed", "tape": "5 gr"},), "it does not make up for the vanes"),
    (({"kind": "point changed", "mass": "125 gr"},), "The set now carries the 125 gr field point."),
    (({"kind": "flex check", "shaft": 3, "sound": False},), "break it and throw it away"),
    (({"kind": "settings good", "note": "touching"},), "Note: touching"),
    (({"kind": "bow check", "cam_timing": True, "rest_drop": False},), "found wrong: rest drop"),
    (({"kind": "contact check", "vanes": False},), "touched: powder on the vanes"),
    (({"kind": "sight moved", "measured": "up 1/16 in"},), "0.062 in up"),
    (({"kind": "chronograph", "state": "bare", "speed": "280 ft/s"},), "One bare arrow through the chronograph"),
    (
        ({"kind": "shaft changed", "throat_length": "30 1/2 in", "carbon_length": "29 7/8 in"},),
        "A new set on the same kind of shaft: 30 1/2 in from the nock throat",
    ),
    (({"kind": "build changed", "insert": {"mass": "21 gr"}},), "Changed on the set: insert; the arrow now weighs"),
    (({"kind": "bow changed", "what": "new string", "weighed": "61 lb"},), "Work on the bow: new string."),
    (({"kind": "settings good", "id": "e1"}, {"kind": "undo", "undoes": "e1"}), "Event e1 no longer counts"),
    (
        (SAFE, {"kind": "cut", "intended": "1/2 in", "throat_length": "29 3/8 in", "carbon_length": "28 3/4 in"}),
        "2.125 in longer than the shortest safe length.",  # 29.375 - 27.25, computed
    ),
]


@pytest.mark.parametrize(("events", "sentence"), SAYS)
def test_every_kind_of_change_is_read_back(events: tuple[Mapping[str, object], ...], sentence: str) -> None:
    assert sentence in _said(_bench(*events))


def test_a_left_handers_rest_and_nock_are_read_back_as_written() -> None:
    now = _bench(
        {"kind": "rest moved", "intended": "left 1/64 in"},
        {"kind": "nock turned", "turned": "clockwise 20 deg"},
        hand=Hand.LEFT,
    )
    assert "20 deg clockwise" in _said(now)
    assert now.state.now.rest_y == pytest.approx(-INCH / 64)
    assert "0.016 in left" in understood(now.session.events[0], now.state)[0]


def test_many_arrows_are_not_all_listed() -> None:
    hits = [{"shaft": i, "state": "fletched", "hole": "left 0.1 in"} for i in range(1, 61)]
    said = understood((now := _bench({**WALK, "hits": hits})).session.events[-1], now.state)
    assert len(said) < 30
    assert said[-1] == "And 36 more arrows."


def test_a_cut_needs_to_be_sure(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    new_session(path, example=True)
    log_event(path, SAFE)
    before = path.read_bytes()
    cut = {"kind": "cut", "throat_length": "29 3/8 in", "carbon_length": "28 3/4 in"}
    with pytest.raises(InputError, match=r"a cut cannot be undone.*shortest safe length is 27 1/4 in"):
        log_event(path, cut)
    assert path.read_bytes() == before
    assert log_event(path, cut, sure=True).state.now.build.throat_length == pytest.approx(29.375 * INCH)


def test_only_new_cautions_are_told(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    new_session(path, example=True)
    log_event(path, {**SAFE, "mark": "29 1/2 in"})
    cut = {"kind": "cut", "throat_length": "29 1/4 in", "carbon_length": "28 5/8 in"}
    assert any("do not draw it" in text for text in log_event(path, cut, sure=True).cautions)
    assert log_event(path, {"kind": "settings good"}).cautions == ()


def test_nothing_left_to_undo(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    new_session(path, example=True)
    with pytest.raises(EvidenceError, match="no event is left to undo"):
        log_event(path, {"kind": "undo", "undoes": "last"})


def test_a_file_is_started_only_once(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    started = new_session(path, Hand.LEFT, System.METRIC, example=True)
    assert bench(path).scope.hand is Hand.LEFT
    assert bench(path).scope.system is System.METRIC
    assert "invented" in started.then[0]
    with pytest.raises(StoreError):
        new_session(path)
