"""Answers to the tasks around the tune: read as what they are, kept in the logbook, refused in one sentence."""

from __future__ import annotations

import re
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright import logbook
from spinewright.errors import InputError, QuantityError, StoreError
from spinewright.units import Hand, Kind, System
from spinewright.workflow.around.answers import Answers, answers_of
from spinewright.workflow.around.keeping import keep_answers, kept_answers
from spinewright.workflow.around.listed import list_text
from spinewright.workflow.around.questions import Form, Question, Task
from spinewright.workflow.around.register import TASKS, task_named
from tests.around.benches import asked, example

TASK = Task(
    "try",
    "A task",
    "It asks.",
    (
        Question("far", "how far", Kind.DISTANCE, usual="20 yd", example="20 yd"),
        Question("count", "how many", Form.WHOLE, example="12"),
        Question("share", "which share", Form.NUMBER),
        Question("sure", "are you sure", Form.YES),
        Question("which", "which of them", Form.CHOICE, choices=("one", "other")),
        Question("marks", "the marks", Form.LINES),
        Question("list", "the shafts", Form.LIST),
    ),
)


def answers(**said: str) -> Answers:
    return answers_of(TASK, {name: (text,) for name, text in said.items()}, {})


def test_what_is_answered_is_read_as_what_it_is() -> None:
    found = answers(count="12", share="0.5", sure="Yes", which="Other", far="18 m")
    assert (found.whole("count"), found.maybe("share"), found.yes("sure"), found.choice("which")) == (
        12,
        0.5,
        True,
        "other",
    )
    assert found.quantity("far") == pytest.approx(18.0)
    assert answers(far="  ").quantity("far") == pytest.approx(20 * 0.9144)  # a yard is 0.9144 m by definition
    assert not answers().yes("sure")
    assert answers().maybe("share") is None


@pytest.mark.parametrize(
    ("said", "name"),
    [({"count": "1.5"}, "count"), ({"count": "nan"}, "count"), ({"share": "inf"}, "share"), ({"share": "x"}, "share")],
)
def test_a_wrong_number_names_its_question(said: dict[str, str], name: str) -> None:
    with pytest.raises(InputError) as error:
        answers(**said).maybe(name)
    assert error.value.place.field == name


def test_other_wrong_answers_name_theirs() -> None:
    with pytest.raises(QuantityError) as unit:
        answers(far="20").quantity("far")
    assert unit.value.place.field == "far"
    with pytest.raises(InputError, match="neither yes nor no"):
        answers(sure="maybe").yes("sure")
    with pytest.raises(InputError, match="known are 'one', 'other'"):
        answers(which="both").choice("which")
    with pytest.raises(InputError, match="is not asked by 'try'"):
        answers(nothing="x")
    with pytest.raises(InputError, match="is not answered"):
        answers().quantity("count")
    with pytest.raises(InputError, match="too long"):
        answers(list="x" * 3_000_000)


def test_a_table_is_read_with_its_lines() -> None:
    text = '# Invented.\n\nShaft; mass ; note\n1; 380 gr; "heavy; nose"\n\n2; 381 gr;\n'
    rows = answers(list=text).table("list", ("shaft", "mass"), ("note",))
    assert [row.line for row in rows] == [4, 6]
    assert rows[0].text("note") == "heavy; nose"
    assert rows[1].number("shaft") == 2
    assert rows[0].quantity("mass", Kind.MASS) == pytest.approx(
        380 * 6.479891e-5
    )  # a grain is 64.79891 mg by definition
    assert rows[1].quantity("note", Kind.MASS) is None
    assert answers().table("list", ("shaft",)) == ()


@pytest.mark.parametrize(
    ("text", "words", "line"),
    [
        ("shaft,weight\n1,2", "'weight' is not a column known here", 1),
        ("shaft\n1", "the column 'mass' is missing", 1),
        ("shaft,mass,mass\n1,2,3", "stands there twice", 1),
        ("shaft,mass\n1,2,3", "3 values for 2 columns", 2),
        ("# only this", "the table is empty", None),
        ("shaft,mass\n" + "1,2\n" * 5001, "at most 5000 rows", 5002),
    ],
)
def test_a_wrong_table_names_the_line(text: str, words: str, line: int | None) -> None:
    with pytest.raises(InputError, match=words) as error:
        answers(list=text).table("list", ("shaft", "mass"))
    assert (error.value.place.table, error.value.place.line) == ("list", line)


def test_a_wrong_cell_names_table_line_and_column() -> None:
    rows = answers(list="shaft,mass\n1,heavy\nx,1 g").table("list", ("shaft", "mass"))
    with pytest.raises(QuantityError) as mass:
        rows[0].quantity("mass", Kind.MASS)
    assert str(mass.value.place) == "list, line 2, mass"
    with pytest.raises(InputError) as shaft:
        rows[1].number("shaft")
    assert str(shaft.value.place) == "list, line 3, shaft"
    assert str(shaft.value.at(file="own.csv").place) == "own.csv, line 3, shaft"


@given(st.text(max_size=200))
def test_any_table_is_read_or_refused_in_one_sentence(text: str) -> None:
    with suppress(InputError):
        rows = answers(list=text).table("list", ("shaft", "mass"), ("note",))
        assert all(set(row.cells) <= {"shaft", "mass", "note"} for row in rows)


def test_answers_are_kept_and_stand_until_others_are_given(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    logbook.create(path, logbook.template(filled=True))
    task = task_named("limits")
    lines = ("shaft diameter at most 9.3 mm, 2026-03-01, 'indoor' \"round\"", "arrow mass at least 300 gr, 2026-03-01")
    made = keep_answers(path, task, {"limit": lines, "head-width": ("1 in",)})
    assert made.said == ("Answers to the task 'limits' are kept: 3 lines.",)
    state = logbook.replay(logbook.read(path))
    assert kept_answers(state, task) == {"limit": lines, "head-width": ("1 in",)}
    keep_answers(path, task, {"limit": ("two\nlines, é",)})
    assert kept_answers(logbook.replay(logbook.read(path)), task) == {"limit": ("two\nlines, é",)}
    before = path.read_bytes()
    with pytest.raises(InputError, match="is not asked by 'limits'"):
        keep_answers(path, task, {"colour": ("blue",)})
    assert path.read_bytes() == before


def test_given_answers_go_before_kept_ones() -> None:
    kept = {"far": ("30 yd",), "count": ("6",), "gone": ("x",)}
    found = answers_of(TASK, {"far": ("40 yd",), "count": (" ",)}, kept)
    assert found.quantity("far") == pytest.approx(40 * 0.9144)
    assert found.whole("count") == 6
    assert "gone" not in found.given


def test_a_list_is_read_from_its_file_or_refused(tmp_path: Path) -> None:
    path = tmp_path / "shafts.csv"
    path.write_bytes("\ufeffshaft,mass\n1,é\n".encode())
    assert list_text(path, "list") == "shaft,mass\n1,é\n"
    path.write_bytes("shaft\n1\n".encode("utf-16"))
    assert list_text(path, "list") == "shaft\n1\n"
    path.write_bytes(b"shaft\n\xff\xfe\xfa")
    with pytest.raises(InputError, match="not text in UTF-8"):
        list_text(path, "list")
    path.write_bytes(b"x" * 8_000_002)
    with pytest.raises(InputError, match="too large"):
        list_text(path, "list")
    with pytest.raises(StoreError, match="could not be read"):
        list_text(tmp_path, "list")


@pytest.mark.parametrize("task", TASKS.values(), ids=list(TASKS))
def test_what_a_task_asks_can_be_asked(task: Task) -> None:
    names = [question.name for question in task.questions]
    assert len(set(names)) == len(names)
    assert not {"keep", "plot", "pdf", "json", "file"} & set(names)
    for question in task.questions:
        assert bool(question.choices) == (question.form is Form.CHOICE), question.name
        assert question.usual is None or not question.choices or question.usual in question.choices


def test_an_unknown_task_is_refused() -> None:
    with pytest.raises(InputError, match="no task around the tune"):
        task_named("nonsense")


@pytest.mark.parametrize("name", ["builds", "cut-plan", "further", "heads"])
def test_metric_archers_read_no_inches(name: str) -> None:
    given_now = {"invented": "yes"} if name == "builds" else {}
    told = asked(name, example(Hand.RIGHT, System.METRIC), **given_now)
    words = [told.answer, *told.sentences, *told.rests_on, *(one for table in told.tables for one in table.columns)]
    found = re.findall(r"\binch\w*|\d in\b(?! \d)(?! \(25 mm\))", " ".join(words))
    assert found == []
