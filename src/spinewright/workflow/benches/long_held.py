"""Keeps what is held for long out of the rounds of Python's garbage collector.

A full round looks at every value that is held, and nobody is answered meanwhile: with the benches of ten years a
quarter of a second, again and again. There is nothing to find there. What is read of a bench never refers back to
itself, so it is freed at once when it is let go of, without the collector.
"""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["held_long", "hold_all"]

_LOCK = threading.Lock()
_reading = 0


@contextmanager
def held_long() -> Iterator[None]:
    """What is made inside is held for long. Where several threads are inside, the last one that leaves ends it."""
    global _reading  # noqa: PLW0603 - the collector is the whole process's, and so is the count of who reads
    with _LOCK:
        _reading += 1
        if _reading == 1:
            gc.collect()  # what is left over now would be held as well
            gc.disable()
    try:
        yield
    finally:
        with _LOCK:
            _reading -= 1
            if _reading == 0:
                hold_all()
                gc.enable()


def hold_all() -> None:
    """Everything that there is now is held for long; takes no time."""
    gc.freeze()
