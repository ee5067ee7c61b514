"""The tasks around the tune as the page shows them: what each asks, what stands in its fields, what it found last."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from spinewright.units import Kind, System, yards_beside
from spinewright.workflow.around.keeping import kept_answers
from spinewright.workflow.around.questions import Form, Question, Task
from spinewright.workflow.around.register import TASKS, task_named
from spinewright.workflow.benches.answers import last_answer
from spinewright.workflow.benches.examples import example_in, usual_in
from spinewright.workflow.benches.room import Benches
from spinewright.workflow.benches.view import View
from spinewright.workflow.showing import Json

__all__ = ["AROUND", "account_of", "around_json", "task_json"]

AROUND = "around-"
"""What stands before a task's name where long work is asked for."""
_YARDS = re.compile(r"\b(\d+) yd\b")
_INCHES = re.compile(r"\b(?:(?:\d+ )?\d+/\d+|\d+(?:\.\d+)?) in\b")


def around_json(benches: Benches, view: View) -> Json:
    """Every task with whether it was done on this bench."""
    return {
        "tasks": [
            {
                "name": task.name,
                "title": task.title,
                "about": task.about,
                "answer": None if (found := account_of(benches, view, task)) is None else found["answer"],
            }
            for task in TASKS.values()
        ]
    }


def task_json(benches: Benches, view: View, name: str) -> Json:
    """One task: its questions with what stands in their fields, and its last account. Raises InputError."""
    task = task_named(name)
    last = last_answer(benches, view.kept, AROUND + name)
    kept: Mapping[str, Any] = kept_answers(view.state, task)
    shown = kept if last is None else {**kept, **last.wishes["given"]}
    return {
        "name": task.name,
        "title": task.title,
        "about": yards_beside(task.about, view.voice.system),
        "questions": [_question(one, shown.get(one.name, ()), view.voice.system) for one in task.questions],
        "account": account_of(benches, view, task),
        "fresh": last is not None and last.fresh,
    }


def account_of(benches: Benches, view: View, task: Task) -> dict[str, Any] | None:
    """What a task found last in the units of the view, or None."""
    found = last_answer(benches, view.kept, AROUND + task.name)
    if found is None:
        return None
    account: dict[str, Any] = found.body[str(view.voice.system)]
    return account


def _question(question: Question, lines: Any, system: System) -> Json:  # noqa: ANN401 - from the store
    many = question.form in (Form.LINES, Form.LIST)
    form = "quantity" if isinstance(question.form, Kind) else question.form.name.lower()
    return {
        "name": question.name,
        "asks": yards_beside(question.asks, system),
        "form": form,
        "value": ("\n" if many else " ").join(lines),
        "usual": _in_units(question, question.usual, system, usual_in),
        "choices": list(question.choices),
        "example": _in_units(question, question.example, system),
        "needed": question.needed,
    }


def _in_units(
    question: Question, text: str | None, system: System, written: Callable[[object, str, System], str] = example_in
) -> str | None:
    """What is written as an answer, as a metric archer would write it."""
    if system is System.INCH or text is None:
        return text
    if isinstance(question.form, Kind):
        return written(question.form, text, system)
    if question.form not in (Form.TEXT, Form.LINES):
        return text
    metres = _YARDS.sub(r"\1 m", text)
    return _INCHES.sub(lambda found: example_in(Kind.LENGTH, found[0], system), metres)
