"""How long a call takes: the least of some runs."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

__all__ = ["least"]


def least(call: Callable[[], object], repeats: int, clock: Callable[[], float] = time.thread_time) -> float:
    """Least time of some runs [s] by ``clock``: what else the machine does only ever adds."""
    call()
    found = math.inf
    for _ in range(repeats):
        begin = clock()
        call()
        found = min(found, clock() - begin)
    return found
