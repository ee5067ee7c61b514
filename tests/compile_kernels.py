"""Compile what the solvers need, once and beside the linters: two workers that met it cold would each take a minute.

``python -m tests.compile_kernels``; where all is compiled already it takes a few seconds.
"""

from __future__ import annotations

import gc
from multiprocessing import get_context

import numpy as np
from benchmarks.virtual_range.world import WorldKind, draw_world
from soak.equipment_draws import draw_equipment
from soak.physics import physics

from spinewright.equipment import mass_model
from spinewright.flight import flight_body, fly, nominal_flight
from spinewright.mechanics import build_rod, height_on_pushing_rest
from spinewright.workflow import next_move, settings_for, start_bench
from spinewright.workflow.benches.invented import invented_session
from tests.unit.mechanics_samples import AMPLITUDES, arrow, bow_in_motion, one, plausible

__all__ = ["main"]


def main() -> None:
    """What calls nearly every kernel once: a next move and a long run's draws.

    The flight, the range and the rest that only pushes have kernels of their own, so a process beside compiles them.
    """
    gc.disable()  # compiling makes millions of objects and little that is worth looking for
    beside = get_context("spawn").Process(target=_beside)
    beside.start()
    next_move(start_bench(invented_session()), settings=settings_for(bows=50))
    physics(5, np.random.default_rng(0))
    beside.join()


def _beside() -> None:
    gc.disable()
    build = draw_equipment(np.random.default_rng(0)).setup.build
    body = flight_body(build, mass_model(build, bare=False), bare=False)
    fly(body, np.array([80.0]), np.zeros((1, 2, 4)), nominal_flight(1), np.array([20.0]))
    draw_world(4000, WorldKind.OPEN)
    # last, because by then the rod's kernels, which it shares with the stroke, are there
    height_on_pushing_rest(build_rod(arrow()), bow_in_motion(), one(plausible(2, 6), 1), AMPLITUDES[None])


if __name__ == "__main__":
    main()
