"""The builds a map compares: carbon length by point mass, around what is on the bow now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from spinewright.equipment import Head, HeadKind, Setup, Shaft
from spinewright.errors import InputError
from spinewright.outlook.values import FloatArray
from spinewright.units import GRAIN, INCH

__all__ = ["MapGrid", "choose_grid", "with_length", "with_point"]

_STEP, _LONGER, _SHORTER = 0.25 * INCH, 3, 8  # m; steps longer and shorter than now
_BESIDE = 25.0 * GRAIN  # how far the map reaches beside the only point owned
_SAME_MASS = 0.5 * GRAIN
_PAST_REST = 2e-3  # m of shaft that must reach past the rest for a stroke to be computed at all


@dataclass(frozen=True, slots=True, eq=False)
class MapGrid:
    """P point masses by L carbon lengths of one shaft.

    lengths (L,) [m], point_masses (P,) [kg], both rising; owned (P) says which points the person has
    setups [P][L]; here (point mass, carbon length) of the present build
    """

    lengths: FloatArray
    point_masses: FloatArray
    owned: tuple[bool, ...]
    setups: tuple[tuple[Setup, ...], ...]
    here: tuple[float, float]

    @property
    def shape(self) -> tuple[int, int]:
        """(P, L)."""
        return len(self.point_masses), len(self.lengths)

    @property
    def here_at(self) -> tuple[int, int]:
        """Indices (point, length) of the build nearest to the present one."""
        mass, length = self.here
        return int(np.abs(self.point_masses - mass).argmin()), int(np.abs(self.lengths - length).argmin())

    @property
    def flat(self) -> tuple[Setup, ...]:
        """All setups, row by row."""
        return tuple(setup for row in self.setups for setup in row)


def with_length(setup: Setup, carbon_length: float) -> Setup:
    """``setup`` with its shafts cut (or bought) to ``carbon_length`` [m]; only the nock end is cut."""
    build = setup.build
    throat = build.throat_length + carbon_length - build.carbon_length
    return replace(setup, build=replace(build, carbon_length=carbon_length, throat_length=throat))


def with_point(setup: Setup, mass: float, owned: Sequence[Head] = ()) -> Setup:
    """``setup`` with a field point of ``mass`` [kg]: one of the ``owned`` if one weighs that, else one like its own."""
    for head in owned:
        if head.kind is HeadKind.FIELD and abs(head.mass - mass) < _SAME_MASS:
            return replace(setup, build=replace(setup.build, head=head))
    return replace(setup, build=replace(setup.build, head=Head(mass, length=setup.build.head.length)))


def choose_grid(
    now: Setup,
    heads_owned: Sequence[Head] = (),
    shaft: Shaft | None = None,
    *,
    points: int = 5,
) -> MapGrid:
    """Builds around ``now``: 2 in shorter to 3/4 in longer by quarter inches, over the points owned and some between.

    ``shaft`` replaces the present one (another spine at hand). Lengths end where the rest is no longer reached or the
    uncut shaft ends; longer than now needs new shafts, which the map's picture says. Raises InputError when fewer than
    two lengths are left.
    """
    base = now if shaft is None else replace(now, build=replace(now.build, shaft=shaft))
    span = _lengths(base)
    masses, owned = _points(now, heads_owned, points)
    rows = tuple(
        tuple(with_length(with_point(base, float(mass), heads_owned), float(length)) for length in span)
        for mass in masses
    )
    return MapGrid(span, masses, owned, rows, (now.build.head.mass, now.build.carbon_length))


def _lengths(setup: Setup) -> FloatArray:
    """Rising carbon lengths [m]; the present one is among them."""
    carbon, uncut = setup.build.carbon_length, setup.build.shaft.uncut_length
    shortest = setup.rest_reach + _PAST_REST - setup.build.carbon_start
    longest = np.inf if uncut is None else max(uncut, carbon)
    every = carbon + _STEP * np.arange(-_SHORTER, _LONGER + 1)
    span = every[(every >= shortest) & (every <= longest + 1e-9)]
    if len(span) < 2:
        raise InputError(
            "this arrow can become neither shorter nor longer by 1/4 in on this bow, so there is no map over length",
            "check draw length, the rest's place and the uncut length of the shaft",
        )
    return np.asarray(span, dtype=np.float64)


def _points(now: Setup, heads_owned: Sequence[Head], points: int) -> tuple[FloatArray, tuple[bool, ...]]:
    """Rising point masses [kg], all owned ones and evenly spread ones between, and which are owned."""
    mine = sorted({now.build.head.mass, *(h.mass for h in heads_owned if h.kind is HeadKind.FIELD)})
    low, high = (mine[0], mine[-1]) if mine[-1] - mine[0] > _SAME_MASS else (mine[0] - _BESIDE, mine[0] + _BESIDE)
    chosen = list(mine)
    for mass in np.linspace(max(low, 25.0 * GRAIN), high, points):
        if min(abs(float(mass) - one) for one in chosen) > (high - low) / (2.0 * points):
            chosen.append(float(mass))
    chosen.sort()
    return np.array(chosen), tuple(any(abs(mass - one) < _SAME_MASS for one in mine) for mass in chosen)
