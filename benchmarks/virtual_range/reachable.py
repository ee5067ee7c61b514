"""The best that could be reached in a world: over lengths to the mark, points owned and places of the rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np

from benchmarks.virtual_range.world import World
from spinewright.equipment import Setup
from spinewright.errors import EquipmentError
from spinewright.units import INCH

__all__ = ["best_heads", "best_mistakes"]

_REST_PLACES = (-0.8e-3, -0.4e-3, 0.0, 0.4e-3, 0.8e-3)  # m


def best_heads(world: World) -> float:
    """Least offset [in at 20 yd] of a fixed-blade head over lengths, points owned and five places of the rest."""
    setups = (replace(s, rest_y=place) for s, place in product(_builds(world), _REST_PLACES))
    return min(world.heads(setup) for setup in setups) / INCH


def best_mistakes(world: World) -> float:
    """Least miss [in at 20 yd] from the archer's own stated mistakes over lengths and points owned."""
    return min(world.mistakes(setup) for setup in _builds(world)) / INCH


def _builds(world: World) -> Iterator[Setup]:
    """The start with every length by half inches down to the mark and every point owned."""
    start = world.start
    build = start.build
    room = max(build.carbon_length - world.safe_length, 0.0)
    cuts = np.arange(0.0, room + 1e-9, 0.5 * INCH)
    for cut, head in product(cuts, (build.head, *world.truth.heads)):
        throat, carbon = build.throat_length - float(cut), build.carbon_length - float(cut)
        try:
            yield replace(start, build=replace(build, throat_length=throat, carbon_length=carbon, head=head))
        except EquipmentError:
            continue
