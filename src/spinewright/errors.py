"""The error tree: every failure a person can meet, with the sentence inside the class.

::

    SpinewrightError
    +-- InputError            something a person wrote cannot be used (what, where, what would be right)
    |   +-- QuantityError     a quantity such as '29 1/2 in' cannot be read
    |   +-- EquipmentError    a bow, shaft, component or archer is outside what can be
    |   +-- EvidenceError     a shot, tear or reading cannot be used as it stands
    |   +-- ScopeError        a kind of shooting that is not supported yet
    |   +-- SessionFileError  the session file as a whole (missing, not text, unknown version, ...)
    +-- SolveError            a computation gave no usable answer (which quantity, which step, what to try)
    +-- StoreError            the file system refused (nothing was changed)
"""

from __future__ import annotations

from dataclasses import dataclass, replace

__all__ = [
    "EquipmentError",
    "EvidenceError",
    "InputError",
    "Place",
    "QuantityError",
    "ScopeError",
    "SessionFileError",
    "SolveError",
    "SpinewrightError",
    "StoreError",
    "inert",
]

_MOST_WORDS = 500  # characters of what is wrong, and of what would be right; a sentence is read, not searched
_MOST_FIELD = 160  # characters of a field's path
_GAP = " ... "


def inert(text: str, most: int = _MOST_WORDS) -> str:
    """``text`` in one line of at most ``most`` characters that steers no screen, page or direction of reading.

    What cannot be printed stands there as its code (as Python writes it), and the middle of a long text is left out.
    """
    if len(text) > most:
        text = text[: most // 2] + _GAP + text[len(text) + len(_GAP) - most + most // 2 :]
    if text.isprintable():
        return text
    return inert("".join(one if one.isprintable() else ascii(one)[1:-1] for one in text), most)


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a person's input something stands; every part is optional.

    ``table`` is the question that a table answers, ``line`` and ``field`` are then its line and column. The file that
    it came from is said in its stead, once it is known.
    """

    file: str | None = None
    line: int | None = None
    field: str | None = None
    table: str | None = None

    def __str__(self) -> str:
        parts = [inert(one) for one in (self.file or self.table,) if one is not None]
        if self.line is not None:
            parts.append(f"line {self.line}")
        if self.field is not None:
            parts.append(inert(self.field, _MOST_FIELD))
        return ", ".join(parts)


class SpinewrightError(Exception):
    """Base of all errors this package raises on purpose."""

    exit_code = 1


class InputError(SpinewrightError):
    """What a person wrote cannot be used: ``what`` is wrong, ``right`` says what would do.

    ``place`` may be filled in later by the layer that knows the file and line (see :meth:`at`). What a person wrote may
    be quoted in both as it stands: they are kept :func:`inert`.
    """

    exit_code = 2

    def __init__(self, what: str, right: str, place: Place | None = None) -> None:
        self.what = inert(what)
        self.right = inert(right)
        self.place = place or Place()
        super().__init__(self.what, self.right)

    def at(
        self,
        *,
        file: str | None = None,
        line: int | None = None,
        field: str | None = None,
        table: str | None = None,
    ) -> InputError:
        """The same error with the unknown parts of its place filled in; known parts stay."""
        place = replace(
            self.place,
            file=self.place.file if self.place.file is not None else file,
            line=self.place.line if self.place.line is not None else line,
            field=self.place.field if self.place.field is not None else field,
            table=self.place.table if self.place.table is not None else table,
        )
        return type(self)(self.what, self.right, place)

    def __str__(self) -> str:
        where = str(self.place)
        return f"{where + ': ' if where else ''}{self.what}; {self.right}."


class QuantityError(InputError):
    """A quantity cannot be read as the kind of quantity that is wanted."""


class EquipmentError(InputError):
    """A bow, shaft, component or archer is outside what can be."""


class EvidenceError(InputError):
    """A shot, tear or reading cannot be used as it stands."""


class ScopeError(InputError):
    """A kind of shooting that is not supported yet."""


class SessionFileError(InputError):
    """The session file as a whole cannot be used."""


class SolveError(SpinewrightError):
    """A computation gave no usable answer: which ``quantity``, at which ``step``, what to ``try_``."""

    exit_code = 3

    def __init__(self, quantity: str, step: str, try_: str) -> None:
        self.quantity = quantity
        self.step = step
        self.try_ = try_
        super().__init__(f"{quantity} could not be computed ({step}); {try_}.")


class StoreError(SpinewrightError):
    """The file system refused; what was stored before is unchanged."""

    exit_code = 4
