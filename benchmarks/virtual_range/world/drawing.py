"""Draws a world from its seed: what its kind fixes, and everything else from wide, stated ranges (from memory)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from benchmarks.virtual_range.world.airborne import Air
from benchmarks.virtual_range.world.bench_drawn import draw_heads, draw_setup, draw_shafts
from benchmarks.virtual_range.world.string_and_rest import Pull, RestLaw
from benchmarks.virtual_range.world.truth import Answers, Faults, Nature, Shooter, Truth, WorldKind
from spinewright.equipment import CurveShape, RestKind, Setup
from spinewright.evidence import TargetKind
from spinewright.units import GRAIN, INCH, POUND_FORCE

__all__ = ["draw_truth"]

FloatArray = NDArray[np.float64]

# One sd of nock, ramp, bump, rest, hold [m] and kick [N s], sideways and in height.
_FAULT_SD = np.array(
    [[0.0, 0.8e-3, 0.5e-3, 0.5e-3, 0.7e-3, 0.25e-3], [0.8e-3, 0.8e-3, 0.6e-3, 0.4e-3, 0.5e-3, 0.25e-3]]
)
# What practitioners report of half an inch of length, and of the rest (m/m), with the trade's signs for a
# right-hander: longer = weaker = bare hole right and low; rest toward the bare hole closes the gap.
_LENGTH, _LENGTH_SPREAD = np.array([-2.6, -1.6]), np.array([0.85, 0.9])
_REST, _REST_SPREAD = np.array([-3.0, 2.5]) * INCH / 1e-3, 0.6
_RISE = {CurveShape.GENTLE: 0.34, CurveShape.MIDDLING: 0.22, CurveShape.HARD: 0.15}
_ITEMS = (("cam_lean", (0, 1)), ("cam_timing", (1, 1)), ("nock_height", (1, 0)))
_TARGETS = (TargetKind.FRESH_FOAM, TargetKind.LAYERED, TargetKind.WORN_FOAM, TargetKind.BAG)


def draw_truth(seed: int, kind: WorldKind, attempt: int = 0) -> Truth:
    """Attempt ``attempt`` at world ``seed`` of a kind, right-handed."""
    rng = np.random.default_rng([seed, 71, attempt])
    start = draw_setup(rng)
    heads = draw_heads(start, rng)
    shooter = _shooter(rng, kind)
    nature = _nature(start, rng)
    answers = _answers(rng, kind)
    faults = _faults(rng)
    spare = 1.25 * INCH if rng.random() < 0.75 else None
    target = _TARGETS[rng.choice(4, p=(0.35, 0.3, 0.15, 0.2))]
    # A stream of its own, so that a bench with and one without other shafts are alike in everything else.
    shafts = draw_shafts(start, np.random.default_rng([seed, 77, attempt]))
    return Truth(seed, kind, 1, start, nature, answers, faults, shooter, heads, shafts, spare, target)


def _shooter(rng: np.random.Generator, kind: WorldKind) -> Shooter:
    usual = float(np.clip(0.55 * np.exp(0.45 * rng.standard_normal()), 0.2, 1.3))
    wide = float(rng.uniform(2.0, 4.0))
    scatter = INCH * (wide if kind is WorldKind.WIDE else usual)
    return Shooter(
        scatter=scatter,
        stated=scatter * float(np.exp(-0.05 + 0.25 * rng.standard_normal())),
        bare=float(1.3 * np.exp(0.15 * rng.standard_normal())),
        drift=float(rng.uniform(0.1, 0.5)),
        memory=float(rng.uniform(0.3, 0.8)),
        shafts=float(0.22 * INCH * np.exp(0.4 * rng.standard_normal())),
        walks=float(0.12 * INCH * np.exp(0.4 * rng.standard_normal())),
    )


def _nature(start: Setup, rng: np.random.Generator) -> Nature:
    bow, shaft = start.bow, start.build.shaft
    rise = _RISE[CurveShape(bow.curve)] if isinstance(bow.curve, CurveShape) else 0.22
    pull = Pull(
        stroke=bow.stroke,
        peak=bow.peak_weight,
        holding=bow.holding_weight,
        rise=rise * float(np.exp(0.1 * rng.standard_normal())),
        fall=float(rng.uniform(0.68, 0.84)),
        share=float(rng.uniform(0.93, 0.99)),
        moving=float(rng.uniform(70.0, 115.0)) * GRAIN,
        behind=float(rng.uniform(0.03, 0.06)),
        height=float(rng.uniform(0.15, 0.5)),
        tension=float(rng.uniform(3e3, 2e4)),
    )
    kind = bow.rest.kind
    drops = bow.rest.drops_after or float(rng.uniform(0.06, 0.22))
    law = RestLaw(
        reach=start.rest_reach,
        tail=start.build.fletching.from_rear + start.build.fletching.length,
        side=float(8e3 * np.exp(0.6 * rng.standard_normal())),
        up=float(4e3 * np.exp(0.6 * rng.standard_normal())),
        damping=float(rng.uniform(0.5, 3.0)),
        grip=float(rng.uniform(0.6, 2.5)),
        friction=float(rng.uniform(0.05, 0.25)),
        radius=0.5 * shaft.outer_diameter,
        slack=float(rng.uniform(0.1e-3, 0.5e-3)),
        drops=drops if kind is RestKind.DROP_AWAY else 10.0,
        falls=float(rng.uniform(300.0, 1500.0)),
        ring=1.0 if kind is RestKind.CONTAINED else 0.0,
    )
    return Nature(
        pull=pull,
        law=law,
        stiffness=float(np.exp(0.03 * rng.standard_normal())),
        on_nock=float(rng.uniform(2.0e-3, 4.0e-3)),
        damping=float(2e-5 * np.exp(0.4 * rng.standard_normal())),
        air=_air(rng),
        vane_lift=float(np.exp(0.2 * rng.standard_normal())),
        vane_drag=float(np.exp(0.2 * rng.standard_normal())),
        faults=_FAULT_SD * rng.standard_normal((2, 6)),
    )


def _air(rng: np.random.Generator) -> Air:
    """Normal force as a power of incidence, 1.3 to 1.8, agreeing near 1.2 degrees with what cross-flow gives."""
    power = float(rng.uniform(1.3, 1.8))
    at = 0.02
    return Air(
        scale=5.6e-4 / at**power * float(np.exp(0.25 * rng.standard_normal())),
        power=power,
        nose=float(rng.uniform(1.6, 2.4)),
        drag=float(rng.uniform(1.4, 2.4)),
        more=float(rng.uniform(2.0, 15.0)),
        shift=float(rng.uniform(-0.02, 0.03)),
    )


def _answers(rng: np.random.Generator, kind: WorldKind) -> Answers:
    size = np.exp(_LENGTH_SPREAD * rng.standard_normal(2))
    narrow = np.exp(0.45 * rng.standard_normal(2))
    mixed = np.array([_mixture(rng, 0.12), _mixture(rng, 0.25)])
    weak = float(rng.normal(1.2, 0.9)) * INCH
    other_side = rng.random() < 0.5
    shares = {WorldKind.STEEP: 3.0, WorldKind.GENTLE: 1.0 / 3.0, WorldKind.NONE: 0.0, WorldKind.REVERSED: -1.0}
    length = _LENGTH * (shares[kind] * narrow if kind in shares else mixed * size)
    if kind is WorldKind.REVERSED and other_side:
        weak = -weak  # the start reads weak, and a cut makes it worse
    rest = _REST * np.exp(_REST_SPREAD * rng.standard_normal(2))
    rest *= np.array([_mixture(rng, 0.12), _mixture(rng, 0.12)])
    return Answers(
        length=length,
        saturation=float(5.0 * INCH * np.exp(0.3 * rng.standard_normal())),
        too_weak=weak,
        point=0.6 * INCH / (25 * GRAIN) * float(np.exp(0.35 * rng.standard_normal())),
        weight=1.0 * INCH / (5 * POUND_FORCE) * float(np.exp(0.45 * rng.standard_normal())),
        spine=1.0 * INCH / 0.125 * float(np.exp(0.4 * rng.standard_normal())),
        rest=rest,
        rest_off=0.4e-3 * rng.standard_normal(2),
        rest_limit=2.0e-3 * float(np.exp(0.3 * rng.standard_normal())),
        turn=np.array([0.2, 0.2, 0.15, 0.15]) * INCH * rng.standard_normal((2, 4)),
        heads=float(rng.uniform(0.2, 0.5)),
        lean=0.7 * float(np.exp(0.5 * rng.standard_normal())),
    )


def _mixture(rng: np.random.Generator, other: float) -> float:
    """The open mixture: 30 % three times as steep, 15 % near zero, ``other`` of the other sign."""
    which = rng.random()
    flat = 0.1 * float(rng.standard_normal())
    if which < other:
        return -1.0
    if which < other + 0.15:
        return flat
    return 3.0 if which < other + 0.45 else 1.0


def _faults(rng: np.random.Generator) -> Faults:
    touching, wrong = rng.random() < 0.10, rng.random() < 0.08
    contact = 1.2 * INCH * rng.standard_normal(2)
    item, place = _ITEMS[int(rng.integers(3))]
    amiss = np.zeros((2, 6))
    amiss[place] = 1.6e-3 * rng.standard_normal()
    turned, turn = rng.random() < 0.12, np.deg2rad(3.0) * rng.standard_normal(2)
    shows, swapped = rng.random() < 0.85, rng.random() < 0.08
    return Faults(
        contact=contact if touching else np.zeros(2),
        powder_shows=bool(shows),
        amiss=amiss if wrong else np.zeros((2, 6)),
        wrong_item=item if wrong else "",
        lean_swapped=bool(swapped),
        target_turn=turn if turned else np.zeros(2),
        paper=bool(rng.random() < 0.25),
        plucked=float(rng.uniform(0.0, 0.05)),
        called=0.6,
        misread=0.006,
    )
