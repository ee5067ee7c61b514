"""Compile what the solvers need, once and beside the linters: two workers that met it cold would each take a minute.

``python -m tests.compile_kernels``; where all is compiled already it takes a few seconds.
"""

from __future__ import annotations

from spinewright.workflow import next_move, settings_for, start_bench
from spinewright.workflow.benches.invented import invented_session

__all__ = ["main"]


def main() -> None:
    """The next move of the invented bench calls nearly every kernel; the few others take a second to compile."""
    next_move(start_bench(invented_session()), settings=settings_for(bows=50))


if __name__ == "__main__":
    main()
