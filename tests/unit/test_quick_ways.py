"""The quick ways through what long logbooks are full of say what the slow ways say."""

from __future__ import annotations

import tomllib
from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from spinewright.equipment import HeadKind
from spinewright.errors import InputError
from spinewright.evidence import Impact
from spinewright.logbook import (
    BenchState,
    Replayed,
    Session,
    event_reading,
    event_text,
    parse,
    replay,
    replay_each,
    splitting,
)
from spinewright.logbook import events as ev
from spinewright.logbook.event_reading import read_event
from spinewright.logbook.session_file import written
from spinewright.logbook.splitting import event_in, joined, when_in
from spinewright.units import Hand, Kind, offsets, parse_offset, reading
from spinewright.units import parse as parse_quantity
from spinewright.workflow.benches.walks import Walk

replaying = import_module("spinewright.logbook.replay")  # the package has the function of the same name
DATA = Path(__file__).parents[1] / "data"
FULL = (DATA / "invented_bench.toml").read_text(encoding="utf-8") + (DATA / "invented_events.toml").read_text(
    encoding="utf-8"
)
NUMBERS = st.one_of(
    st.decimals(0, 9, places=3).map(str), st.integers(0, 999_999).map(str), st.sampled_from(["1/2", "0", "00.10"])
)
UNITS = st.sampled_from(["in", "mm", "cm", "deg", "gr", "parsec"])
SIDES, HEIGHTS = st.sampled_from(["left", "right"]), st.sampled_from(["high", "low", "up", "down"])
ONE = st.builds("{} {} {}".format, SIDES, NUMBERS, UNITS)
BOTH = st.builds("{}, {} {} {}".format, ONE, HEIGHTS, NUMBERS, UNITS)


def _answer(text: str, hand: Hand, kind: Kind) -> str:
    try:
        return repr(parse_offset(text, hand, kind=kind))
    except InputError as error:
        return str(error)


@given(st.one_of(ONE, BOTH), st.sampled_from(list(Hand)), st.sampled_from([Kind.LENGTH, Kind.ANGLE]))
def test_a_place_in_the_programs_own_form_reads_as_any_other(text: str, hand: Hand, kind: Kind) -> None:
    quick = _answer(text, hand, kind)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(offsets, "_as_usual", lambda *_: None)
        assert quick == _answer(text, hand, kind)


@given(
    st.one_of(
        st.text(st.characters(codec="ascii", exclude_categories=["Cc"])),
        st.integers(),
        st.booleans(),
        st.dates(),
        st.datetimes(timezones=st.none() | st.timezones()),
    )
)
def test_plain_values_are_written_as_the_library_writes_them(value: str | int | bool | date) -> None:
    assert written(value) == tomlkit.item(value).as_string()


QUANTITIES = st.builds("{} {}".format, NUMBERS, st.one_of(UNITS, st.sampled_from(["yd", "ft/s", "(1 mm)", ""])))


@given(QUANTITIES, st.sampled_from(list(Kind)))
def test_a_quantity_that_was_read_before_reads_the_same_and_is_refused_where_it_stands(text: str, kind: Kind) -> None:
    def answer(field: str) -> object:
        try:
            return parse_quantity(text, kind, field=field)
        except InputError as error:
            return error.what, error.right, error.place.field == field

    reading._known.cache_clear()
    assert answer("bow.first") == answer("bow.second")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(reading, "_known", lambda *_: None)
        slow = answer("bow.third")
    assert slow == answer("bow.first")


IMPACTS = st.fixed_dictionaries(
    {
        "shaft": st.sampled_from([1, 12, 0, -1, True, 1.0]),
        "bare": st.booleans(),
        "y": st.sampled_from([0.0, 3.0, -3.0, 3.001, -3.001, float("nan"), float("inf")]),
        "z": st.sampled_from([0.0, 3.0, -3.0, 3.001, -3.001, float("nan"), float("inf")]),
        "called_bad": st.booleans(),
        "lean_y": st.sampled_from([None, 0.1, 3.0]),
        "lean_z": st.sampled_from([None, 0.1, 3.0]),
        "head": st.sampled_from(list(HeadKind)),
    }
)


@given(IMPACTS)
def test_an_arrow_as_nearly_all_are_is_looked_at_as_any_other(fields: dict[str, Any]) -> None:
    def answer() -> str:
        try:
            return repr(Impact(**fields))
        except InputError as error:
            return str(error)

    quick = answer()
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Impact, "_usual", lambda _: False)
        assert quick == answer()


VALUES = st.one_of(
    st.text(st.characters(codec="ascii"), max_size=5),
    st.integers(-(10**10), 10**10),
    st.booleans(),
    st.dates(date(1990, 1, 1), date(2030, 1, 1)),
    st.datetimes(datetime(1990, 1, 1), datetime(2030, 1, 1)),
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from(["\nhits = [\n", ",\n]", '", b = 1', " }"]),
)
KEYS = st.sampled_from(["kind", "id", "when", "distance", "note", "1", "ä", "a.b"])
ROWS = st.lists(st.dictionaries(KEYS, VALUES, max_size=4), min_size=1, max_size=3)
SECTIONS = st.one_of(
    st.dictionaries(KEYS, VALUES, max_size=6),
    st.builds(lambda event, rows: {**event, "hits": rows}, st.dictionaries(KEYS, VALUES, max_size=4), ROWS),
)


def _keys(text: str) -> object:
    try:
        return [(name, value, type(value)) for name, value in sorted(tomllib.loads(text)["event"][0].items())]
    except tomllib.TOMLDecodeError:
        return None


@given(SECTIONS, st.data())
def test_a_section_in_the_programs_own_form_reads_as_the_library_reads_it(
    event: dict[str, object], data: st.DataObject
) -> None:
    text = event_text(event)
    at = data.draw(st.integers(0, len(text)))
    put = data.draw(
        st.sampled_from(["", "", '"', "\n", "\n\n", ",", " ", "#", "1", "hits = [\n", 'kind = "x"\n', "]", "é"])
    )
    text = text[:at] + put + text[at + data.draw(st.integers(0, 2)) :]
    quick = splitting.usual_event(text)
    if quick is not None:
        assert [(name, value, type(value)) for name, value in sorted(quick.items())] == _keys(text)


def test_what_the_program_writes_of_a_walk_is_read_the_quick_way() -> None:
    hits = [
        {"shaft": 1, "state": "bare", "hole": "left 1 in", "bad": True},
        {"shaft": 2, "state": "fletched", "hole": "x"},
    ]
    event = {
        "kind": "shots",
        "id": "e1",
        "when": datetime(2026, 5, 3, 10, 15, 0, 500),
        "distance": "20 yd",
        "hits": hits,
    }
    for one in (event, {**event, "purpose": "before", "square": False, "note": "n"}):
        assert splitting.usual_event(event_text(one)) == one
        assert splitting.usual_event(event_text(one) + "\n") == one


HITS = st.fixed_dictionaries(
    {
        "shaft": st.sampled_from([1, 2, 12, 0, -1, 10**6, True, "1", 1.0]),
        "state": st.sampled_from(["bare", "fletched", "Bare ", "", 1]),
    },
    optional={
        "hole": st.one_of(ONE, BOTH, st.sampled_from(["centre", "low 0 in", "left 0 in", "", 3, "left 400 in"])),
        "nock_leans": st.one_of(
            st.sampled_from(
                ["right", "straight", "right 2 deg", "high 1 deg", "", " ", 2, "left 80 deg", "right 0 deg, low 1 deg"]
            )
        ),
        "bad": st.sampled_from([True, False, "yes", None]),
        "head": st.sampled_from(["field point", "fixed blades", ""]),
        "odd": st.just(1),
    },
)


def _shots(rows: object, hand: Hand) -> str:
    event = {"kind": "shots", "id": "e1", "distance": "20 yd", "hits": rows}
    try:
        return repr(read_event(event, 1, hand))
    except InputError as error:
        return str(error)


@given(st.lists(HITS, max_size=3), st.sampled_from(list(Hand)))
def test_arrows_in_the_programs_own_form_read_as_any_others(rows: list[dict[str, object]], hand: Hand) -> None:
    quick = _shots(rows, hand)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(event_reading, "_usual_hits", lambda *_: None)
        assert quick == _shots(rows, hand)


TAPS = st.tuples(
    st.sampled_from(["t1", "t2"]),
    st.fixed_dictionaries(
        {
            "walk": st.fixed_dictionaries(
                {"distance": st.sampled_from(["20 yd", "18 m"])},
                optional={"when": st.sampled_from([None, "", "2026-05-03"])},
            ),
            "tap": st.fixed_dictionaries({"shaft": st.integers(1, 3), "gone": st.booleans()}),
        }
    ),
)


@given(st.lists(TAPS, max_size=5))
def test_a_walk_of_all_its_taps_is_the_walk_tapped_one_by_one(
    sayings: list[tuple[str, dict[str, dict[str, object]]]],
) -> None:
    walk = Walk("w1")
    for name, body in sayings:
        walk = walk.with_tap(name, body)
    assert Walk.of("w1", sayings) == walk


@pytest.mark.parametrize("when", [None, date(2026, 5, 3)])
def test_when_a_walk_was_is_read_without_its_arrows(when: date | None) -> None:
    hits = [{"shaft": 1, "state": "bare", "hole": "left 1 in"}]
    text = event_text(
        {"kind": "shots", "id": "e1", "when": when, "distance": "20 yd", "hits": hits, "note": "\nhits = ["}
    )
    assert when_in(text) == event_in(text).get("when") == when


def test_one_event_more_is_what_replaying_all_of_them_says_and_leaves_what_was_before() -> None:
    undo = '\n[[event]]\nkind = "undo"\nid = "{}"\nundoes = "{}"\n'
    session = parse(FULL + undo.format("u1", "first") + undo.format("u2", "u1"))
    going = [Replayed.of(replace(session, events=()))]
    for event in session.events:
        going.append(going[-1].with_event(event))
    for number, one in enumerate(going):
        assert one.session.events == session.events[:number]
        assert one.state() == replay(one.session), number
        several = one.with_events(session.events[number : number + 4])
        assert several.session.events == session.events[: number + 4]
        assert several.state() == replay(several.session), number


def test_an_event_that_cannot_come_next_is_refused_as_ever() -> None:
    session = parse(FULL)
    for wrong in (session.events[0], replace(session.events[1], id="new", when=date(1999, 1, 1))):
        with pytest.raises(InputError) as quick:
            Replayed.of(session).with_event(wrong)
        with pytest.raises(InputError) as slow:
            replay(replace(session, events=(*session.events, wrong)))
        assert str(quick.value) == str(slow.value)


def test_only_the_last_states_are_those_of_all() -> None:
    session = parse(FULL)
    assert list(replay_each(session, 7)) == list(replay_each(session))[7:]


UNDONE = parse(FULL).events
UNDOS = st.lists(st.tuples(st.integers(0, len(UNDONE) - 1), st.integers(0, 30)), min_size=1, max_size=6)


@given(UNDOS, st.booleans(), st.integers(0, 20), st.sampled_from([1, 4, 64]))
def test_each_state_after_undos_is_the_one_of_the_events_so_far(
    undos: list[tuple[int, int]], measured: bool, after: int, held: int
) -> None:
    session = replace(parse(FULL), events=())
    states: list[BenchState] = []

    def add(new: ev.Event) -> None:
        nonlocal session
        more = replace(session, events=(*session.events, new))
        with suppress(InputError):  # what cannot follow is left out
            states.append(replay(more))
            session = more

    for number, event in enumerate(UNDONE):
        if number == len(UNDONE) // 2 and measured:
            add(ev.RestMeasured(id="measured", per_click_sideways=0.0001, per_click_height=None))
        add(event)
        for n, back in enumerate(back for at, back in undos if at == number):
            add(ev.Undone(id=f"u{number}-{n}", undoes=session.events[max(0, len(session.events) - 1 - back)].id))
    after = min(after, len(states))
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(replaying, "_STEPS", held)
        assert list(replay_each(session, after)) == states[after:]


def _run_through(session: Session, after: int) -> int:
    """How many events happen to a bench while the states after the first ``after`` are told."""
    with pytest.MonkeyPatch.context() as patched:
        count = [0]

        def done(*given: Any) -> Any:  # noqa: ANN401 - passed on
            count[0] += 1
            return _done(*given)

        _done = replaying._done
        patched.setattr(replaying, "_done", done)
        list(replay_each(session, after))
        return count[0]


def test_an_undo_of_what_was_logged_just_before_replays_no_more_than_that() -> None:
    hits = [{"shaft": 1, "state": "bare", "hole": "left 1 in"}]
    walk = {"kind": "shots", "distance": "20 yd", "hits": hits}
    walks = tuple(read_event({**walk, "id": f"w{n}"}, n, Hand.RIGHT) for n in range(200))
    undos = tuple(ev.Undone(id=f"u{n}", undoes=f"w{197 + n}") for n in range(2))
    plain = replace(parse(FULL), events=walks)
    assert _run_through(plain, 150) == 200
    assert _run_through(replace(plain, events=walks + undos), 150) == 200 + 2 + 1
    far = ev.Undone(id="ufar", undoes="w3")
    assert _run_through(replace(plain, events=(*walks, far)), 150) == 200 + 199


@given(st.lists(st.sampled_from(["a\n", "b", "c\n\n", ""]), max_size=6))
def test_many_events_are_joined_as_one_after_the_other(texts: list[str]) -> None:
    head, *events = texts or [""]
    text = head
    for one in events:
        text = joined(text, [one])
    assert joined(head, events) == text
