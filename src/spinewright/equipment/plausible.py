"""Checks a field against its plausible range and says so in one sentence, in the units archers read."""

from __future__ import annotations

import math

from spinewright.errors import EquipmentError, Place
from spinewright.units import Kind, System, show

__all__ = ["both", "check_count", "check_range", "refuse"]


def check_range(field: str, value: float, low: float, high: float, kind: Kind) -> None:
    """Raise EquipmentError unless ``low <= value <= high`` (all SI of ``kind``); ``field`` is the plain name."""
    if math.isfinite(value) and low <= value <= high:
        return
    given = both(value, kind) if math.isfinite(value) else "something that is not a number"
    _fail(field, f"{given} cannot be right", f"plausible is {_span(low, high, kind)}")


def check_count(field: str, value: float, low: float, high: float) -> None:
    """Raise EquipmentError unless ``low <= value <= high``, for plain numbers without a unit."""
    if math.isfinite(value) and low <= value <= high:
        return
    given = f"{value:g}" if math.isfinite(value) else "something that is not a number"
    _fail(field, f"{given} cannot be right", f"plausible is {low:g} to {high:g}")


def refuse(field: str, what: str, right: str) -> None:
    """Raise EquipmentError: ``what`` is wrong with ``field``, ``right`` would do."""
    _fail(field, what, right)


def both(value: float, kind: Kind) -> str:
    """``value`` in inches and pounds with its metric reading in brackets, once when they are the same."""
    inch, metric = show(value, kind, System.INCH), show(value, kind, System.METRIC)
    if inch == metric or metric.startswith(f"{inch} ("):  # the trade's own number, with the metric one behind already
        return metric
    return f"{inch} ({metric})"


def _span(low: float, high: float, kind: Kind) -> str:
    """'0.150 to 2.000 in (3.81 to 50.80 mm)'."""
    texts = []
    for system in System:
        first, second = show(low, kind, system), show(high, kind, system)
        number, _, unit = first.partition(" ")
        same = second.endswith(f" {unit}") and " " not in unit and number.count("/") == 0
        texts.append(f"{number} to {second}" if same else f"{first} to {second}")
    return texts[1] if texts[0] == texts[1] or "(" in texts[1] else f"{texts[0]} ({texts[1]})"


def _fail(field: str, what: str, right: str) -> None:
    raise EquipmentError(what, right, Place(field=field))
