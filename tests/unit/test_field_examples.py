"""What stands in empty fields: every example can be typed in as it stands, in the units the page is read in."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from spinewright.logbook import EVENTS
from spinewright.logbook.head import KEYS
from spinewright.units import Kind, System, parse
from spinewright.workflow.around.register import TASKS
from spinewright.workflow.benches.examples import example_in
from spinewright.workflow.mistake_sizes import SIZES

# Common practice: metric archers, too, say pounds of draw weight and grains an inch of shaft.
OLD = re.compile(r"\b(ft|yd|gr(?!/in)|(?<!gr/)in|ft/s|mph)\b")
NEAR = 0.08  # of a value: a grain is 0.06 g as a scale prints it


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


def test_what_is_no_quantity_stays_as_it_is() -> None:
    assert example_in(str, "27 1/4 in", System.METRIC) == "27 1/4 in"
    assert example_in(Kind.LENGTH, "", System.METRIC) == ""
