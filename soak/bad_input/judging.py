"""What counts as a fault of a reader: a foreign exception, a number that is not finite, a refusal that is no use."""

from __future__ import annotations

import dataclasses
import math
import traceback
import unicodedata
from collections.abc import Callable, Iterator, Mapping

import numpy as np

from spinewright.errors import InputError, SpinewrightError

__all__ = ["MOST_WORDS", "fault_of", "inert", "not_finite"]

MOST_WORDS = 1500
"""Characters of a refusal; what a person wrote may be quoted in it, but not whole pages of it."""
_NOT_INERT = ("Cc", "Cf", "Cs", "Zl", "Zp")  # controls, directions and other format characters, halves, line breaks


def fault_of(read: Callable[[], object]) -> str | None:
    """What is wrong with what ``read`` does, None when nothing is: it gives finite numbers or a useful refusal."""
    try:
        found = read()
    except InputError as error:
        return _useless(error)
    except SpinewrightError as error:
        return None if inert(str(error)) else "a refusal holds characters that steer a screen"
    except Exception as error:  # that no other exception comes is what is tried here
        last = traceback.extract_tb(error.__traceback__)[-1]
        place = last.filename.rpartition("spinewright/")[2]
        return f"{type(error).__name__} in {place}, {last.name}"
    where = next(not_finite(found), None)
    return None if where is None else f"a number that is not finite: {where}"


def not_finite(value: object, path: str = "") -> Iterator[str]:
    """Where in ``value`` a number is not finite, as a path of fields."""
    if isinstance(value, float):
        if not math.isfinite(value):
            yield path or "the number itself"
    elif isinstance(value, np.ndarray):
        if value.dtype.kind == "f" and not np.isfinite(value).all():
            yield path
    elif isinstance(value, Mapping | tuple | list):
        for one in value.values() if isinstance(value, Mapping) else value:
            yield from not_finite(one, path + "[]")
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from not_finite(getattr(value, field.name), f"{path}.{field.name}")


def inert(text: str) -> bool:
    """Whether ``text`` holds nothing that steers a screen, a page or the direction of reading."""
    return not any(unicodedata.category(one) in _NOT_INERT for one in text)


def _useless(error: InputError) -> str | None:
    sentence = str(error)
    if error.place.field is None and error.place.line is None:
        return f"a refusal names neither field nor line: {error.what[:60]!a}"
    if not inert(sentence):
        return "a refusal holds characters that steer a screen"
    if len(sentence) > MOST_WORDS:
        return f"a refusal is {len(sentence)} characters long"
    return None
