"""What is stored comes back as it was: events, the recorded start, whole sessions, rows of the store, answers."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from soak.bad_input.edits import good_sessions

from spinewright.errors import InputError, SessionFileError
from spinewright.logbook import EVENT_HEAD, EVENTS, Key, event_text, head_text, joined, parse, replay, split
from spinewright.logbook.event_reading import read_event
from spinewright.logbook.head import KEYS, values_of
from spinewright.logbook.keys import Form
from spinewright.logbook.session_file import written
from spinewright.logbook.store import BenchRow, EventRow, HeadRow, NewBench, Store, TapRow, open_store
from spinewright.logbook.store.rows import AnswerRow
from spinewright.units import Hand, Kind
from spinewright.workflow.around.keeping import answers_event, kept_answers
from spinewright.workflow.around.register import TASKS

WORDS = st.text(st.characters(codec="utf-8"), max_size=40)
GOOD = "\n".join(good_sessions()[0]) + "\n"
_UNITS = {
    Kind.LENGTH: "in", Kind.DISTANCE: "yd", Kind.MASS: "gr", Kind.FORCE: "lb", Kind.SPEED: "ft/s", Kind.ANGLE: "deg",
    Kind.AREA: "in2", Kind.LINEAR_DENSITY: "gr/in", Kind.FRACTION: "%",
}  # fmt: skip
_FORMS: dict[object, st.SearchStrategy[Any]] = {
    Form.TEXT: WORDS,
    Form.YES_NO: st.booleans(),
    Form.WHOLE: st.integers(0, 999_999),
    Form.NUMBER: st.floats(allow_nan=False, allow_infinity=False),
    Form.DATE: st.dates(date(1900, 1, 1)),
    Form.MOMENT: st.dates() | st.datetimes(),
    Form.MASSES: st.lists(st.integers(1, 500).map("{} gr".format), max_size=4),
}


def _value(key: Key) -> st.SearchStrategy[Any]:
    """Values of the form that ``key`` has, whether they can be meant or not."""
    form = key.form
    if form in (Form.TABLE, Form.TABLES):
        one = st.fixed_dictionaries({}, optional={inside.name: _value(inside) for inside in key.keys})
        return one if form is Form.TABLE else st.lists(one, max_size=3)
    if isinstance(form, Kind):
        number = st.decimals(0, 99, places=3, allow_nan=False).map(str)
        return number.map(lambda text: f"{text} {_UNITS.get(form, '')}".strip())
    if isinstance(form, type) and issubclass(form, StrEnum):
        return st.sampled_from([str(word) for word in form])
    return _FORMS.get(form, st.sampled_from([json.loads(key.example)]) if key.example.startswith('"') else WORDS)


@st.composite
def events(draw: st.DrawFn) -> dict[str, object]:
    kind = draw(st.sampled_from(list(EVENTS)))
    keys = [key for key in (*EVENT_HEAD, *EVENTS[kind]) if key.name != "kind"]
    return {"kind": kind, **draw(st.fixed_dictionaries({}, optional={key.name: _value(key) for key in keys}))}


@st.composite
def heads(draw: st.DrawFn) -> dict[str, object]:
    keys = draw(st.lists(st.sampled_from(sorted(KEYS)), max_size=6, unique=True))
    return {key: draw(_value(KEYS[key])) for key in keys}


def _read(event: object) -> object:
    """The event as read, or the sentence that refuses it."""
    try:
        return read_event(event, 1, Hand.LEFT)
    except InputError as error:
        return str(error)


@settings(max_examples=60)
@given(events())
def test_an_event_comes_back_from_its_text(event: dict[str, object]) -> None:
    text = event_text(event)
    (back,) = tomllib.loads(text)["event"]
    assert back == event
    assert _read(back) == _read(event)
    head, (chunk,) = split(f"format = 1\n{text}")
    assert joined(head, [chunk]).replace("\n", "") == f"format = 1\n{text}".replace("\n", "")


@given(WORDS | st.floats() | st.integers(-(2**63), 2**63 - 1) | st.booleans() | st.datetimes() | st.times())
def test_a_value_comes_back_from_its_text(value: object) -> None:
    back = tomllib.loads(f"x = {written(value)}")["x"]
    assert back == value or (back != back and value != value)  # noqa: PLR0124 - nan is the one that is not itself
    assert type(back) is type(value)


@given(st.text(st.sampled_from("\ud800\udbff\udc00\udfff"), min_size=1))
def test_half_a_character_is_refused(text: str) -> None:
    with pytest.raises(SessionFileError):
        written(text)
    with pytest.raises(SessionFileError) as error:
        event_text({"kind": "tear", "note": [{"a": text}]})
    assert error.value.place.field == "a"
    with pytest.raises(SessionFileError) as error:
        head_text({"bow.name": text})
    assert error.value.place.field == "bow.name"


@settings(max_examples=30)
@given(heads())
def test_a_recorded_start_comes_back_from_its_text(values: dict[str, object]) -> None:
    text = head_text(values)
    once = values_of(tomllib.loads(text))
    assert head_text(once) == head_text(values_of(tomllib.loads(head_text(once))))
    for key, value in values.items():
        if isinstance(value, str) and value.strip() and KEYS[key].form is Form.TEXT:
            assert once[key] == value.strip()


@settings(max_examples=15)
@given(st.lists(events(), max_size=3), st.sampled_from(good_sessions()))
def test_a_session_comes_back_from_head_and_events(logged: list[dict[str, object]], lines: tuple[str, ...]) -> None:
    text = "\n".join(lines) + "\n" + "".join(f"\n{event_text(one)}" for one in logged)
    try:
        session = parse(text, "x")
    except InputError:
        session = parse("\n".join(lines), "x")
        text = "\n".join(lines)
    again = parse(joined(*split(text)), "x")
    assert again == session
    assert replay(again) == replay(session)


@settings(max_examples=30)
@given(st.dictionaries(st.sampled_from([q.name for q in TASKS["limits"].questions]), st.lists(WORDS, max_size=3)))
def test_answers_come_back_as_they_were_written(given_now: dict[str, list[str]]) -> None:
    kept = {name: tuple(line for line in lines if line.strip()) for name, lines in given_now.items()}
    kept = {name: lines for name, lines in kept.items() if lines}
    if not kept:
        return
    event = answers_event(TASKS["limits"], given_now)
    state = replay(parse(GOOD + "\n" + event_text(event), "x"))
    found = kept_answers(state, TASKS["limits"])
    assert found == {name: tuple(line.strip() for line in lines) for name, lines in kept.items()}


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    made = open_store(Path(tmp_path_factory.mktemp("rows")))
    yield made
    made.close()


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=WORDS, text=WORDS, assumed=st.lists(WORDS, max_size=3), ids=st.lists(WORDS, max_size=3, unique=True))
def test_rows_come_back_from_the_store(store: Store, name: str, text: str, assumed: list[str], ids: list[str]) -> None:
    bench = f"b{len(store.benches())}"
    rows = tuple(EventRow(one, text + one) for one in ids)
    store.make(NewBench(bench, name, True, HeadRow(text, tuple(assumed)), rows))
    tap = TapRow("walk", name, json.dumps({"x": text}))
    answer = AnswerRow(name, 3, json.dumps({"body": text}))
    store.add_tap(bench, tap)
    store.add_answer(bench, answer)
    row = store.bench(bench)
    assert isinstance(row, BenchRow)
    assert (row.name, row.invented) == (name, True)
    assert store.head(bench) == HeadRow(text, tuple(assumed))
    assert store.events(bench) == rows
    assert store.taps(bench) == (tap,)
    assert store.last_answer(bench, name) == answer
    assert datetime.fromisoformat(row.made)
    store.rename(bench, text)
    again = store.bench(bench)
    assert again is not None
    assert again.name == text
