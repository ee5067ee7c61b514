"""An invented bow, shaft and arrow for tests, each changed field by field."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from spinewright.equipment import (
    ArrowBuild,
    Bow,
    Component,
    Fletching,
    ForceReading,
    Head,
    Rest,
    RestKind,
    Setup,
    Shaft,
)
from spinewright.units import DEGREE, GRAIN, INCH, POUND_FORCE

__all__ = ["READINGS", "a_bow", "a_build", "a_setup", "a_shaft"]

# invented: a 61.5 lb bow read every inch and a half, brace 6.4 in, full draw 26.7 in from the pivot
_DRAWS = (7.9, 9.4, 10.9, 12.4, 13.9, 16.4, 19.4, 21.4, 22.9, 24.4, 25.9, 26.7)
_FORCES = (15.0, 31.0, 45.5, 55.5, 60.5, 61.5, 61.3, 60.0, 50.5, 33.0, 16.5, 12.6)
READINGS = tuple(ForceReading(draw * INCH, force * POUND_FORCE) for draw, force in zip(_DRAWS, _FORCES, strict=True))


def a_shaft(**changes: Any) -> Shaft:  # noqa: ANN401 - whatever its fields are
    return replace(Shaft(0.372 * INCH, 8.2 * GRAIN / INCH, 0.2905 * INCH, 0.2440 * INCH), **changes)


def a_build(**changes: Any) -> ArrowBuild:  # noqa: ANN401 - whatever its fields are
    build = ArrowBuild(
        shaft=a_shaft(),
        throat_length=28.65 * INCH,
        carbon_length=28.05 * INCH,
        nock=Component(8.4 * GRAIN, 0.021),
        head=Head(114 * GRAIN, 0.024),
        fletching=Fletching(3, 5.9 * GRAIN, 0.0515, 0.0117, 2.1 * DEGREE, 0.029),
        insert=Component.inside(24.6 * GRAIN, 0.0235),
        wrap=Component.inside(6.2 * GRAIN, 0.1),
    )
    return replace(build, **changes)


def a_bow(**changes: Any) -> Bow:  # noqa: ANN401 - whatever its fields are
    bow = Bow(
        peak_weight=61.5 * POUND_FORCE,
        let_off=0.795,
        draw_length=28.45 * INCH,
        brace_height=6.4 * INCH,
        axle_to_axle=33.2 * INCH,
        rest=Rest(RestKind.DROP_AWAY, 0.3 * INCH, 0.11),
        weight_per_turn=2.7 * POUND_FORCE,
    )
    return replace(bow, **changes)


def a_setup(**changes: Any) -> Setup:  # noqa: ANN401 - whatever its fields are
    return replace(Setup(a_build(), a_bow()), **changes)
