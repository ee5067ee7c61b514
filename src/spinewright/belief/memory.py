"""What was computed of late, kept so that the next move need not compute it again; the longest unused goes first."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import fields
from threading import Lock
from typing import Any, Generic, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

__all__ = ["Memory"]

Result = TypeVar("Result")


class Memory(Generic[Result]):
    """Results, dataclasses of arrays, by keys that say everything they depend on; at most ``room`` bytes of them.

    What is kept is shared, so its arrays can't be written to any more. Safe among threads; two that ask for the same
    at once may both compute it.
    """

    def __init__(self, room: int) -> None:
        self._room, self._size = room, 0
        self._kept: OrderedDict[Hashable, tuple[Result, int]] = OrderedDict()
        self._lock = Lock()

    def of(self, key: Hashable, compute: Callable[[], Result]) -> Result:
        """The result kept for ``key``, or the one that ``compute`` gives."""
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
                return found[0]
        result = compute()
        arrays = _arrays(result)
        for values in arrays:
            values.setflags(write=False)
        with self._lock:
            if key not in self._kept:
                self._kept[key] = result, sum(values.nbytes for values in arrays)
                self._size += self._kept[key][1]
            while self._size > self._room:
                self._size -= self._kept.popitem(last=False)[1][1]
        return result

    def forget(self) -> None:
        """Drop everything."""
        with self._lock:
            self._kept.clear()
            self._size = 0


def _arrays(result: object) -> list[NDArray[Any]]:
    values = (getattr(result, field.name) for field in fields(cast(Any, result)))
    return [v for v in values if isinstance(v, np.ndarray)]
