"""The quick ways through what long logbooks are full of say what the slow ways say."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from spinewright.errors import InputError
from spinewright.logbook import Replayed, event_text, parse, replay, replay_each
from spinewright.logbook.session_file import written
from spinewright.logbook.splitting import event_in, joined, when_in
from spinewright.units import Hand, Kind, offsets, parse_offset

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


@given(st.one_of(st.text(st.characters(codec="ascii", exclude_categories=["Cc"])), st.integers(), st.booleans()))
def test_plain_values_are_written_as_the_library_writes_them(value: str | int | bool) -> None:
    assert written(value) == tomlkit.item(value).as_string()


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


@given(st.lists(st.sampled_from(["a\n", "b", "c\n\n", ""]), max_size=6))
def test_many_events_are_joined_as_one_after_the_other(texts: list[str]) -> None:
    head, *events = texts or [""]
    text = head
    for one in events:
        text = joined(text, [one])
    assert joined(head, events) == text
