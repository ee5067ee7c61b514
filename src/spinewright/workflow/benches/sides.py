"""Between places as the page draws them (x right, y up, this archer's own) and the words a session file holds."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from spinewright.errors import Place, SessionFileError
from spinewright.evidence import Ellipse
from spinewright.units import DEGREE, INCH, Hand, Kind, System
from spinewright.workflow.showing import Json, Voice

__all__ = ["clicks_words", "ellipse", "lean_words", "number", "place", "place_words", "with_words", "xy"]

_PLACES = {"hole_xy": "hole", "tail_xy": "tail"}
_AMOUNTS = {"intended_xy": "intended", "measured_xy": "measured"}


def xy(y: float, z: float, hand: Hand) -> tuple[float, float]:
    """(x, y) of the page for (y, z) of the right-handed frame."""
    return (-y * hand.sideways_sign + 0.0, z + 0.0)


def place(at: tuple[float, float], voice: Voice, kind: Kind = Kind.LENGTH) -> Json:
    """(y, z) of the right-handed frame as x, y and text."""
    x, y = xy(*at, voice.hand)
    return {"x": x, "y": y, "text": voice.offset(at, kind)["text"]}


def ellipse(at: tuple[float, float], one: Ellipse, hand: Hand) -> Json:
    """``one`` round (y, z) of the right-handed frame."""
    x, y = xy(*at, hand)
    angle = math.remainder(one.direction if hand is Hand.LEFT else math.pi - one.direction, math.pi)
    return {"x": x, "y": y, "major": one.major, "minor": one.minor, "angle": angle, "share": one.share}


def place_words(x: float | None, y: float | None, system: System) -> str:
    """'right 1.204 in, low 0.5 in' for a place of the page [m]; an axis that is None is left out."""
    size, unit, digits = (INCH, "in", 3) if system is System.INCH else (1e-3, "mm", 2)
    # written out, as every hole of a logbook passes here each time it is opened
    side = "" if x is None else f"{'left' if x < 0 else 'right'} {_short(abs(x) / size, digits)} {unit}"
    height = "" if y is None else f"{'low' if y < 0 else 'high'} {_short(abs(y) / size, digits)} {unit}"
    return f"{side}, {height}" if side and height else side or height


def lean_words(x: float | None, y: float | None) -> str | None:
    """'right 2 deg' for a lean of the nock end [rad], None where it was not looked at."""
    if x is None and y is None:
        return None
    if not x and not y:
        return "straight"
    return _words((x, y), ("right", "left"), ("high", "low"), lambda v: f"{_short(v / DEGREE, 2)} deg")


def clicks_words(x: float | None, y: float | None) -> str:
    """'left 3, up 2' for clicks."""
    return _words((x or None, y or None), ("right", "left"), ("up", "down"), lambda v: f"{v:g}")


def with_words(event: Mapping[str, object], system: System) -> dict[str, object]:
    """``event`` with every ``..._xy`` of the page put into the words of an [[event]] section."""
    made: dict[str, object] = {}
    for name, value in event.items():
        if name in ("hits", "readings") and isinstance(value, list):
            made[name] = [with_words(one, system) if isinstance(one, Mapping) else one for one in value]
        elif name in _PLACES:
            made[_PLACES[name]] = place_words(*_pair(name, value), system)
        elif name in _AMOUNTS:  # an axis that did not move is not spoken of
            x, y = (one or None for one in _pair(name, value))
            made[_AMOUNTS[name]] = place_words(x, y, system)
        elif name == "lean_xy":
            made["nock_leans"] = lean_words(*_pair(name, value))
        elif name == "clicks_xy":
            made["clicks"] = clicks_words(*_pair(name, value))
        else:
            made[name] = value
    return made


def number(name: str, value: object) -> float:
    """A finite number, or one sentence that says what was sent."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise SessionFileError(f"{name} = {value!r} is not a number", "send a finite number", Place(field=name))
    return float(value)


def _pair(name: str, value: object) -> tuple[float, float]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise SessionFileError(f"{name} = {value!r} is not a place", "send two numbers, x and y", Place(field=name))
    return number(name, value[0] or 0.0), number(name, value[1] or 0.0)


def _words(
    at: tuple[float | None, float | None], sides: tuple[str, str], heights: tuple[str, str], say: Callable[[float], str]
) -> str:
    parts = [
        f"{words[value < 0]} {say(abs(value))}"
        for value, words in zip(at, (sides, heights), strict=True)
        if value is not None
    ]
    return ", ".join(parts)


def _short(value: float, digits: int) -> str:
    return f"{value:.{digits}f}".rstrip("0").rstrip(".") or "0"
