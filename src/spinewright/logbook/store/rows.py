"""Rows of the store as frozen values; moments are texts of UTC as the database holds them."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["AnswerRow", "BenchRow", "DeviceRow", "EventRow", "HeadRow", "NewBench", "TapRow", "Whole"]


@dataclass(frozen=True, slots=True)
class BenchRow:
    """One bench; ``revision`` counts everything saved about it, ``joined`` = something came from another logbook.

    ``named`` is the moment of its name.
    """

    id: str
    name: str
    invented: bool
    made: str
    used: str
    revision: int
    joined: bool = False
    named: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class HeadRow:
    """The session file's text up to its first event; ``assumed`` are dotted keys that nobody has measured.

    ``saved`` is its moment, ``after`` those of the heads in whose place it was put.
    """

    text: str
    assumed: tuple[str, ...]
    saved: str = field(default="", compare=False)
    after: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class EventRow:
    """An event: its ``text`` is its [[event]] section.

    ``saved`` is its moment, ``after`` are the ids of the events that were last when it was added: one, but where two
    logbooks were joined.
    """

    id: str
    text: str
    saved: str = field(default="", compare=False)
    after: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class TapRow:
    """One saying of one tap of a walk, as the JSON text it was saved with; the last of a tap counts.

    ``saved`` is its moment, ``after`` are those of the sayings of this tap in whose place it was put.
    """

    walk: str
    tap: str
    body: str
    saved: str = field(default="", compare=False)
    after: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Whole:
    """Everything the store holds of one bench at one moment: the head that counts, events and taps in order.

    ``heads`` are all recorded starts, ``variants`` events with an id that is taken by another content.
    """

    row: BenchRow
    head: HeadRow
    events: tuple[EventRow, ...]
    taps: tuple[TapRow, ...]
    heads: tuple[HeadRow, ...] = ()
    variants: tuple[EventRow, ...] = ()


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """What was computed for a bench when it had ``revision``, as JSON text."""

    what: str
    revision: int
    body: str


@dataclass(frozen=True, slots=True)
class DeviceRow:
    """A device that joined; ``hash`` is the SHA-256 of its token in hexadecimal, the token itself is kept nowhere."""

    id: str
    name: str
    hash: str
    paired: str
    seen: str


@dataclass(frozen=True, slots=True)
class NewBench:
    """A bench to be made with its recorded start and the events it comes with."""

    id: str
    name: str
    invented: bool
    head: HeadRow
    events: tuple[EventRow, ...] = ()
