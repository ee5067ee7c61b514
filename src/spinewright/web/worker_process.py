"""The process that does the long work: one task after another from its parent, progress on the way; ends with it."""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
import time
from collections.abc import Mapping
from multiprocessing.connection import Connection
from typing import Any

__all__ = ["work"]

_SAY_EVERY = 0.1  # s between two progress messages


def work(pipe: Connection) -> None:
    """Do what comes through ``pipe`` until it closes, or until the parent is gone however it went."""
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if hasattr(os, "nice"):
        os.nice(5)  # the page and its taps come first
    import spinewright.workflow.advising  # noqa: F401 - the solvers, loaded before the first question comes

    while True:
        try:
            asked = pipe.recv()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        _answer(pipe, asked)


def _answer(pipe: Connection, asked: Mapping[str, Any]) -> None:
    from spinewright.errors import SpinewrightError
    from spinewright.workflow.benches.refusals import error_object
    from spinewright.workflow.benches.tasks import run_task
    from spinewright.workflow.solvers import mark_prepared

    said = [0.0]

    def progress(share: float) -> None:
        now = time.monotonic()
        if now - said[0] >= _SAY_EVERY:
            said[0] = now
            pipe.send(("share", asked["job"], float(share)))

    try:
        body = run_task(asked["what"], asked["text"], asked["wishes"], progress)
    except SpinewrightError as error:
        pipe.send(("failed", asked["job"], error_object(error)))
    except Exception as error:
        print(f"the task '{asked['what']}' failed: {error!r}", file=sys.stderr)  # noqa: T201
        sentence = "Something in the program went wrong while this was computed; the shots are all kept."
        told = {"what": sentence, "right": "", "field": None, "sentence": sentence}
        pipe.send(("failed", asked["job"], told))
    else:
        mark_prepared()
        pipe.send(("done", asked["job"], body))


def _end_with_parent() -> None:
    """A killed parent cannot tell its child, but what it held open closes with it."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
    os._exit(1)
