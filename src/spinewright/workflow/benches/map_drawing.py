"""The forgiveness map on a finer grid, with the levels its contour lines are drawn at."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spinewright.outlook import finer, flatness, show_length
from spinewright.units import INCH, System
from spinewright.workflow.benches.arrays import numbers
from spinewright.workflow.mapping import MapResult
from spinewright.workflow.showing import Json

__all__ = ["fine_map"]

_BETWEEN = 4
_LINES = 6  # contour lines that are wanted
_STEPS = (1.0, 2.0, 5.0)


def fine_map(result: MapResult) -> Json:
    """Middle miss of both maps between the builds too [m]; None where the nearest build has no answer."""
    chart, system = result.chart, result.voice.system
    x, y = chart.grid.lengths, chart.grid.point_masses
    body: Json = {"levels": {}, "level_texts": {}, "flat": {}}
    levels: dict[str, list[float]] = {}
    texts: dict[str, list[str]] = {}
    flat: dict[str, str] = {}
    for name, draws in (("own", chart.own), ("heads", chart.apart)):
        fine = finer(x, y, np.median(draws, axis=2), chart.solved, between=_BETWEEN)
        nearest = np.ix_(*(np.abs(at[:, None] - of).argmin(axis=1) for at, of in ((fine.y, y), (fine.x, x))))
        known = chart.solved[nearest]
        rows = np.where(known, fine.values, np.nan)
        body[name] = [[None if np.isnan(v) else round(float(v), 6) for v in row] for row in rows]
        body |= {"lengths": numbers(fine.x, 5), "points": numbers(fine.y, 7)}
        told = flatness(draws, chart.safe)
        if told is not None and told.flat:  # lines of what cannot be told apart would only be noise
            flat[name] = f"everywhere about {show_length(0.5 * (told.least + told.most), system)}"
            levels[name] = []
        else:
            levels[name] = _levels(rows[known], system)
        texts[name] = [show_length(level, system) for level in levels[name]]
    return {**body, "levels": levels, "level_texts": texts, "flat": flat}


def _levels(values: NDArray[np.float64], system: System) -> list[float]:
    """Round levels [m] within ``values``, in inches or millimetres."""
    if values.size == 0:
        return []
    unit = INCH if system is System.INCH else 1e-3
    low, high = float(values.min()) / unit, float(values.max()) / unit
    rough = max((high - low) / _LINES, 1e-6)
    power = 10.0 ** np.floor(np.log10(rough))
    step = power * min((one for one in (*_STEPS, 10.0) if one * power >= rough), default=10.0)
    first = int(np.ceil(low / step))
    return [float(k * step * unit) for k in range(first, int(np.floor(high / step)) + 1)]
