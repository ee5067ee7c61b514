"""What a request may hold: JSON of some depth, numbers and texts that can be kept; else it is refused by place."""

from __future__ import annotations

import math
from typing import Annotated, Any

from fastapi import Body
from pydantic import AfterValidator

from spinewright.errors import Place, SessionFileError

__all__ = ["Sent", "checked"]

_DEEPEST = 16  # levels; the deepest thing a page sends has six
_WIDEST = 2**63


def checked(value: Any, field: str = "", level: int = 0) -> Any:  # noqa: ANN401 - JSON as it came
    """``value`` as it is. Raises SessionFileError for what JSON can say but nobody can have meant."""
    if level > _DEEPEST:
        raise _refused("this is nested too deeply", f"send at most {_DEEPEST} levels", field)
    if isinstance(value, dict):
        for name, one in value.items():
            _whole(name, field)
            checked(one, f"{field}.{name}" if field else name, level + 1)
    elif isinstance(value, list):
        for number, one in enumerate(value, 1):
            checked(one, f"{field}[{number}]", level + 1)
    elif isinstance(value, str):
        _whole(value, field)
    elif isinstance(value, int) and abs(value) >= _WIDEST:
        raise _refused("a number has far too many digits", "send what was measured", field)
    elif isinstance(value, float) and not math.isfinite(value):
        raise _refused(f"{value!r} is not a number", "send a finite number", field)
    return value


def _whole(text: str, field: str) -> None:
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise _refused("a text holds half a character", "send whole ones", field) from error


def _refused(what: str, right: str, field: str) -> SessionFileError:
    return SessionFileError(what, right, Place(field=field or None))


Sent = Annotated[dict[str, Any], Body(), AfterValidator(checked)]
"""The JSON object a request has to bring."""
