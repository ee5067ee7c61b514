"""The bench as it stands, from a session file or held in memory."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from spinewright import logbook
from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState, Session
from spinewright.logbook.event_reading import read_event

__all__ = ["OpenBench", "Source", "bench", "start_bench", "state_of", "with_event"]


@dataclass(frozen=True, slots=True)
class OpenBench:
    """A session held in memory, with the bench it leads to."""

    session: Session
    state: BenchState


Source = str | Path | BenchState | OpenBench
"""What a task is asked about: a session file, or a bench in memory."""


def bench(path: str | Path) -> BenchState:
    """The bench of the session file at ``path``; InputError says in one sentence what is wrong where."""
    return logbook.replay(logbook.read(path))


def start_bench(text: str, name: str = "the session") -> OpenBench:
    """A bench in memory from the text of a session file; no file is read or written."""
    session = logbook.parse(text, name)
    return OpenBench(session, logbook.replay(session))


def with_event(now: OpenBench, event: Mapping[str, object]) -> OpenBench:
    """The bench after one more event, written with the keys of an [[event]] section; ``now`` stays as it is.

    Raises InputError when the event cannot be read, or cannot have happened.
    """
    number = len(now.session.events) + 1
    try:
        read = read_event(dict(event), number, now.session.scope.hand)
        session = replace(now.session, events=(*now.session.events, read))
        return OpenBench(session, logbook.replay(session))
    except InputError as error:
        raise said_of_event(error, number) from error


def said_of_event(error: InputError, number: int) -> InputError:
    """``error`` about event ``number`` with its place as the person who just wrote that event knows it."""
    head, dot, field = (error.place.field or "").partition(".")
    if head != f"event[{number}]":
        return error
    file = error.place.file if not dot else None
    return type(error)(error.what, error.right, Place(file=file, field=field or None))


def state_of(source: Source) -> BenchState:
    """The bench behind any source."""
    if isinstance(source, BenchState):
        return source
    return source.state if isinstance(source, OpenBench) else bench(source)
