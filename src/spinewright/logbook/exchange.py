"""The file in which a whole logbook goes to another one: JSON with every bench, start, entry and tap, and a check sum.

::

    {"spinewright_logbook": 1, "written_by": "0.1.0", "sha256": "...",
     "benches": [{"id", "name", "named", "made", "invented",
                  "heads": [{"text", "assumed", "saved", "after"}],
                  "events": [{"id", "text", "saved", "after"}],
                  "taps": [{"walk", "tap", "body", "saved", "after"}]}]}

Texts are those of the session file. Moments are UTC; ``after`` names what an entry was written in the knowledge of.
Devices and answers that can be computed again stay at home.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from spinewright import __version__
from spinewright.errors import InputError, Place, SessionFileError
from spinewright.logbook.event_reading import read_event
from spinewright.logbook.session_file import parse, toml_in
from spinewright.logbook.splitting import usual_event
from spinewright.logbook.store.rows import BenchRow, EventRow, HeadRow, TapRow, Whole
from spinewright.logbook.uniting import put_together

__all__ = ["LARGEST", "exchange_text", "read_exchange"]

FORMAT = 1
LARGEST = 256 * 1024 * 1024
"""Bytes; ten years of a shop (200 bows, 200,000 shots) came to 85 MB (computed, `python -m soak years`)."""
_ID = re.compile(r"[A-Za-z0-9_-]{1,40}", re.ASCII)
_EVENT_ID = re.compile(r"[A-Za-z0-9_-]{1,40}|#[1-9][0-9]{0,6}", re.ASCII)
_TOP = {"spinewright_logbook", "written_by", "sha256", "benches"}
_WHOLE = "take the file as another spinewright wrote it, and bring it here once more"


def exchange_text(wholes: Iterable[Whole]) -> str:
    """The file of these benches; the same benches give the same text."""
    benches = [_bench(one) for one in sorted(wholes, key=lambda whole: whole.row.id)]
    said = {"spinewright_logbook": FORMAT, "written_by": __version__, "sha256": _sum(benches), "benches": benches}
    return json.dumps(said, ensure_ascii=False, indent=1) + "\n"


def _bench(whole: Whole) -> dict[str, Any]:
    row = whole.row
    return {
        "id": row.id,
        "name": row.name,
        "named": row.named,
        "made": row.made,
        "invented": row.invented,
        "heads": [
            {"text": one.text, "assumed": list(one.assumed), "saved": one.saved, "after": list(one.after)}
            for one in whole.heads
        ],
        "events": [
            {"id": one.id, "text": one.text, "saved": one.saved, "after": list(one.after)}
            for one in (*whole.events, *whole.variants)
        ],
        "taps": [
            {"walk": one.walk, "tap": one.tap, "body": one.body, "saved": one.saved, "after": list(one.after)}
            for one in whole.taps
        ],
    }


def _sum(benches: list[dict[str, Any]]) -> str:
    return hashlib.sha256(json.dumps(benches, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


def read_exchange(text: str, name: str) -> tuple[Whole, ...]:
    """The benches of the file ``text``, which errors call ``name``; every entry is read. Raises InputError."""
    try:
        data = _json(text)
        _checked_top(data)
        found: dict[str, Whole] = {}
        for number, one in enumerate(data["benches"], 1):
            path = f"benches[{number}]"
            whole = _read_bench(_Item(one, path))
            if whole.row.id in found:
                raise _wrong(f"the bench '{whole.row.id}' is there twice", f"{path}.id")
            found[whole.row.id] = whole
    except InputError as error:
        raise error.at(file=name) from error
    return tuple(found.values())


def _json(text: str) -> Any:  # noqa: ANN401 - JSON
    if len(text) > LARGEST:
        raise _wrong("the file is far too large", None)
    try:
        return json.loads(text.removeprefix("\ufeff"), object_pairs_hook=_once, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        raise SessionFileError(f"this is no logbook file ({error.msg})", _WHOLE, Place(line=error.lineno)) from error
    except (ValueError, RecursionError) as error:
        raise _wrong("this is no logbook file (it is nested too deeply or holds an endless number)", None) from error


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = next(key for key, _ in pairs if sum(key == one for one, _ in pairs) > 1)
        raise _wrong("a name is there twice", twice)
    return found


def _no_number(said: str) -> float:
    raise _wrong(f"{said} is no number", None)


def _checked_top(data: object) -> None:
    if not isinstance(data, dict) or "spinewright_logbook" not in data:
        raise _wrong("this is no logbook file", "spinewright_logbook")
    version = data["spinewright_logbook"]
    if isinstance(version, int) and version > FORMAT:
        right = "use a newer spinewright; nothing was changed"
        what = f"the file has format {version}, but this version of spinewright knows up to {FORMAT}"
        raise SessionFileError(what, right, Place(field="spinewright_logbook"))
    if version != FORMAT or isinstance(version, bool):
        raise _wrong(f"{version!r} is no format of a logbook file", "spinewright_logbook")
    _names(data, _TOP, "")
    if not isinstance(data["benches"], list) or not all(isinstance(one, dict) for one in data["benches"]):
        raise _wrong("'benches' is no list of benches", "benches")
    try:
        whole = _sum(data["benches"]) == data["sha256"]
    except RecursionError:
        whole = False
    if not whole:
        raise _wrong("the file was changed or damaged since it was written: its check sum is another one", "sha256")


def _names(data: Mapping[str, object], wanted: set[str], path: str) -> None:
    for name in sorted(wanted ^ set(data)):
        what = f"'{name}' is missing" if name in wanted else f"'{name}' is not known here"
        raise _wrong(what, f"{path}.{name}" if path else name)


class _Item:
    """An object of the file with the path to it."""

    def __init__(self, data: object, path: str) -> None:
        if not isinstance(data, dict):
            raise _wrong("this is no object", path)
        self.data: dict[str, Any] = data
        self.path = path

    def names(self, *wanted: str) -> None:
        _names(self.data, set(wanted), self.path)

    def text(self, name: str, form: re.Pattern[str] | None = None) -> str:
        """A text that any database can hold, of a form."""
        value = self.data[name]
        if not isinstance(value, str) or "\0" in value or not _encodes(value):
            raise _wrong(f"'{name}' is no text that can be kept", f"{self.path}.{name}")
        if form is not None and not form.fullmatch(value):
            raise _wrong(f"{value!r} cannot be an id", f"{self.path}.{name}")
        return value

    def moment(self, name: str) -> str:
        """A moment as the store writes it."""
        value = self.text(name)
        try:
            moment = datetime.fromisoformat(value)
        except ValueError:
            moment = None
        if moment is None or moment.tzinfo != UTC or moment.isoformat(timespec="microseconds") != value:
            raise _wrong(f"{value!r} is no moment", f"{self.path}.{name}")
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """A list of texts."""
        values = self.data[name]
        if not isinstance(values, list):
            raise _wrong(f"'{name}' is no list", f"{self.path}.{name}")
        numbered = _Item({str(n): value for n, value in enumerate(values, 1)}, f"{self.path}.{name}")
        return tuple(numbered.text(key) for key in numbered.data)

    def items(self, name: str) -> list[_Item]:
        """A list of objects."""
        values = self.data[name]
        if not isinstance(values, list):
            raise _wrong(f"'{name}' is no list", f"{self.path}.{name}")
        return [_Item(value, f"{self.path}.{name}[{number}]") for number, value in enumerate(values, 1)]


def _read_bench(item: _Item) -> Whole:
    item.names("id", "name", "named", "made", "invented", "heads", "events", "taps")
    if not isinstance(item.data["invented"], bool):
        raise _wrong("'invented' is neither true nor false", f"{item.path}.invented")
    made = item.moment("made")
    bench, name, invented = item.text("id", _ID), item.text("name"), item.data["invented"]
    row = BenchRow(bench, name, invented, made, made, 1, True, item.moment("named"))
    heads = tuple(map(_read_head, item.items("heads")))
    if not heads:
        raise _wrong("a bench needs a recorded start", f"{item.path}.heads")
    events = tuple(map(_read_event, item.items("events")))
    known = {one.id for one in events}
    for number, one in enumerate(events, 1):
        for before in one.after:
            if before not in known or before == one.id:
                path = f"{item.path}.events[{number}].after"
                raise _wrong(f"the event '{one.id}' stands after '{before}', which is not there", path)
    whole = put_together(row, events, heads, _read_taps(item.items("taps")))
    _check_events(whole, events, item.path)
    return whole


def _read_head(item: _Item) -> HeadRow:
    item.names("text", "assumed", "saved", "after")
    text = item.text("text")
    with_place = f"{item.path}.text"
    try:
        session = parse(text, with_place)
    except InputError as error:
        raise type(error)(error.what, error.right, Place(field=_inside(with_place, error))) from error
    if session.events:
        raise _wrong("a recorded start holds no events", with_place)
    return HeadRow(text, item.texts("assumed"), item.moment("saved"), item.texts("after"))


def _read_event(item: _Item) -> EventRow:
    item.names("id", "text", "saved", "after")
    id_, text = item.text("id", _EVENT_ID), item.text("text")
    said = _section(text, item.path).get("id")
    if said != id_ and not (id_.startswith("#") and said is None):
        raise _wrong(f"the event '{id_}' calls itself {said!r} in its text", f"{item.path}.text")
    return EventRow(id_, text, item.moment("saved"), item.texts("after"))


def _section(text: str, path: str) -> Mapping[str, object]:
    """The keys of the one [[event]] section that ``text`` is."""
    usual = usual_event(text)
    if usual is not None:
        return usual
    try:
        data = toml_in(text, path)
    except InputError as error:
        raise type(error)(error.what, error.right, Place(field=f"{path}.text")) from error
    sections = data.get("event")
    if set(data) != {"event"} or not isinstance(sections, list) or len(sections) != 1:
        raise _wrong("the text of an event is not one [[event]] section", f"{path}.text")
    return sections[0] if isinstance(sections[0], dict) else {}


def _read_taps(items: list[_Item]) -> list[TapRow]:
    """The sayings of taps; where a file does not say after which others one was written, it knows those before it."""
    found: list[TapRow] = []
    last: dict[tuple[str, str], str] = {}
    for item in sorted(items, key=lambda one: str(one.data.get("saved"))):
        told = "after" in item.data
        item.names("walk", "tap", "body", "saved", *(["after"] if told else []))
        which, saved = (item.text("walk", _ID), item.text("tap", _ID)), item.moment("saved")
        before = (last[which],) if which in last else ()
        found.append(TapRow(*which, item.text("body"), saved, item.texts("after") if told else before))
        last[which] = saved
    return found


def _check_events(whole: Whole, events: tuple[EventRow, ...], path: str) -> None:
    """Every event can be read as one of this archer's."""
    hand = parse(whole.head.text).scope.hand
    for number, one in enumerate(events, 1):
        try:
            read_event(_section(one.text, path), number, hand)
        except InputError as error:
            inside = (error.place.field or "").partition(".")[2]
            place = f"{path}.events[{number}]" + (f".{inside}" if inside else "")
            raise type(error)(error.what, error.right, Place(field=place)) from error


def _inside(path: str, error: InputError) -> str:
    return f"{path}: {error.place.field}" if error.place.field else path


def _encodes(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _wrong(what: str, field: str | None) -> SessionFileError:
    return SessionFileError(what, _WHOLE, Place(field=field))
