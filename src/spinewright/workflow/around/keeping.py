"""Answers kept in the logbook: one event for each time a task's answers are kept, the last one counts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from spinewright.logbook import BenchState
from spinewright.workflow.around.answers import answers_of
from spinewright.workflow.around.questions import Task
from spinewright.workflow.session_log import LoggedEvent, log_event

__all__ = ["answers_event", "keep_answers", "kept_answers"]


def kept_answers(state: BenchState, task: Task) -> dict[str, tuple[str, ...]]:
    """What was kept last for ``task``, by question; {} when nothing was."""
    found: dict[str, tuple[str, ...]] = {}
    for question, answer in state.answers.get(task.name, ()):
        found[question] = (*found.get(question, ()), answer)
    return found


def answers_event(task: Task, given: Mapping[str, Sequence[str]]) -> dict[str, object]:
    """The event that keeps ``given``. Raises InputError when the task does not ask that, or asks more."""
    answers_of(task, given, {})
    rows = [{"question": name, "answer": line} for name, lines in given.items() for line in lines if line.strip()]
    return {"kind": "answers", "to": task.name, "answers": rows}


def keep_answers(path: str | Path, task: Task, given: Mapping[str, Sequence[str]]) -> LoggedEvent:
    """Add the answers to the session file at ``path``; raises InputError or StoreError, and then nothing changed."""
    return log_event(path, answers_event(task, given))
