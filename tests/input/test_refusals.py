"""Refusals of bad input: one line, inert, of bounded length, with the place; and the slips a fuzzer found."""

from __future__ import annotations

from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soak.bad_input.edits import HOSTILE, good_sessions, spoilt
from soak.bad_input.judging import MOST_WORDS, fault_of, inert, not_finite
from soak.bad_input.targets import TARGETS

from spinewright.errors import InputError, Place, QuantityError, SessionFileError
from spinewright.errors import inert as made_inert
from spinewright.logbook import parse
from spinewright.logbook.phrases import read_clicks, read_turns
from spinewright.units import Hand, Kind
from spinewright.units import parse as parse_quantity
from tests.around.benches import asked

GOOD = "\n".join(good_sessions()[0]) + "\n"
ENDLESS = "9" * 5000
HEXADECIMAL = "0x" + "f" * 5000


@settings(max_examples=25)
@given(st.text(max_size=700), st.text(max_size=700), st.text(max_size=300))
def test_a_refusal_is_one_inert_line_whatever_it_quotes(what: str, right: str, field: str) -> None:
    error = InputError(what, right, Place(file=what[:300], line=3, field=field))
    assert inert(str(error))
    assert str(error).isprintable()
    assert len(str(error)) <= MOST_WORDS + 500  # the file's name and the field come on top
    again = error.at(field="x")
    assert (again.what, again.right) == (error.what, error.right)


def test_what_can_be_read_stays_as_it_is() -> None:
    said = "'29½ in' is not left·right — write “x” (ø, 中)"
    assert made_inert(said) == said
    assert made_inert("a\nb\x1b[2J\u202e\ud800") == "a\\nb\\x1b[2J\\u202e\\ud800"
    assert made_inert("x" * 1000).count("x") < 500


@pytest.mark.parametrize("number", [ENDLESS, HEXADECIMAL, "-" + ENDLESS, "9" * 400, str(2**63)])
@pytest.mark.parametrize("key", ["format", "count", "shaft"])
def test_a_number_of_endless_digits_is_refused_with_its_line(key: str, number: str) -> None:
    lines = [*GOOD.splitlines(), "[[event]]", 'kind = "tear"', "shaft = 1"]
    at = next(n for n, line in enumerate(lines) if line.partition("=")[0].strip() == key)
    lines[at] = f"{key} = {number}"
    with pytest.raises(SessionFileError, match="too many digits") as error:
        parse("\n".join(lines), "a.toml")
    assert error.value.place.line == at + 1


def test_a_quantity_of_endless_digits_is_refused() -> None:
    for number in (int(HEXADECIMAL, 16), ENDLESS, "1/" + ENDLESS):
        with pytest.raises(QuantityError) as error:
            parse_quantity(number, Kind.LENGTH, field="x")
        assert error.value.place.field == "x"


@pytest.mark.parametrize("digits", ["9" * 400, ENDLESS, ENDLESS + "/3", "1/" + ENDLESS, "9" * 400 + "/3"])
def test_clicks_and_turns_are_finite(digits: str) -> None:
    with pytest.raises(QuantityError):
        read_clicks(f"left {digits}", Hand.RIGHT, field="x")
    with pytest.raises(QuantityError):
        read_turns(f"in {digits}", field="x")
    assert read_clicks("left 999999", Hand.RIGHT).y == 999999.0


@pytest.mark.parametrize("value", HOSTILE)
def test_a_hostile_value_anywhere_is_read_or_refused_with_its_place(value: str) -> None:
    lines = GOOD.splitlines()
    places = [n for n, line in enumerate(lines) if "=" in line]
    for at in places[:: max(1, len(places) // 4)]:
        key = lines[at].partition("=")[0]
        text = "\n".join([*lines[:at], f"{key}= {value}", *lines[at + 1 :]])
        assert fault_of(partial(parse, text, "a.toml")) is None, lines[at]


@settings(max_examples=40)
@given(st.binary(max_size=40))
def test_a_spoilt_session_is_read_or_refused_with_its_place(data: bytes) -> None:
    assert fault_of(lambda: parse(spoilt(data), "a.toml")) is None


@settings(max_examples=30)
@pytest.mark.parametrize("name", [name for name in TARGETS if name != "spoilt"])
@given(data=st.data())
def test_every_reader_reads_or_refuses_with_its_place(name: str, data: st.DataObject) -> None:
    target = TARGETS[name]
    seeds = target.seeds()
    begin = data.draw(st.sampled_from(seeds))
    at = data.draw(st.integers(0, len(begin)))
    cut = data.draw(st.integers(0, 8))
    given_bytes = begin[:at] + data.draw(st.binary(max_size=12)) + begin[at + cut :]
    assert fault_of(lambda: target.read(given_bytes)) is None


@pytest.mark.parametrize("number", [ENDLESS, "12345", "0", "²", "٣٣٣٣٣"])
def test_a_shaft_number_of_endless_digits_is_refused_with_its_question(number: str) -> None:
    for question in ("hit", "retired"):
        with pytest.raises(InputError) as error:
            asked("shafts", None, **{question: f"{number}, 2026-05-03, x"})
        assert error.value.place.field == question


def test_the_judge_finds_what_it_should() -> None:
    def refuse() -> None:
        raise InputError("no place", "give one")

    assert "neither field nor line" in str(fault_of(refuse))
    assert "not finite" in str(fault_of(lambda: {"a": (1.0, float("nan"))}))
    assert "ZeroDivisionError" in str(fault_of(lambda: 1 // 0))
    assert fault_of(lambda: [1.0, "x"]) is None
    assert list(not_finite([{"a": float("inf")}]))
