"""Takes a session file apart into its head and its events as they were written, and puts it together again."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from datetime import date, datetime
from itertools import pairwise

from spinewright.logbook.head import head_text, values_of
from spinewright.logbook.session_file import event_text

__all__ = ["event_in", "joined", "split", "usual_event", "when_in"]

_EVENT = re.compile(r"^[ \t]*\[\[[ \t]*event[ \t]*\]\].*$", re.MULTILINE)


_OPENING = "[[event]]\n"
_PAIR = re.compile(
    r'([A-Za-z0-9_-]+) = (?:"([ !#-\[\]-~]*)"|(0|[1-9]\d{0,8}|-[1-9]\d{0,8})(?=[\n,]|\Z)'
    r"|(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{6})?)(?=[\n,]|\Z)|(\d{4}-\d\d-\d\d)(?=[\n,]|\Z)|true|false)",
    re.ASCII,
)


def split(text: str) -> tuple[str, tuple[str, ...]]:
    """The text up to the first event, and the text of each [[event]] section with the comments behind it.

    One behind the other they are ``text`` again. Where events do not all stand at the end, head and events are
    written anew from what they say. ``text`` has to be a session file that reads.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    data = tomllib.loads(text)
    events = data.pop("event", [])
    starts = [match.start() for match in _EVENT.finditer(text)]
    head = text[: starts[0]] if starts else text
    edges = [*starts, len(text)]
    chunks = tuple(text[a:b] for a, b in pairwise(edges))
    if _loads(head) == data and [_loads(chunk) for chunk in chunks] == [{"event": [one]} for one in events]:
        return head, chunks
    return head_text(values_of(data)), tuple(event_text(one) for one in events)


def joined(head: str, events: Sequence[str]) -> str:
    """The text of the session file with this head and these events."""
    parts, end = [head], head
    for one in events:
        parts += ["" if not end or end.endswith("\n") else "\n", "" if end.endswith("\n\n") else "\n", one]
        end = (end + "".join(parts[-3:]))[-2:]
    return "".join(parts)


def event_in(text: str) -> dict[str, object]:
    """The keys of the [[event]] section in ``text``."""
    usual = usual_event(text)
    if usual is not None:
        return usual
    found: dict[str, object] = tomllib.loads(text)["event"][0]
    return found


def usual_event(text: str) -> dict[str, object] | None:
    """The keys of a section in the form that the program itself writes, in a fifth of the time.

    All that was logged passes here each time a bench is opened. None for any other form, and for what is wrong.
    """
    if not text.startswith(_OPENING):
        return None
    body, between, rows = text[len(_OPENING) :].rstrip("\n").partition("\nhits = [\n")
    found = _pairs(body, "\n")
    if found is None or not between:
        return found
    rows, end, more = rows.partition(",\n]")
    hits = [_pairs(row[4:-2], ", ") if row[:4] == "  { " and row[-2:] == " }" else None for row in rows.split(",\n")]
    after = _pairs(more[1:], "\n") if more[:1] == "\n" else {}
    if not end or None in hits or after is None or "hits" in found or {"hits", *found} & {*after}:
        return None
    return {**found, "hits": hits, **after}


def _pairs(text: str, between: str) -> dict[str, object] | None:
    """The keys in ``text``, which is nothing but plain ones with ``between`` from one to the next; else None."""
    found: dict[str, object] = {}
    place = 0
    while match := _PAIR.match(text, place):
        name, words, number, moment, day = match.groups()
        if name in found:
            return None
        try:
            found[name] = (
                words
                if words is not None
                else int(number)
                if number
                else datetime.fromisoformat(moment)
                if moment
                else date.fromisoformat(day)
                if day
                else match[0].endswith("true")
            )
        except ValueError:  # no such day
            return None
        place = match.end()
        if place == len(text):
            return found
        if not text.startswith(between, place):
            return None
        place += len(between)
    return None


def when_in(text: str) -> object:
    """When the event in ``text`` was, None = not said; the arrows, which take longest to read, are not looked at."""
    body, arrows, _ = text.partition("\nhits = [\n")
    usual = _pairs(body[len(_OPENING) :], "\n") if arrows and body.startswith(_OPENING) else None
    if usual is not None and "when" in usual:
        return usual["when"]
    head = _loads(text.partition("\nhits = [")[0])
    events = None if head is None else head.get("event")
    return events[0].get("when") if isinstance(events, list) else event_in(text).get("when")


def _loads(text: str) -> dict[str, object] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None
