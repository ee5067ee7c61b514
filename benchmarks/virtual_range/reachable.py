"""The best that could be reached in a world: over lengths to the mark, points owned and places of the rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, product

import numpy as np
from numpy.typing import NDArray

from benchmarks.virtual_range.world import World
from spinewright.equipment import Setup, Shaft
from spinewright.errors import EquipmentError
from spinewright.units import INCH

FloatArray = NDArray[np.float64]

__all__ = ["best_gap", "best_heads", "best_mistakes"]

#: How far rest (sideways, height) and nock point may be moved [m]: the bounds the adviser keeps, by the trade's word.
_BOUNDS = INCH / 8 * np.ones(3)
_NEAR = 0.5  # in at 20 yd: nobody looks for a better one
_REST_PLACES = (-0.8e-3, -0.4e-3, 0.0, 0.4e-3, 0.8e-3)  # m


def best_gap(world: World) -> float:
    """Least true gap [in at 20 yd] found by one who knows everything, so the least there is is no more than that.

    Rest and nock point within an eighth of an inch, each with every shaft at hand, length by half inches and point
    owned, until one lies under half an inch. Limb bolts are left alone.
    """
    least = np.inf
    for build in chain(_builds(world), *(_builds(world, shaft) for shaft in world.truth.shafts)):
        least = min(least, _trimmed(world, build))
        if least < _NEAR:
            break
    return float(least)


def _trimmed(world: World, build: Setup) -> float:
    """Least gap [in] over places of rest and nock point, by bounded least squares from where they stand."""
    from scipy.optimize import least_squares

    def gap(share: FloatArray) -> FloatArray:
        y, z, nock = share * _BOUNDS
        moved = replace(build, rest_y=build.rest_y + y, rest_z=build.rest_z + z, nock_z=build.nock_z + nock)
        return np.asarray(world.gap(moved) / INCH)

    found = least_squares(gap, np.zeros(3), bounds=(-1.0, 1.0), diff_step=[0.05] * 3, max_nfev=7)
    return float(np.hypot(*found.fun))


def best_heads(world: World) -> float:
    """Least offset [in at 20 yd] of a fixed-blade head over lengths, points owned and five places of the rest."""
    setups = (replace(s, rest_y=place) for s, place in product(_builds(world), _REST_PLACES))
    return min(world.heads(setup) for setup in setups) / INCH


def best_mistakes(world: World) -> float:
    """Least miss [in at 20 yd] from the archer's own stated mistakes over lengths and points owned."""
    return min(world.mistakes(setup) for setup in _builds(world)) / INCH


def _builds(world: World, shaft: Shaft | None = None) -> Iterator[Setup]:
    """The start, or it with another ``shaft``, with every length by half inches to the mark and every point owned."""
    start = world.start
    build = replace(start.build, shaft=shaft or start.build.shaft)
    room = max(build.carbon_length - world.safe_length, 0.0)
    cuts = np.arange(0.0, room + 1e-9, 0.5 * INCH)
    for cut, head in product(cuts, (build.head, *world.truth.heads)):
        throat, carbon = build.throat_length - float(cut), build.carbon_length - float(cut)
        try:
            yield replace(start, build=replace(build, throat_length=throat, carbon_length=carbon, head=head))
        except EquipmentError:
            continue
