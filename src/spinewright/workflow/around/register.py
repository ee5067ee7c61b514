"""Every task around the tune by name; loads nothing heavy."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from types import MappingProxyType

from spinewright.errors import InputError
from spinewright.workflow.around.questions import Task

__all__ = ["TASKS", "task_named"]

#: In the order of an afternoon.
_NAMES = (
    "builds",
    "cut-plan",
    "alike",
    "nocks",
    "recheck",
    "further",
    "proof",
    "heads",
    "marks",
    "wind",
    "points",
    "changed",
    "limits",
    "shafts",
    "consent",
    "card",
)
_HERE = "spinewright.workflow.around"


def _module(name: str) -> str:
    return name.replace("-", "_")


def _task(name: str) -> Task:
    task: Task = import_module(f"{_HERE}.asks.{_module(name)}").TASK
    return task


TASKS: Mapping[str, Task] = MappingProxyType({name: _task(name) for name in _NAMES})
"""All tasks by name, in the order of an afternoon."""


def task_named(name: str) -> Task:
    """The task with this name. Raises InputError."""
    if name not in TASKS:
        raise InputError(f"'{name}' is no task around the tune", f"known are {', '.join(TASKS)}")
    return TASKS[name]
