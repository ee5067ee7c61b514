"""Compile what the solvers need, once and beside the linters: two workers that met it cold would each take a minute.

``python -m tests.compile_kernels``; where all is compiled already it takes a few seconds.
"""

from __future__ import annotations

from spinewright.belief import BeliefSettings
from spinewright.workflow import MapWishes, forgiveness_map, next_move, settings_for, start_bench
from spinewright.workflow.benches.invented import invented_session

__all__ = ["main"]


def main() -> None:
    """The next move and a coarse map of the invented bench call nearly every kernel."""
    bench = start_bench(invented_session())
    next_move(bench, settings=settings_for(bows=50))
    forgiveness_map(bench, MapWishes(bows=8, points=2, settings=BeliefSettings(bows=20, particles=40)))


if __name__ == "__main__":
    main()
