"""Compile what the solvers need, once and beside the linters: two workers that met it cold would each take a minute.

``python -m tests.compile_kernels``, with ``range`` for the virtual range's own too; where all is compiled already it
takes a few seconds.
"""

from __future__ import annotations

import gc
import sys
from multiprocessing import get_context

import numpy as np
from soak.equipment_draws import draw_equipment
from soak.physics import physics

from spinewright.belief.evidence_rows import Noise
from spinewright.belief.update import Known, update
from spinewright.equipment import mass_model
from spinewright.flight import flight_body, fly, nominal_flight
from spinewright.mechanics import build_rod, height_on_pushing_rest
from spinewright.workflow import next_move, settings_for, start_bench
from spinewright.workflow.benches.invented import invented_session
from tests.belief.row_samples import PRIOR, some_kernel, some_rows
from tests.unit.mechanics_samples import AMPLITUDES, arrow, bow_in_motion, one, plausible

__all__ = ["main"]


def main() -> None:
    """What calls nearly every kernel once: a next move and a long run's draws.

    A process beside compiles those of flight and belief, and of the rest that only pushes.
    """
    gc.disable()  # compiling makes millions of objects and little that is worth looking for
    beside = get_context("spawn").Process(target=_beside)
    beside.start()
    next_move(start_bench(invented_session()), settings=settings_for(bows=50))
    physics(5, np.random.default_rng(0))
    beside.join()
    if "range" in sys.argv[1:]:
        from benchmarks.virtual_range.world import WorldKind, draw_world

        draw_world(4000, WorldKind.OPEN)


def _beside() -> None:
    gc.disable()
    rng = np.random.default_rng(0)
    build = draw_equipment(rng).setup.build
    body = flight_body(build, mass_model(build, bare=False), bare=False)
    fly(body, np.array([80.0]), np.zeros((1, 2, 4)), nominal_flight(1), np.array([20.0]))
    rows = some_rows(np.zeros(1), rng)
    update(some_kernel(5, rng), Known(rows, np.zeros(2), (Noise(1e-5),) * 2, ()), PRIOR, 10, rng)
    # last, because by then the rod's kernels, which it shares with the stroke, are there
    height_on_pushing_rest(build_rod(arrow()), bow_in_motion(), one(plausible(2, 6), 1), AMPLITUDES[None])


if __name__ == "__main__":
    main()
