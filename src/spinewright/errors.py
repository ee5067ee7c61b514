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
]


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a person's input something stands; every part is optional."""

    file: str | None = None
    line: int | None = None
    field: str | None = None

    def __str__(self) -> str:
        parts = []
        if self.file is not None:
            parts.append(self.file)
        if self.line is not None:
            parts.append(f"line {self.line}")
        if self.field is not None:
            parts.append(self.field)
        return ", ".join(parts)


class SpinewrightError(Exception):
    """Base of all errors this package raises on purpose."""

    exit_code = 1


class InputError(SpinewrightError):
    """What a person wrote cannot be used: ``what`` is wrong, ``right`` says what would do.

    ``place`` may be filled in later by the layer that knows the file and line (see :meth:`at`).
    """

    exit_code = 2

    def __init__(self, what: str, right: str, place: Place | None = None) -> None:
        self.what = what
        self.right = right
        self.place = place or Place()
        super().__init__(what, right)

    def at(self, *, file: str | None = None, line: int | None = None, field: str | None = None) -> InputError:
        """The same error with the unknown parts of its place filled in; known parts stay."""
        place = replace(
            self.place,
            file=self.place.file if self.place.file is not None else file,
            line=self.place.line if self.place.line is not None else line,
            field=self.place.field if self.place.field is not None else field,
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
