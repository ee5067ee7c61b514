"""What moving rest and nock point does in every draw of the belief, and the sizes of such moves that suit it best.

The physics is linear in where rest and nock point stand, and so is the learnt answer, so one small step along each
tells all there is to know. Only a shaft that can leave a blade in height answers along a line nearby alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from spinewright.advice.moves import (
    STRAY,
    STRAY_HEIGHT,
    Move,
    nock_point_move,
    probes,
    rest_back,
    rest_move,
    rest_sizes,
    rest_where,
    strays,
)
from spinewright.advice.situation import Situation
from spinewright.belief import BENT, Belief
from spinewright.equipment import Setup
from spinewright.units import INCH

__all__ = ["NOCK_STEPS", "Lines", "trims"]

FloatArray = NDArray[np.float64]
Sizes = tuple[tuple[float, ...], tuple[float, ...]]  # sideways and height [m]

#: A trim is proposed only where it changes the gap by as much as this [m at 20 yd].
TRIM_SHOWS = 0.3 * INCH
#: Moves of the nock point thought of [m]: a thirty-second and a sixteenth of an inch (common practice).
NOCK_STEPS = (INCH / 32, INCH / 16)


class Lines:
    """Gap and spine gap of any setup that differs from one of the ground in rest and nock point only.

    rest_y, rest_z, nock_z (S, 2): what a metre of each adds to the gap [m/m] with the present arrow and bow; what
    another arrow would answer is taken to be the same, which its next walk corrects.
    """

    def __init__(self, belief: Belief, situation: Situation) -> None:
        self.belief, self._now, self._start = belief, situation.now, situation.history.start
        self.here = belief.gap(situation.now)
        self._chance = np.random.default_rng([belief.ground.settings.seed, 6]).standard_normal(self.here.shape)
        self.rest_y, self.rest_z, self.nock_z = (
            (belief.gap(setup) - self.here) / step for setup, step in probes(situation.now)
        )

    def gap(self, setup: Setup) -> FloatArray:
        """(S, 2) true gap [m at 20 yd]."""
        straight = self.straight(setup)
        if setup == self._now:
            return straight
        rest = setup.build == self._now.build and setup.bolt_turns == self._now.bolt_turns
        share, least = (BENT[1], 0.0) if rest else (BENT[0], BENT[2])
        return straight + np.hypot(share * (straight - self.here), least) * self._chance

    def straight(self, setup: Setup) -> FloatArray:
        """(S, 2) the gap along straight lines, without the doubt that the answers are not straight."""
        if setup in self.belief.ground.setups:
            return self.belief.gap(setup)
        base = rest_where(setup, self._now)
        return (
            self.belief.gap(base)
            + (setup.rest_y - base.rest_y) * self.rest_y
            + (setup.rest_z - base.rest_z) * self.rest_z
            + (setup.nock_z - base.nock_z) * self.nock_z
        )

    def spine(self, setup: Setup) -> FloatArray:
        """(S, 2) the same with rest and nock point back at their recorded start."""
        return self.gap(rest_back(setup, self._start))


def trims(lines: Lines, situation: Situation, work: Callable[[FloatArray], FloatArray]) -> tuple[Move, ...]:
    """Moves of rest and nock point that leave least ``work`` (of gaps (..., 2), in minutes) in the mean of the draws.

    One for either way along each axis, and the best of both axes at once. Where nobody knows which way the rest
    answers, the mean likes no move best; yet only one that shows teaches anything, so the least that shows is offered.
    """
    now, start = situation.now, situation.history.start
    along, up = rest_sizes(now)
    sizes = (
        _within(along, now.rest_y - start.rest_y, STRAY[situation.purpose]),
        _within(up, now.rest_z - start.rest_z, STRAY_HEIGHT),
    )
    left = np.where(_shown(lines, sizes), _mean_work(lines, work, sizes), np.inf)
    found = [_best(now, left[1:, 0], sizes[0], sideways=True), _best(now, left[0, 1:], sizes[1], sideways=False)]
    y, z = np.unravel_index(int(np.argmin(left[1:, 1:])), left[1:, 1:].shape)
    if np.isfinite(left[1 + y, 1 + z]):
        found.append([rest_move(now, sizes[0][y], sizes[1][z])])
    lifts = [sign * step for step in NOCK_STEPS for sign in (1.0, -1.0)]
    found.append([nock_point_move(now, lift) for lift in lifts if _shows(lift * lines.nock_z)])
    return tuple(dict.fromkeys(move for moves in found for move in moves if move is not None))


def _within(sizes: Sequence[float], stands: float, bound: float) -> tuple[float, ...]:
    """Those of ``sizes`` that keep the rest, which ``stands`` so far from its start, within ``bound`` of it or nearer.

    Where none of a sign does, the least of that sign, so that it is told why not.
    """
    found: list[float] = []
    for sign in (1.0, -1.0):
        ways = [size for size in sizes if size * sign > 0]
        found += [size for size in ways if not strays(stands, stands + size, bound)] or [min(ways, key=abs)]
    return tuple(found)


def _shows(change: FloatArray) -> NDArray[np.bool_]:
    """(...) whether changes (..., S, 2) of the gap are enough to be seen at 20 yd, as likely as not."""
    found: NDArray[np.bool_] = np.median(np.hypot(change[..., 0], change[..., 1]), axis=-1) > TRIM_SHOWS
    return found


def _shown(lines: Lines, sizes: Sizes) -> NDArray[np.bool_]:
    """(1 + Y, 1 + Z) whether each pair of moves shows; the first row and column move nothing."""
    up = np.stack([size * lines.rest_z for size in (0.0, *sizes[1])])
    return np.stack([_shows(size * lines.rest_y + up) for size in (0.0, *sizes[0])])


def _mean_work(lines: Lines, work: Callable[[FloatArray], FloatArray], sizes: Sizes) -> FloatArray:
    """(1 + Y, 1 + Z) mean minutes of work after each pair of moves; the first row and column move nothing."""
    along = [lines.here + size * lines.rest_y for size in (0.0, *sizes[0])]
    up = np.stack([size * lines.rest_z for size in (0.0, *sizes[1])])
    return np.stack([work(gap + up).mean(axis=1) for gap in along])


def _best(now: Setup, left: FloatArray, sizes: Sequence[float], *, sideways: bool) -> list[Move | None]:
    """The best size of either sign along one axis, of those that show."""
    found = []
    for sign in (1.0, -1.0):
        size = min((s for s in sizes if s * sign > 0), key=lambda s: left[sizes.index(s)])
        if not np.isfinite(left[sizes.index(size)]):
            continue
        found.append(rest_move(now, size, 0.0) if sideways else rest_move(now, 0.0, size))
    return found
