"""Reads one section of a session file against its keys, and says what is wrong in one sentence with the place."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from difflib import get_close_matches
from enum import StrEnum
from types import MappingProxyType
from typing import TypeVar

from spinewright.errors import InputError, Place, SessionFileError
from spinewright.logbook.events import Way
from spinewright.logbook.keys import Form, Key
from spinewright.logbook.phrases import read_clicks, read_lean, read_nock_turn, read_turns, read_way
from spinewright.units import Hand, Kind, parse

__all__ = ["Table", "nearest"]

_T = TypeVar("_T")
_E = TypeVar("_E", bound=StrEnum)
_SIDES = frozenset({"left", "right", "high", "low", "up", "down"})
_SIDED = MappingProxyType(
    {
        "hole": ("1.2 in", "where the point went in"),
        "tail": ("0.8 in", "where the tail tore"),
        "nock_leans": ("2 deg", "where the nock end leans"),
    }
)
_NO_NAMES: Mapping[str, str] = MappingProxyType({})


def nearest(word: str, known: list[str]) -> str:
    """What to write instead of ``word``: the nearest of ``known``, or all of them."""
    close = get_close_matches(word, known, n=1, cutoff=0.6)
    return f"the nearest known is '{close[0]}'" if close else "known are " + ", ".join(f"'{one}'" for one in known)


@dataclass(frozen=True, slots=True)
class Table:
    """A section: what was written, the keys it may have, where it stands ('bow.rest'), and the archer's hand.

    Readers raise :class:`~spinewright.errors.InputError` with ``place.field`` a dotted path ('event[3].hits[2].hole').
    """

    data: Mapping[str, object]
    keys: Mapping[str, Key]
    path: str
    hand: Hand

    @classmethod
    def over(cls, data: object, keys: tuple[Key, ...], path: str, hand: Hand) -> Table:
        """A table over ``data``, which has to be a section whose every key is known."""
        known = {key.name: key for key in keys}
        if not isinstance(data, Mapping):
            raise SessionFileError(
                "a section with named values is wanted here", _section_example(path, keys), Place(field=path or None)
            )
        for name in data:
            if name not in known:
                raise SessionFileError(
                    f"'{name}' is not a key of {_titled(path)}",
                    _side_named(name, known) or nearest(name, list(known)),
                    Place(field=f"{path}.{name}" if path else name),
                )
        return cls(data, known, path, hand)

    def at(self, name: str) -> str:
        """The dotted path of ``name``."""
        return f"{self.path}.{name}" if self.path else name

    def given(self, name: str) -> bool:
        """Whether ``name`` was filled in; an empty text is a blank that was left."""
        value = self.data.get(self.keys[name].name)
        return value is not None and not (isinstance(value, str) and not value.strip())

    def raw(self, name: str) -> object:
        """The value as written; absent or blank is an error that gives an example."""
        if not self.given(name):
            key = self.keys[name]
            written = f"write for example {name} = {key.example or _example(key)}"
            raise SessionFileError(f"{_titled(self.path)} has no {name}", written, Place(field=self.at(name)))
        return self.data[name]

    def maybe(self, name: str, read: Callable[[str], _T]) -> _T | None:
        """``read(name)``, or None where it was not filled in."""
        return read(name) if self.given(name) else None

    def get(self, name: str, read: Callable[[str], _T], default: _T) -> _T:
        """``read(name)``, or ``default`` where it was not filled in."""
        return read(name) if self.given(name) else default

    def quantity(self, name: str) -> float:
        """A quantity in SI, of the kind its key has."""
        kind = self.keys[name].form
        assert isinstance(kind, Kind)  # noqa: S101 - a wrong key table is a fault of this package
        return parse(self.raw(name), kind, field=self.at(name))

    def quantities(self, name: str, kind: Kind = Kind.MASS) -> tuple[float, ...]:
        """A list of quantities in SI."""
        values = self._list(name)
        return tuple(parse(value, kind, field=f"{self.at(name)}[{i}]") for i, value in enumerate(values, 1))

    def text(self, name: str) -> str:
        """A text in quotation marks."""
        value = self.raw(name)
        if not isinstance(value, str):
            raise self._wrong(name, value, "a text in quotation marks")
        return value.strip()

    def word(self, words: type[_E]) -> Callable[[str], _E]:
        """A reader of one of a few words."""

        def read(name: str) -> _E:
            value = self.raw(name)
            plain = " ".join(value.lower().split()) if isinstance(value, str) else str(value)
            try:
                return words(plain)
            except ValueError as error:
                raise SessionFileError(
                    f"{value!r} is not a {name.replace('_', ' ')} known here",
                    nearest(plain, [str(one) for one in words]),
                    Place(field=self.at(name)),
                ) from error

        return read

    def yes(self, name: str) -> bool:
        """True or false."""
        value = self.raw(name)
        if not isinstance(value, bool):
            raise self._wrong(name, value, "true or false without quotation marks")
        return value

    def whole(self, name: str) -> int:
        """A whole number that is not negative."""
        value = self.raw(name)
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 1_000_000:
            raise self._wrong(name, value, "a whole number without quotation marks, zero or more")
        return value

    def number(self, name: str) -> float:
        """A plain finite number."""
        value = self.raw(name)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise self._wrong(name, value, "a plain number without quotation marks")
        return float(value)

    def day(self, name: str) -> date:
        """A date; in quotation marks too, as other programs write it."""
        value = _moment(self.raw(name))
        if not isinstance(value, date) or isinstance(value, datetime):
            raise self._wrong(name, value, "a date without quotation marks")
        return value

    def moment(self, name: str) -> date:
        """A date, or a date and time; in quotation marks too, as other programs write it."""
        value = _moment(self.raw(name))
        if not isinstance(value, date):
            raise self._wrong(name, value, "a date, or a date and time, without quotation marks")
        return value

    def way(self, name: str) -> Way:
        """An offset [m] in the right-handed frame; directions not named stay None."""
        return read_way(self.raw(name), self.hand, field=self.at(name))

    def lean(self, name: str) -> tuple[float, float]:
        """(y, z) [rad] of a lean in the right-handed frame."""
        return read_lean(self.raw(name), self.hand, field=self.at(name))

    def clicks(self, name: str) -> Way:
        """Clicks in the right-handed frame."""
        return read_clicks(self.raw(name), self.hand, field=self.at(name))

    def turns(self, name: str) -> float:
        """Turns of both limb bolts, in positive."""
        return read_turns(self.raw(name), field=self.at(name))

    def nock_turn(self, name: str) -> float:
        """A turn of the nock [rad] in the right-handed frame, clockwise positive."""
        return read_nock_turn(self.raw(name), self.hand, field=self.at(name))

    def section(self, name: str) -> Table:
        """The section below ``name``; a missing one counts as empty, so that its first needed key is named."""
        key = self.keys[name]
        return Table.over(self.data.get(name, {}), key.keys, self.at(name), self.hand)

    def sections(self, name: str) -> Iterator[Table]:
        """The sections of the list ``name``; none if it was not given."""
        key = self.keys[name]
        for i, value in enumerate(self._list(name) if self.given(name) else [], 1):
            yield Table.over(value, key.keys, f"{self.at(name)}[{i}]", self.hand)

    @contextmanager
    def placed(self, names: Mapping[str, str] = _NO_NAMES) -> Iterator[None]:
        """Errors of the values built inside get this section's place.

        ``names`` maps the words those values use for their fields to the keys here, where the two differ.
        """
        try:
            yield
        except InputError as error:
            told = error.place.field or ""
            if told.startswith((self.path + ".", self.path + "[")):
                raise
            name = names.get(told, told.replace(" ", "_").replace("-", "_"))
            field = self.at(name) if name.partition(".")[0] in self.keys else (self.path or None)
            raise type(error)(error.what, error.right, Place(field=field)) from error

    def _list(self, name: str) -> list[object]:
        value = self.raw(name)
        if not isinstance(value, list):
            raise self._wrong(name, value, f"a list in square brackets ({self.keys[name].what})")
        return value

    def _wrong(self, name: str, value: object, wanted: str) -> SessionFileError:
        example = self.keys[name].example
        right = f"write {wanted}" + (f", for example {name} = {example}" if example else "")
        return SessionFileError(f"{name} = {value!r} cannot be used", right, Place(field=self.at(name)))


def _example(key: Key) -> str:
    """A section with its needed keys, in a list where a list is wanted."""
    inside = ", ".join(f"{one.name} = {one.example or _example(one)}" for one in key.keys if one.needed)
    return f"[{{ {inside} }}]" if key.form is Form.TABLES else f"{{ {inside} }}"


def _side_named(name: str, known: Mapping[str, Key]) -> str:
    """Where a side belongs that was written as if it were a key; '' for any other name."""
    if name.lower() not in _SIDES:
        return ""
    homes = [f'{key} = "{name.lower()} {size}" ({what})' for key, (size, what) in _SIDED.items() if key in known]
    return f"write {' or '.join(homes)}" if homes else ""


def _moment(value: object) -> object:
    """A text such as '2026-05-03' or '2026-05-03T10:15' as date or moment; anything else unchanged."""
    if not isinstance(value, str):
        return value
    try:
        return date.fromisoformat(value) if len(value) == len("2026-05-03") else datetime.fromisoformat(value)
    except ValueError:
        return value


def _titled(path: str) -> str:
    """'[bow.rest]' for a section; 'event 3, hits 2' for an entry of a list."""
    if "[" not in path:
        return f"[{path}]" if path else "the session file"
    return path.replace("[", " ").replace("]", "").replace(".", ", ")


def _section_example(path: str, keys: tuple[Key, ...]) -> str:
    first = next((key for key in keys if key.example), None)
    return f"write for example {{ {first.name} = {first.example} }}" if first else f"write a section [{path}]"
