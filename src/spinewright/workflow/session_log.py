"""Starting a session file and adding to it what was done or seen, read back in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from spinewright import logbook
from spinewright.errors import EvidenceError, InputError, SessionFileError
from spinewright.logbook import BenchState, Session
from spinewright.units import Hand, Kind, System, parse, show
from spinewright.workflow.open_bench import said_of_event
from spinewright.workflow.read_back import understood
from spinewright.workflow.showing import Json, headed
from spinewright.workflow.undoing import undone_words

__all__ = ["LoggedEvent", "NewSession", "last_counting", "log_event", "logged", "new_session"]


@dataclass(frozen=True, slots=True)
class NewSession:
    """A session file that was started; ``example`` = filled in with an invented bow and arrow."""

    path: str
    hand: Hand
    system: System
    example: bool

    @property
    def then(self) -> tuple[str, ...]:
        """What to do next."""
        if self.example:
            return (
                "It is filled in with an invented bow and arrow, to try things out; measure your own for real use.",
            )
        return ("Fill in what is marked 'needed', then log a bow check and what you shoot.",)

    def to_json(self) -> Json:
        """The result by ``schema/new.json``."""
        body: Json = {
            "file": self.path,
            "hand": str(self.hand),
            "units": str(self.system),
            "example": self.example,
            "then": list(self.then),
        }
        return headed("new", 1, body)


def new_session(
    path: str | Path, hand: Hand = Hand.RIGHT, system: System = System.INCH, *, example: bool = False
) -> NewSession:
    """Write a commented session file to fill in by hand, or an invented ``example``.

    A file that is there already is never touched (StoreError).
    """
    logbook.create(path, logbook.template(hand, system, filled=example))
    return NewSession(str(path), hand, system, example)


@dataclass(frozen=True, slots=True)
class LoggedEvent:
    """An event that now stands in the file, and what it was understood to say.

    cautions, notices  those of the bench after it that were not there before
    count              events in the file, those that no longer count included
    """

    path: str
    id: str
    kind: str
    said: tuple[str, ...]
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    count: int
    state: BenchState

    def to_json(self) -> Json:
        """The result by ``schema/log.json``."""
        body: Json = {
            "file": self.path,
            "id": self.id,
            "kind": self.kind,
            "said": list(self.said),
            "cautions": list(self.cautions),
            "notices": list(self.notices),
            "events": self.count,
        }
        return headed("log", 1, body)


def log_event(path: str | Path, event: Mapping[str, object], *, sure: bool = False) -> LoggedEvent:
    """Add ``event`` (the keys of an [[event]] section) to the file at ``path`` and read it back.

    A cut is refused unless ``sure``; the refusal says what it would leave. ``undoes = "last"`` means the last event
    that still counts. The file is only ever replaced as a whole, after the event was read and replayed. Raises
    InputError or StoreError; the file is then as it was.
    """
    if event.get("kind") == "undo" and event.get("undoes") == "last":
        event = {**event, "undoes": last_counting(logbook.read(path))}
    if event.get("kind") == "cut" and not sure:
        raise _not_sure(path, event)
    try:
        session = logbook.append(path, event)
    except InputError as error:
        # an error of the file as it is keeps its line; the new event is in no line yet
        raise said_of_event(error, len(logbook.read(path).events) + 1) from error
    return logged(session, logbook.replay(session), str(path))


def logged(session: Session, state: BenchState, path: str = "") -> LoggedEvent:
    """What the last event of ``session`` was understood to say; ``state`` is the bench after it."""
    before = logbook.replay(replace(session, events=session.events[:-1]))
    new = session.events[-1]
    return LoggedEvent(
        path=path,
        id=new.id,
        kind=new.kind,
        said=undone_words(session, before, state) if new.kind == "undo" else understood(new, state),
        cautions=tuple(c for c in state.cautions if c not in before.cautions),
        notices=tuple(n for n in state.notices if n not in before.notices),
        count=len(session.events),
        state=state,
    )


def last_counting(session: Session) -> str:
    """The id of the last event that still counts and is no undo; EvidenceError when there is none."""
    gone = set(logbook.replay(session).undone)
    left = [one.id for one in session.events if one.id not in gone and one.kind != "undo"]
    if not left:
        raise EvidenceError("no event is left to undo", "log something first")
    return left[-1]


def _not_sure(path: str | Path, event: Mapping[str, object]) -> InputError:
    """The refusal of a cut that was not said to be sure, with what it leaves and the shortest safe length."""
    state = logbook.replay(logbook.read(path))
    system = state.scope.system
    left = show(parse(event.get("throat_length"), Kind.LENGTH, field="throat_length"), Kind.LENGTH, system)
    now = show(state.now.build.throat_length, Kind.LENGTH, system)
    mark = state.safe_length
    safe = (
        "no shortest safe length has been marked"
        if mark is None
        else (f"the shortest safe length is {show(mark, Kind.LENGTH, system)}")
    )
    return SessionFileError(
        f"a cut cannot be undone: {left} from nock throat to shaft end would be left of {now}, and {safe}",
        "say that you are sure with --sure to log it from a script, or log it in a terminal, which asks",
    )
