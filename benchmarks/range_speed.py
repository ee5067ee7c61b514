"""How long a setup of the virtual range takes, against the same solves by SciPy's banded solver, and a hunt."""

from __future__ import annotations

from dataclasses import replace
from itertools import count

from scipy.linalg import solveh_banded

from benchmarks.timing import least
from benchmarks.virtual_range.hand_rule import HandRule
from benchmarks.virtual_range.hunt import hunt
from benchmarks.virtual_range.world import World, WorldKind, draw_world
from benchmarks.virtual_range.world.beam import arrow_beam
from benchmarks.virtual_range.world.stroke import STEP

__all__ = ["rows"]


def rows() -> list[tuple[str, str]]:
    """What was measured, on one core: processor time, the least of some runs."""
    world = draw_world(31, WorldKind.OPEN)
    each = _setup(world)
    bound = _solves(world)
    played = least(lambda: hunt(draw_world(31, WorldKind.OPEN), HandRule()), 3)
    return [
        ("a setup, bare and fletched: two strokes and two flights", f"{1e3 * each:.1f} ms"),
        ("  against SciPy's banded solver solving each of their steps once", f"{bound / each:.1f} times as quick"),
        ("a hunt by the hand rule, world and all", f"{played:.2f} s"),
    ]


def _setup(world: World) -> float:
    places = count(1)

    def fresh() -> None:
        world.gap(replace(world.start, rest_y=1e-7 * next(places)))

    return least(fresh, 20)


def _solves(world: World) -> float:
    """Seconds SciPy takes for as many solves as the strokes of a setup have steps: both planes, bare and fletched."""
    beam = arrow_beam(world.start.build, bare=True, stiffness_factor=1.0)
    system, right = 4.0 / STEP**2 * beam.mass + beam.stiffness, beam.mass[0]
    once = least(lambda: solveh_banded(system, right, lower=True, check_finite=False), 50)
    steps = 0.015 / STEP  # a power stroke lasts about 15 ms
    return 2 * 2 * steps * once
