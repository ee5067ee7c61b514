"""What stands in empty fields: every example can be typed in as it stands, in the units the page is read in."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from spinewright.logbook import EVENTS
from spinewright.logbook.head import KEYS
from spinewright.units import Kind, System, parse
from spinewright.workflow.around.register import TASKS
from spinewright.workflow.benches.examples import example_in, on_the_rule
from spinewright.workflow.mistake_sizes import SIZES

# Common practice: metric archers, too, say pounds of draw weight and grains an inch of shaft.
OLD = re.compile(r"\b(ft|yd|gr(?!/in)|(?<!gr/)in|ft/s|mph)\b")
NEAR = 0.1  # of a value: 0.0018 in a click is 0.05 mm as a person says it


def _examples() -> Iterator[tuple[str, Kind, str]]:
    for task in TASKS.values():
        for question in task.questions:
            for text in (question.example, question.usual):
                if isinstance(question.form, Kind) and text:
                    yield f"{task.name} {question.name}", question.form, text
    for path, key in KEYS.items():
        if isinstance(key.form, Kind):
            yield path, key.form, key.example.strip('"')
    for kind in ("bow check", "safe length"):
        for key in EVENTS[kind]:
            if isinstance(key.form, Kind):
                yield f"{kind} {key.name}", key.form, key.example.strip('"')
    yield from ((name, one.kind, one.example) for name, one in SIZES.items())


def test_an_example_says_the_same_in_both_systems() -> None:
    for what, kind, text in _examples():
        assert example_in(kind, text, System.INCH) == text
        metric = example_in(kind, text, System.METRIC)
        assert not OLD.search(metric), f"{what}: {metric}"
        assert parse(metric, kind, field=what) == pytest.approx(parse(text, kind, field=what), rel=NEAR), what


def test_an_example_is_written_as_by_hand() -> None:
    for what, kind, text in _examples():
        number = example_in(kind, text, System.METRIC).partition(" ")[0]  # the inches are written by hand already
        assert len(number.lstrip("-0.").replace(".", "")) <= 3, f"{what}: {number}"
    assert example_in(Kind.LENGTH, "28 3/4 in", System.METRIC) == "730 mm"  # computed: 730.25


@pytest.mark.parametrize(
    ("inches", "least", "inch", "metric"),
    [  # computed: 29.6875 in = 29 11/16 in = 754.06 mm; 27.55 in = 699.77 mm; 27.57 in = 700.28 mm
        (29.6875, None, "29 11/16 in", "754 mm"),
        (27.55, 27.54, "27.55 in", "700 mm"),
        (27.57, 27.565, "27.57 in", "701 mm"),
        (27.57, 27.58, "27.57 in", "700 mm"),
    ],
)
def test_a_proposed_length_is_read_off_a_rule(inches: float, least: float | None, inch: str, metric: str) -> None:
    shortest = None if least is None else least * 0.0254
    assert on_the_rule(inches * 0.0254, System.INCH, shortest) == inch
    assert on_the_rule(inches * 0.0254, System.METRIC, shortest) == metric


def test_what_is_no_quantity_stays_as_it_is() -> None:
    assert example_in(str, "27 1/4 in", System.METRIC) == "27 1/4 in"
    assert example_in(Kind.LENGTH, "", System.METRIC) == ""
