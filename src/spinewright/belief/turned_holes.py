"""Nock series shot at a target: how a bare shaft's holes move from angle to angle, wherever the sight put them all.

All holes of a series share what nobody measured: where the sight puts the fletched arrows, and how far this one shaft
lies from its fellows. Each series therefore has a column of its own in the kernel, the gap of its setup plus an offset
that is as unknown as that; what turns with the nock is left over and teaches the belief.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from spinewright.belief.design import Kernel, widened
from spinewright.belief.evidence_rows import BARE_SPREAD, VISIT_SD, Noise, Sighting
from spinewright.belief.physics import Output, What
from spinewright.belief.response import GAP_DISTANCE
from spinewright.equipment import Setup
from spinewright.evidence import NockSeries, Seen, noise
from spinewright.units import INCH

__all__ = ["SIGHT_SD", "TurnedGap", "turned_sightings", "with_offsets"]

#: Where the sight puts the fletched arrows that nobody shot, one sd at 20 yd: as good as unknown (from memory).
SIGHT_SD = 4.0 * INCH
#: A learner's scatter [rad], for fletched arrows that were shot: nobody's is taken for better than it is (from memory).
FLETCHED_SCATTER = 3.0e-3
#: How far one bare shaft lies from its fellows, one sd at 20 yd (from memory, as in the prior of the belief).
SHAFT_SD = 0.25 * INCH


@dataclass(frozen=True, slots=True)
class TurnedGap(Output):
    """The gap of a setup as the nock ``series`` with that event id shows it: all of it off by the same amount."""

    series: str = ""


def turned_sightings(seen: Sequence[Seen], setups: Sequence[Setup]) -> list[Sighting]:
    """Each hole of every bare nock series on a target; angles are counted from where the nock stood on the shaft."""
    found = []
    for item, series, output in _series(seen, setups):
        own = Noise(fixed=noise.HOLE.sd**2, archer=(BARE_SPREAD * series.distance) ** 2)
        spot_y, spot_z = series.fletched or (0.0, 0.0)
        for reading in series.readings:
            angle = item.setup.nock_angle + series.turned + reading.angle
            found.append(Sighting(output, (reading.y - spot_y, reading.z - spot_z), own, angle, (item.event,)))
    return found


def with_offsets(kernel: Kernel, seen: Sequence[Seen], setups: Sequence[Setup]) -> Kernel:
    """``kernel`` with a column for every series on a target and an unknown offset of its own in each plane.

    The gaps of their setups at their distances have to be among the outputs. The bows know nothing of the offsets.
    """
    series = [(one, output) for _, one, output in _series(seen, setups)]
    if not series:
        return kernel
    bases = [kernel.outputs.index(Output(o.setup, o.what, o.distance)) for _, o in series]
    extra = np.zeros((2 * len(series), len(series), 2))
    for j, (one, _) in enumerate(series):
        for plane in range(2):
            extra[2 * j + plane, j, plane] = _offset_sd(one)
    return widened(kernel, bases, [output for _, output in series], extra)


def _series(seen: Sequence[Seen], setups: Sequence[Setup]) -> list[tuple[Seen, NockSeries, TurnedGap]]:
    """Bare series on a target that count, each with its column."""
    found = []
    for item in seen:
        what = item.what
        if isinstance(what, NockSeries) and what.bare and not what.paper and not what.set_aside:
            setup = next(i for i, other in enumerate(setups) if other == item.setup)
            found.append((item, what, TurnedGap(setup, What.GAP, what.distance, item.event)))
    return found


def _offset_sd(series: NockSeries) -> float:
    """One sd [m] of what all holes of ``series`` are off by, each plane."""
    far = series.distance / GAP_DISTANCE
    if series.fletched is None:
        return SIGHT_SD * far
    centre = ((FLETCHED_SCATTER * series.distance) ** 2 + noise.HOLE.sd**2) / series.fletched_shots
    shafts = (SHAFT_SD * far) ** 2 * (1 + 1 / series.fletched_shots)
    return sqrt(centre + shafts + (VISIT_SD * far) ** 2)
