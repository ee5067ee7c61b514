"""Runs a task around the tune; the module that does the work is loaded when it is asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from importlib import import_module

from spinewright.workflow.around.account import Account, in_units
from spinewright.workflow.around.answers import answers_of
from spinewright.workflow.around.keeping import kept_answers
from spinewright.workflow.around.register import task_named
from spinewright.workflow.open_bench import Source, state_of

__all__ = ["run"]

Progress = Callable[[float], None]


def run(source: Source, name: str, given: Mapping[str, Sequence[str]], progress: Progress | None = None) -> Account:
    """The account of task ``name`` for a bench, with what is ``given`` now over what was kept.

    ``progress`` is called with the share done. Raises InputError, SolveError or StoreError.
    """
    task, state = task_named(name), state_of(source)
    answers = answers_of(task, given, kept_answers(state, task))
    work = import_module(f"spinewright.workflow.around.{name.replace('-', '_')}_task")
    account: Account = work.account(state, answers, progress or (lambda _share: None))
    return in_units(account, state.scope.system)
