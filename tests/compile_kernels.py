"""Compile what the solvers need, once and beside the linters: two workers that met it cold would each take a minute.

``python -m tests.compile_kernels``; where all is compiled already it takes a few seconds.
"""

from __future__ import annotations

from multiprocessing import get_context

import numpy as np
from benchmarks.virtual_range.world import WorldKind, draw_world
from soak.physics import physics

from spinewright.mechanics import build_rod, height_on_pushing_rest
from spinewright.workflow import next_move, settings_for, start_bench
from spinewright.workflow.benches.invented import invented_session
from tests.unit.mechanics_samples import AMPLITUDES, arrow, bow_in_motion, one, plausible

__all__ = ["main"]


def main() -> None:
    """What calls nearly every kernel once: a next move, a rest that pushes only, the range, a long run's draws.

    The range has kernels of its own, so a process beside compiles them.
    """
    beside = get_context("spawn").Process(target=draw_world, args=(4000, WorldKind.OPEN))
    beside.start()
    next_move(start_bench(invented_session()), settings=settings_for(bows=50))
    height_on_pushing_rest(build_rod(arrow()), bow_in_motion(), one(plausible(2, 6), 1), AMPLITUDES[None])
    physics(5, np.random.default_rng(0))
    beside.join()


if __name__ == "__main__":
    main()
