"""Reads the numbers of shafts as people write them: '1-12' or '1, 2, 5'."""

from __future__ import annotations

import re

from spinewright.errors import InputError, Place

__all__ = ["MOST_SHAFTS", "numbers_in"]

MOST_SHAFTS = 144


def numbers_in(text: str, field: str) -> list[int]:
    """The numbers in ``text``, in order; [] when there are none. Raises InputError at ``field``."""
    found: set[int] = set()
    for piece in filter(None, (one.strip() for one in text.split(","))):
        match = re.fullmatch(r"(\d{1,4})(?:\s*-\s*(\d{1,4}))?", piece)
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
        if not 1 <= first <= last:
            raise InputError(f"'{piece}' is no shaft number", "write for example 1-12 or 1, 2, 5", Place(field=field))
        found |= set(range(first, last + 1))
        if len(found) > MOST_SHAFTS:
            raise InputError("the set is too large", f"at most {MOST_SHAFTS} shafts", Place(field=field))
    return sorted(found)
