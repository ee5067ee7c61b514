"""The equipment of a world: an invented bow, shaft and arrow, left long as a first test length is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spinewright.equipment import (
    ArrowBuild,
    Bow,
    Component,
    CurveShape,
    Fletching,
    Head,
    Rest,
    RestKind,
    Setup,
    Shaft,
    SpeedReading,
)
from spinewright.units import GRAIN, INCH, POUND_FORCE

__all__ = ["draw_heads", "draw_setup", "with_speeds"]

POINTS = (85.0, 100.0, 110.0, 125.0, 150.0)  # gr
_RESTS = (RestKind.DROP_AWAY, RestKind.BLADE, RestKind.CONTAINED)


def draw_setup(rng: np.random.Generator) -> Setup:
    """A bow and a long arrow that go together by the rough rules of the trade (from memory)."""
    bow = _bow(rng)
    reach = bow.nock_to_pivot + bow.rest.ahead
    throat = reach + rng.uniform(2.3, 3.6) * INCH
    carbon = throat - rng.uniform(0.45, 0.65) * INCH
    weight = bow.peak_weight / POUND_FORCE
    # Softer shafts for lighter bows: 0.400 in near 55 lb at 28 in, from memory of how charts run.
    spine = 0.40 * (55.0 / weight) ** 0.9 * (28.0 * INCH / carbon) ** 1.2 * np.exp(0.05 * rng.standard_normal())
    outer = rng.uniform(5.2e-3, 7.6e-3)
    head = Head(POINTS[rng.integers(1, 4)] * GRAIN, rng.uniform(0.018, 0.027))
    vane, nock, insert = rng.uniform(4.0, 7.5), rng.uniform(7.0, 11.0), rng.uniform(10.0, 25.0)
    rest_of_it = head.mass / GRAIN + nock + insert
    density = max(rng.uniform(6.8, 9.6), (5.6 * weight - rest_of_it) / (carbon / INCH))
    build = ArrowBuild(
        shaft=Shaft(
            static_spine=float(np.clip(spine, 0.25, 0.7)) * INCH,
            linear_density=density * GRAIN / INCH,
            outer_diameter=outer,
            inner_diameter=outer - 1.1e-3,
        ),
        throat_length=throat,
        carbon_length=carbon,
        nock=Component(nock * GRAIN, 0.015, -0.004),
        head=head,
        fletching=Fletching(3, vane * GRAIN, rng.uniform(0.038, 0.06), rng.uniform(8e-3, 12e-3), 0.026, 0.028),
        insert=Component(insert * GRAIN, 0.02, 0.01),
    )
    return Setup(build, bow)


def _bow(rng: np.random.Generator) -> Bow:
    kind = _RESTS[rng.choice(3, p=(0.7, 0.2, 0.1))]
    clicks = rng.uniform(0.001, 0.0022) * INCH
    out = rng.uniform(1.0, 3.0)
    known = rng.random() < 0.85
    drops = rng.uniform(0.08, 0.2) if kind is RestKind.DROP_AWAY and rng.random() < 0.6 else None
    return Bow(
        peak_weight=rng.uniform(44.0, 68.0) * POUND_FORCE,
        let_off=rng.uniform(0.74, 0.88),
        draw_length=rng.uniform(26.8, 29.8) * INCH,
        brace_height=rng.uniform(6.0, 7.2) * INCH,
        axle_to_axle=rng.uniform(30.0, 38.0) * INCH,
        rest=Rest(kind, rng.uniform(-0.01, 0.035), drops, clicks, clicks),
        curve=(CurveShape.GENTLE, CurveShape.MIDDLING, CurveShape.HARD)[rng.choice(3, p=(0.25, 0.5, 0.25))],
        weight_per_turn=rng.uniform(1.8, 3.0) * POUND_FORCE if known else None,
        turns_allowed=float(np.round(out + rng.uniform(1.5, 3.0))) if known else None,
        turns_out_now=float(np.round(out)),
    )


def draw_heads(setup: Setup, rng: np.random.Generator) -> tuple[Head, ...]:
    """The other points this person owns: none to three."""
    others = [p for p in POINTS if abs(p * GRAIN - setup.build.head.mass) > 1e-5]
    chosen = rng.choice(others, size=int(rng.integers(0, 4)), replace=False)
    return tuple(Head(float(p) * GRAIN, setup.build.head.length) for p in sorted(chosen))


def draw_shafts(setup: Setup, rng: np.random.Generator) -> tuple[Shaft, ...]:
    """Other shafts at hand: at half of the benches a test set one step stiffer and one step weaker, else none.

    From memory of how sets run: a step is a fifth of the deflection, and the stiffer tube is heavier, near the root.
    """
    at_hand = rng.random() < 0.5
    steps = 1.2 ** np.array([-1.0, 1.0]) * np.exp(0.03 * rng.standard_normal(2))
    shaft = setup.build.shaft
    others = [
        replace(shaft, static_spine=shaft.static_spine * step, linear_density=shaft.linear_density / step**0.5)
        for step in steps.tolist()
    ]
    return tuple(others) if at_hand else ()


def with_speeds(setup: Setup, speeds: tuple[SpeedReading, ...]) -> Setup:
    """The same with chronograph readings."""
    return replace(setup, bow=replace(setup.bow, speeds=speeds))
