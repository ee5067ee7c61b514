"""The session file: reading it, starting one, and adding an event so that nothing can be lost.

The standard library's parser reads: one that keeps comments took eleven times as long for 10,000 shots. tomlkit only
writes the values of a new event. Comments stay because the old text is never written anew: an event is added at its
end.
"""

from __future__ import annotations

import re
import secrets
import tomllib
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from spinewright.errors import InputError, Place, SessionFileError
from spinewright.logbook import safe_write, sections
from spinewright.logbook.archer import read_archer, read_face
from spinewright.logbook.event_reading import read_event
from spinewright.logbook.keys import ROOT
from spinewright.logbook.lines import line_of
from spinewright.logbook.replay import replay
from spinewright.logbook.session import FORMAT, Session
from spinewright.logbook.table import Table
from spinewright.units import Hand, System, own_first

__all__ = ["append", "create", "event_text", "new_id", "parse", "read", "toml_in", "written"]

_LARGEST = 64 * 1024 * 1024  # bytes; a session of a lifetime is far below
_ALPHABET = "abcdefghjkmnpqrstuvwxyz23456789"  # nothing that is read wrongly from paper
_TWICE = ("Cannot overwrite a value", "Cannot declare", "Duplicate inline table key")
_SECTION = re.compile(r"\s*\[\[?(?P<name>[^\[\]]+)\]\]?")
_LONG_NUMBER = re.compile(r"[0-9a-fA-F_]{16,}")  # digits of any base that may be more than 64 bits
_AS_IT_STANDS = re.compile(r"[ !#-\[\]-~]*", re.ASCII)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+", re.ASCII)
_STEERS = re.compile("[\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
_ORDER = {"kind": 0, "id": 1, "when": 2, "note": 9}
_AT_LINE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column \d+|end of document)\)$")


def read(path: str | Path) -> Session:
    """The session in the file at ``path``; it also replays.

    Raises :class:`~spinewright.errors.InputError` with one sentence that names file, line and field.
    """
    name = str(path)
    return parse(_decoded(_content(Path(path)), name), name)


def parse(text: str, name: str = "the session") -> Session:
    """The session written in ``text``; ``name`` is what errors call the file. See :func:`read`."""
    if not text.strip():
        raise SessionFileError("the file is empty", "start one with 'spinewright new FILE'", Place(file=name))
    data = toml_in(text, name)
    try:
        session = _session(data, name)
        replay(session)
    except InputError as error:
        line = line_of(text, error.place.field) if error.place.field else None
        raise _in_own_units(error, data).at(file=name, line=line) from error
    return session


def _in_own_units(error: InputError, data: Mapping[str, object]) -> InputError:
    """``error`` as whoever wrote the session reads it."""
    scope = data.get("scope")
    if not isinstance(scope, Mapping) or scope.get("units") != System.METRIC:
        return error
    return type(error)(own_first(error.what, System.METRIC), own_first(error.right, System.METRIC), error.place)


def append(path: str | Path, event: Mapping[str, object]) -> Session:
    """Add ``event`` (the keys of an [[event]] section, as a person writes them) at the end of the file at ``path``.

    An event without an id gets one. The whole file with the event has to read and replay; otherwise the error is
    raised and the file is as it was. Comments and layout of what is there stay, byte for byte; so do permissions.
    A kill at any moment leaves the old file or the new one. Raises InputError, or StoreError if the file system
    refuses.
    """
    path = Path(path)
    name = str(path)
    _content(path)  # says what is wrong with the path before a lock is asked for
    with safe_write.exclusive(path) as real:
        old = _content(real)
        text = _decoded(old, name)
        if text.strip():
            toml_in(text, name)  # a file that was broken before is told as that, without the event
        block = event_text({**event, "id": event.get("id") or new_id()})
        newline = "\r\n" if "\r\n" in text else "\n"
        gap = "" if text.endswith("\n") or not text else "\n"
        addition = (gap + "\n" + block).replace("\n", newline)
        session = parse(text + addition, name)
        safe_write.replace_content(real, old + addition.encode())
    return session


def create(path: str | Path, text: str) -> None:
    """Start a new session file with ``text``; a file that is there already is never touched (StoreError)."""
    safe_write.make(Path(path), text.encode())


def new_id() -> str:
    """A short id for an event, unique for all practical purposes (8 letters and digits of 31: 8e11)."""
    return "e" + "".join(secrets.choice(_ALPHABET) for _ in range(8))


def event_text(event: Mapping[str, object]) -> str:
    """``event`` as the text of an [[event]] section: kind and id first, lists one entry a line."""
    order = sorted(event, key=lambda name: _ORDER.get(name, 5))
    lines = ["[[event]]"]
    for name in order:
        value = event[name]
        if value is None:
            continue
        lines.append(_pair(name, value))
    return "\n".join(lines) + "\n"


def written(value: object) -> str:
    """``value`` as TOML, a list of sections one a line; SessionFileError for what TOML does not have."""
    plain = _plainly(value)
    if plain is not None:
        return plain
    import tomlkit

    if isinstance(value, list | tuple) and value and all(isinstance(one, Mapping) for one in value):
        return "[\n" + "".join(f"  {_inline(one)},\n" for one in value) + "]"
    if isinstance(value, Mapping):
        return _inline(value)
    try:
        text = tomlkit.item(value).as_string()
        text.encode()
        if isinstance(value, str):  # what turns a line round in an editor stands there as its code
            text = _STEERS.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
    except (TypeError, ValueError) as error:  # a text that is not Unicode is a ValueError too
        raise SessionFileError(f"{value!r} cannot be written", "use texts, numbers, dates, lists", Place()) from error
    return text


def _plainly(value: object) -> str | None:
    """What is the same in TOML as it stands, as nearly all of an event is; None for what has to be looked at closer.

    A walk is written with every tap on the page, and the library takes a millisecond for one.
    """
    if isinstance(value, str):
        return f'"{value}"' if _AS_IT_STANDS.fullmatch(value) else None
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime):
        return value.isoformat() if value.tzinfo is None else None
    return str(value) if type(value) is int else None


def _pair(name: str, value: object) -> str:
    try:
        if _BARE_KEY.fullmatch(name):
            return f"{name} = {written(value)}"
        import tomlkit

        return f"{tomlkit.key(name).as_string()} = {written(value)}"
    except SessionFileError as error:
        raise error.at(field=name) from error


def _inline(table: Mapping[str, object]) -> str:
    pairs = []
    for name, value in table.items():
        if value is not None:
            plain = _plainly(value) if name.isascii() and name.isidentifier() else None
            pairs.append(_pair(name, value) if plain is None else f"{name} = {plain}")
    return "{ " + ", ".join(pairs) + " }"


def _content(path: Path) -> bytes:
    name = str(path)
    try:
        if path.is_dir():
            raise SessionFileError("this is a folder, not a file", "give the session file inside it", Place(file=name))
        if path.exists() and not path.is_file():
            raise SessionFileError("this is not a file of text", "give a session file", Place(file=name))
        if path.stat().st_size > _LARGEST:
            raise SessionFileError("the file is far too large", "give a session file", Place(file=name))
        return path.read_bytes()
    except FileNotFoundError as error:
        raise SessionFileError(
            "there is no such file", "check the name, or start one with 'spinewright new FILE'", Place(file=name)
        ) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise SessionFileError(
            f"the file cannot be read ({reason})",
            "see that you may read it and that its disk is there",
            Place(file=name),
        ) from error


def _decoded(content: bytes, name: str) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise SessionFileError(
            f"the file is not UTF-8 text (byte {content[error.start]:#04x})",
            "save it as UTF-8 in your editor",
            Place(file=name, line=content.count(b"\n", 0, error.start) + 1),
        ) from error


def toml_in(text: str, name: str) -> dict[str, object]:
    """What ``text`` says, as TOML; ``name`` is what errors call it. Raises SessionFileError with the line."""
    try:
        data = tomllib.loads(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError) as error:  # a number of thousands of digits is a plain ValueError
        if not isinstance(error, tomllib.TOMLDecodeError | RecursionError):
            raise _endless(text, name) from error
        message = str(error)
        found = _AT_LINE.search(message)
        last = text.count("\n") + (0 if text.endswith("\n") else 1)
        line = int(found["line"]) if found and found["line"] else last
        reason = _AT_LINE.sub("", message)
        twice = _written_twice(text, line, reason)
        if twice is not None:
            raise SessionFileError(*twice, Place(file=name, line=line)) from error
        at_end = line >= last
        right = (
            "the file ends in the middle of something: complete the last line, or take it out"
            if at_end
            else 'write key = "value", one a line'
        )
        raise SessionFileError(f"this is not TOML ({reason})", right, Place(file=name, line=line)) from error
    if _LONG_NUMBER.search(text) and not _whole_numbers_fit(data):
        raise _endless(text, name)
    return data


def _endless(text: str, name: str) -> SessionFileError:
    """The error for a whole number of more than TOML's 64 bits; one of thousands of digits cannot even be shown."""
    longest = max(_LONG_NUMBER.finditer(text), key=lambda one: len(one[0]))
    line = text.count("\n", 0, longest.start()) + 1
    return SessionFileError("a number has far too many digits", "write what was measured", Place(file=name, line=line))


def _whole_numbers_fit(value: object) -> bool:
    if isinstance(value, Mapping):
        return all(_whole_numbers_fit(one) for one in value.values())
    if isinstance(value, list):
        return all(_whole_numbers_fit(one) for one in value)
    return not isinstance(value, int) or abs(value) < 2**63


def _written_twice(text: str, line: int, reason: str) -> tuple[str, str] | None:
    """What is wrong and what would be right when a key or a section stands there twice; None for anything else."""
    if not reason.startswith(_TWICE):
        return None
    written = text.split("\n")[line - 1]
    if header := _SECTION.match(written):
        section = header["name"].strip()
        return f"the section [{section}] is written twice", "put both under one heading, or take one out"
    inside = re.search(r"Duplicate inline table key '(?P<name>[^']*)'", reason)
    key = inside["name"] if inside else written.partition("=")[0].strip()
    return f"the key '{key}' is written twice", "take one of the two out"


def _session(data: dict[str, object], name: str) -> Session:
    _check_format(data)
    # the hand is read first because it decides what left and right mean in all that follows
    plain = Table.over(data, ROOT, "", Hand.RIGHT)
    scope = sections.read_scope(plain.section("scope"))
    root = Table.over(data, ROOT, "", scope.hand)
    marks = sections.read_marks(root.section("start"))
    start = sections.read_setup(root, marks)
    raw_events = data.get("event", [])
    if not isinstance(raw_events, list):
        raise SessionFileError("'event' is not a list", "write every event as [[event]]", Place(field="event"))
    return Session(
        scope=scope,
        archer=read_archer(root.section("archer"), scope, start.build.shaft.outer_diameter),
        start=start,
        marks=marks,
        owned=sections.read_owned(root.section("owned")),
        limits=sections.read_limits(root),
        expected_length=sections.read_expected_length(root),
        events=tuple(read_event(one, number, scope.hand) for number, one in enumerate(raw_events, 1)),
        source=name,
        face=read_face(root.section("archer")),
    )


def _check_format(data: dict[str, object]) -> None:
    version = data.get("format")
    if version is None:
        raise SessionFileError(
            "the file does not say which format it has",
            f"write format = {FORMAT} as its first line",
            Place(field="format"),
        )
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise SessionFileError(
            f"format = {version!r} cannot be used", f"write format = {FORMAT}", Place(field="format")
        )
    if version > FORMAT:
        raise SessionFileError(
            f"the file has format {version}, but this version of spinewright knows up to {FORMAT}",
            "use a newer spinewright; nothing was changed",
            Place(field="format"),
        )
