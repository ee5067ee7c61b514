"""A progress bar for what takes longer than a second, and one word about the first, slow run on a machine."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

__all__ = ["waiting"]

_FROM = 1.0  # s, before that a bar would only flicker


@contextmanager
def waiting(what: str) -> Iterator[Callable[[float], None]]:
    """Yields what a task calls with its share done; a bar shows on a terminal's standard error from one second on."""
    from spinewright.workflow.solvers import mark_prepared, prepared

    first = not prepared()
    if first:
        typer.echo("Preparing the solvers, once on this machine; this can take a minute or two.", err=True)
    bar = _Bar(what)
    try:
        yield bar.show
    finally:
        bar.close()
    if first:
        mark_prepared()


class _Bar:
    """A bar that appears only when it is worth it."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._share = 0.0
        self._progress: Progress | None = None
        self._task: TaskID | None = None
        self._lock = threading.Lock()
        self._timer = threading.Timer(_FROM, self._open)
        if sys.stderr.isatty():
            self._timer.daemon = True
            self._timer.start()

    def show(self, share: float) -> None:
        """``share`` of the task is done, 0 to 1."""
        with self._lock:
            self._share = min(max(share, 0.0), 1.0)
            if self._progress is not None and self._task is not None:
                self._progress.update(self._task, completed=self._share)

    def close(self) -> None:
        """Take the bar away again, or see that it never comes."""
        self._timer.cancel()
        with self._lock:
            self._what = ""
            if self._progress is not None:
                self._progress.stop()

    def _open(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        with self._lock:
            if not self._what:
                return
            columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
            self._progress = Progress(*columns, console=Console(stderr=True), transient=True)
            self._task = self._progress.add_task(self._what, total=1.0)
            self._progress.update(self._task, completed=self._share)
            self._progress.start()
