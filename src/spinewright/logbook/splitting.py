"""Takes a session file apart into its head and its events as they were written, and puts it together again."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from itertools import pairwise

from spinewright.logbook.head import head_text, values_of
from spinewright.logbook.session_file import event_text

__all__ = ["event_in", "joined", "split", "when_in"]

_EVENT = re.compile(r"^[ \t]*\[\[[ \t]*event[ \t]*\]\].*$", re.MULTILINE)


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
    found: dict[str, object] = tomllib.loads(text)["event"][0]
    return found


def when_in(text: str) -> object:
    """When the event in ``text`` was, None = not said; the arrows, which take longest to read, are not looked at."""
    head = _loads(text.partition("\nhits = [")[0])
    events = None if head is None else head.get("event")
    return events[0].get("when") if isinstance(events, list) else event_in(text).get("when")


def _loads(text: str) -> dict[str, object] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None
