"""How long the next move takes on ten logged walks with 500 plausible bows, and what of it is physics."""

from __future__ import annotations

import resource
from collections.abc import Callable
from time import perf_counter

from tests.belief.benches import World, bench_archer, bench_setup, bolts, cut, history_of, moved_rest

from spinewright.advice import Situation, advise, ground_for
from spinewright.belief import BeliefSettings
from spinewright.belief.physics import forget_physics

__all__ = ["rows"]


def rows() -> list[tuple[str, str]]:
    """What was measured, warm: the median of five, and the share of the physics in the same run."""
    import numpy as np

    start, archer = bench_setup(), bench_archer()
    moved = [moved_rest(start, -k / 128) for k in range(4)]
    setups = [
        *moved,
        bolts(moved[-1], -1.0),
        cut(start, 0.5),
        *(moved_rest(cut(start, 0.5), -k / 128) for k in range(4)),
    ]
    world = World.draw(start, archer, np.random.default_rng(8))
    visits = [world.visit(gap) for gap in world.gaps(setups)]
    situation = Situation(archer, history_of(start, setups, visits), safe_length=start.build.carbon_length - 0.06)
    settings = BeliefSettings()

    def physics() -> None:
        ground_for(situation, settings)

    def whole() -> None:
        advise(situation, ground_for(situation, settings))

    def physics_afresh() -> None:
        forget_physics()
        physics()

    def first() -> None:
        forget_physics()
        whole()

    whole()
    first_time = _median(first)
    physics_time = _median(physics_afresh)
    whole_time = _median(whole)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return [
        (f"next move, {len(visits)} walks, {settings.bows} bows, warm", f"{first_time:.2f} s, peak {peak:.0f} MiB"),
        ("  of it strokes and flights of every setup", f"{physics_time:.2f} s, {physics_time / first_time:.0%}"),
        ("  asked again, strokes and flights remembered", f"{whole_time:.2f} s"),
    ]


def _median(work: Callable[[], None]) -> float:
    times = []
    for _ in range(5):
        begun = perf_counter()
        work()
        times.append(perf_counter() - begun)
    return sorted(times)[2]
