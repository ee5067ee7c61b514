"""Good session files spoilt: bytes choose lines and what is done to them, so that a fuzzer can steer it."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from spinewright.errors import InputError
from spinewright.logbook import EVENTS, Key, parse, template
from spinewright.logbook.head import KEYS
from spinewright.logbook.keys import Form
from spinewright.units import Hand, System

__all__ = ["HOSTILE", "every_event", "good_sessions", "spoilt"]

_MOST_EDITS = 12

#: What may stand to the right of '=' and should not: sizes, other types, marks of other languages, odd characters.
HOSTILE: tuple[str, ...] = (
    '""', '" "', "0", "-1", "1e400", "-1e400", "nan", "inf", "-inf", "9" * 400, "0x" + "f" * 5000, "1e-320",
    '"1e9 in"', '"nan in"', '"inf"', '"0/0 in"', '"1/0 in"', '"left ' + "9" * 400 + '"', '"in ' + "9" * 400 + '/3"',
    '"left 1/' + "9" * 5000 + '"', '"clockwise 400 deg"', '"-0 in"', '"0 in"', '"0 lb"', '"1,5 in"', '"1 in 2 ft"',
    "true", "false", "[]", "{}", "[[]]", "[{}]", '["", ""]', "[1, 2]", "{ a = 1 }", "2026-13-01", "9999-12-31",
    "0001-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59", "12:30:00", '"0001-01-01"', '"2026-01-01T10:00:00Z"',
    '"\\u0000"', '"\\u001b[2J"', '"\\u202eleft"', '"\\u2028"', "'''\na\n'''", '"=1+1"', '"../../x"', '"<b>x</b>"',
    '"' + "x" * 3000 + '"', '"١ in"', '"１２ in"', '"²"', '"½ in"', '"1 1/2 in"', '"last"', '"#1"', '"a"',
)  # fmt: skip


@lru_cache(maxsize=1)
def good_sessions() -> tuple[tuple[str, ...], ...]:
    """The lines of sessions that read, for both hands: with every value that goes together, and with few."""
    full = [_filled(_plain(hand, System.INCH)) for hand in Hand]
    return (*full, *(tuple(_plain(hand, System.METRIC)) for hand in Hand))


def _plain(hand: Hand, system: System) -> list[str]:
    """The lines that a new session file begins with, without its comments."""
    lines = [line.partition("#")[0].strip() for line in str(template(hand, system, filled=True)).splitlines()]
    return [line for line in lines if line]


def _filled(lines: list[str]) -> tuple[str, ...]:
    """The same with an example wherever nothing stands, as long as all goes together."""
    section = ""
    for at, line in enumerate(lines):
        key, _, value = line.partition(" = ")
        section = line.strip("[]") if line.startswith("[") else section
        known = KEYS.get(f"{section}.{key}")
        if value != '""' or known is None:
            continue
        lines[at] = f"{key} = {known.example}"
        try:
            parse("\n".join(lines), "a.toml")
        except InputError:
            lines[at] = line
    return tuple(lines)


@lru_cache(maxsize=1)
def every_event() -> tuple[tuple[str, ...], ...]:
    """Every kind of event with all its keys as the examples have them."""
    return tuple(("[[event]]", f'kind = "{kind}"', *_lines(keys)) for kind, keys in EVENTS.items())


def _lines(keys: tuple[Key, ...]) -> list[str]:
    return [f"{key.name} = {_example(key)}" for key in keys]


def _example(key: Key) -> str:
    if key.form not in (Form.TABLE, Form.TABLES):
        return key.example or '"x"'
    inside = "{ " + ", ".join(f"{one.name} = {_example(one)}" for one in key.keys) + " }"
    return f"[{inside}]" if key.form is Form.TABLES else inside


class _Choices:
    """Takes numbers and texts off the front of a string of bytes; zeros when it is used up."""

    def __init__(self, data: bytes) -> None:
        self._data, self._at = data, 0

    @property
    def left(self) -> bool:
        return self._at < len(self._data)

    def one_of(self, values: Any) -> Any:  # noqa: ANN401 - any sequence, and what stands in it
        wide = 2 if len(values) > 256 else 1
        taken = self._data[self._at : self._at + wide]
        self._at += wide
        return values[int.from_bytes(taken, "little") % len(values)]

    def text(self) -> str:
        length = self.one_of(range(24))
        taken = self._data[self._at : self._at + length]
        self._at += length
        return taken.decode("utf-8", "replace")


def spoilt(data: bytes) -> str:
    """A good session with events, and what ``data`` says done to its lines."""
    choices = _Choices(data)
    lines = list(choices.one_of(good_sessions()))
    for _ in range(choices.one_of(range(6))):
        lines += choices.one_of(every_event())
    edits = 0
    while choices.left and edits < _MOST_EDITS and lines:
        _edit(lines, choices)
        edits += 1
    return "\n".join(lines) + "\n"


def _edit(lines: list[str], choices: _Choices) -> None:
    at = choices.one_of(range(len(lines)))
    line = lines[at]
    key = line.partition("=")[0]
    match choices.one_of(range(8)):
        case 0:
            del lines[at]
        case 1:
            lines.insert(at, line)
        case 2:
            other = choices.one_of(range(len(lines)))
            lines[at], lines[other] = lines[other], line
        case 3:
            lines[at] = f"{key}= {choices.one_of(HOSTILE)}"
        case 4:
            lines[at] = f'{key}= "{choices.text()}"'
        case 5:
            lines[at] = f"{key}={choices.one_of(lines).partition('=')[2]}"
        case 6:
            where = choices.one_of(range(len(line) + 1))
            lines[at] = line[:where] + choices.text() + line[where + 1 :]
        case _:
            lines[at + 1 : at + 1] = choices.one_of(every_event())
