"""Maps drawn coarsely, for tests that look at what a map says and where it goes, not at how finely it was found."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import pytest

from spinewright import outlook

__all__ = ["coarse_maps"]


@contextmanager
def coarse_maps() -> Iterator[None]:
    """Maps over the points that are owned and none between, and over every third length beside the present one."""
    whole = outlook.choose_grid

    def coarse(*args: Any, points: int) -> outlook.MapGrid:  # noqa: ANN401 - handed on as it is
        grid = whole(*args, points=min(points, 2))
        kept = sorted({grid.here_at[1], *range(0, len(grid.lengths), 3)})
        rows = tuple(tuple(row[at] for at in kept) for row in grid.setups)
        return replace(grid, lengths=grid.lengths[kept], setups=rows)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlook, "choose_grid", coarse)
        yield
