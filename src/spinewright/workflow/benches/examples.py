"""What stands in a field for who fills it in: examples, usual values and proposed lengths, in the units they write."""

from __future__ import annotations

import math

from spinewright.units import MILLIMETRE, Kind, System, parse, show

__all__ = ["example_in", "on_the_rule", "usual_in"]

_RULED = 100 * MILLIMETRE  # from here on a length is read off a rule, below it off a calliper
_MOST = 2  # decimals of millimetres and grams that are written by hand
_ROUND = frozenset({Kind.LENGTH, Kind.DISTANCE, Kind.MASS, Kind.SPEED, Kind.AREA})
_SI = {Kind.LENGTH: 1e-3, Kind.MASS: 1e-3, Kind.AREA: 1e-6}  # of what metric archers write; m and m/s else


def example_in(form: object, text: str, system: System) -> str:
    """``text``, an example of ``form``, as a person who measures in ``system`` would write it: '730 mm', '5.2 mm'.

    What is no quantity stays as it is.
    """
    if system is System.INCH or not text or not isinstance(form, Kind):
        return text
    value = parse(text, form, field="example")
    if form not in _ROUND or value == 0.0:
        return usual_in(form, text, system)
    number = abs(value) / _SI.get(form, 1.0)
    digits = max(1 - math.floor(math.log10(number)), -1)
    if form in (Kind.LENGTH, Kind.MASS):
        digits = min(digits, _MOST)
    if form is not Kind.AREA:  # a balance shows tenths of a gram, a rule whole millimetres
        digits = max(digits, 1 if form is Kind.MASS else 0)
    return show(value, form, system, digits=digits)


def usual_in(form: object, text: str, system: System) -> str:
    """``text``, a usual value of ``form`` that stands until it is measured, in ``system``: '733 mm', '6.2 mm'."""
    if system is System.INCH or not text or not isinstance(form, Kind):
        return text
    value = parse(text, form, field="example")
    # what stands beside a value (newtons beside pounds) is nothing one has to type in
    ruled = form is Kind.LENGTH and abs(value) >= _RULED
    return show(value, form, system, digits=0 if ruled else None).partition(" (")[0]


def on_the_rule(length: float, system: System, least: float | None = None) -> str:
    """A ``length`` [m] that is proposed, as it is read off a rule: '29 11/16 in', '754 mm'.

    It is never rounded below ``least`` [m] when it is not below it itself.
    """
    if system is System.INCH:
        return show(length, Kind.LENGTH, system)
    whole = round(length / MILLIMETRE)
    if least is not None and whole * MILLIMETRE < least <= length:
        whole += 1
    return f"{whole} mm"
