"""What a part of the long runs gives back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from numpy.random import Generator

__all__ = ["Figures", "Part"]


@dataclass(frozen=True, slots=True)
class Figures:
    """``about`` says how it was found, ``amount`` how much was run; ``faults`` holds a sentence for each thing wrong.

    ``columns`` head the ``rows``; every cell is text as it stands on the page.
    """

    about: str
    amount: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """A part: its heading, what runs it on an amount (``usual`` of ``unit``) and a generator, and never raises."""

    title: str
    run: Callable[[float, Generator], Figures]
    usual: float
    unit: str
