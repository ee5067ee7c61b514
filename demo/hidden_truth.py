"""The truth that the adviser never sees: how this invented bow really answers, by a few straight lines of its own.

Every number is invented. It shares no equation with the adviser: no arrow bends here and nothing is integrated. What
the archer sees (holes, leaning nocks, tears) is drawn from it with scatter, so the advice has to find its way.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians

import numpy as np

from spinewright.equipment import Setup
from spinewright.units import GRAIN, INCH, POUND_FORCE, YARD

__all__ = ["HiddenTruth", "Hole", "World"]

Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class HiddenTruth:
    """Slopes and places of the invented bow, in the right-handed frame (left and up positive).

    best_length    [m]    carbon length at which the arrow neither reads weak nor stiff with the start's point
    per_length     [1]    gap at 20 yd for each metre too long, (sideways, height): right and low
    point_worth    [m/kg] what a heavier point is worth in length
    weight_worth   [m/N]  what peak weight is worth in length
    best_rest      [m]    where the rest ought to stand, from its recorded start
    per_rest       [1]    gap at 20 yd for each metre the rest stands off that
    nock_turns     [m]    gap that turns twice with the nock, least at ``best_nock`` [rad]
    scatter        [rad]  one-axis scatter of a fletched shot; a bare one has ``bare_scatter`` times that
    shaft_sd       [m]    how far single shafts keep to themselves, fletched and bare
    from_gap       [1]    how much of the gap turns into spread between fletched arrows
    """

    best_length: float = 28.6 * INCH
    per_length: Pair = (-3.6, -1.3)
    point_worth: float = 0.62 * INCH / (25 * GRAIN)
    weight_worth: float = 0.17 * INCH / POUND_FORCE
    best_rest: Pair = (-0.016 * INCH, 0.014 * INCH)
    per_rest: Pair = (-24.0, 27.0)
    nock_turns: float = 0.8 * INCH
    best_nock: float = radians(60.0)
    scatter: float = 0.6e-3
    bare_scatter: float = 1.3
    shaft_sd: Pair = (0.12 * INCH, 0.22 * INCH)
    from_gap: float = 0.16

    def gap(self, setup: Setup, start: Setup) -> Pair:
        """Where bare holes really lie beside fletched ones at 20 yd [m]."""
        build, first = setup.build, start.build
        long = build.carbon_length - self.best_length
        long += self.point_worth * (build.head.mass - first.head.mass)
        long += self.weight_worth * (setup.present_peak_weight - start.present_peak_weight)
        rest = (setup.rest_y, setup.rest_z)
        turned = self.nock_turns * 0.5 * (1 - cos(2 * (setup.nock_angle - self.best_nock)))
        side, height = (
            self.per_length[axis] * long + self.per_rest[axis] * (rest[axis] - self.best_rest[axis]) for axis in (0, 1)
        )
        return side - turned, height


@dataclass(frozen=True, slots=True)
class Hole:
    """One arrow in the target: hole [m] from the aiming spot, and how the nock leans [deg], left and up positive."""

    shaft: int
    bare: bool
    place: Pair
    lean: Pair


class World:
    """The truth with its luck: one seeded generator, and the quirks of each shaft."""

    FLETCHED = (1, 2, 3, 4)
    BARE = (7, 8)

    def __init__(self, truth: HiddenTruth, start: Setup, rng: np.random.Generator) -> None:
        self._truth = truth
        self._start = start
        self._rng = rng
        fletched, bare = truth.shaft_sd
        self._quirk = {shaft: fletched * rng.standard_normal(2) for shaft in self.FLETCHED}
        self._quirk |= {shaft: bare * rng.standard_normal(2) for shaft in self.BARE}
        self._answer = {shaft: rng.standard_normal(2) for shaft in self.FLETCHED}

    def gap(self, setup: Setup) -> Pair:
        """The true gap at 20 yd [m]; for the last page of the demo, never for the adviser."""
        return self._truth.gap(setup, self._start)

    def walk(self, setup: Setup, each: int, distance: float) -> list[Hole]:
        """``each`` fletched and as many bare arrows, the shafts in turn, at ``distance`` [m]."""
        holes = []
        for shot in range(each):
            holes.append(self._shoot(setup, self.FLETCHED[shot % len(self.FLETCHED)], distance))
            holes.append(self._shoot(setup, self.BARE[shot % len(self.BARE)], distance))
        return holes

    def group(self, setup: Setup, arrows: int, distance: float) -> list[Hole]:
        """``arrows`` fletched arrows, the shafts in turn."""
        return [self._shoot(setup, self.FLETCHED[n % len(self.FLETCHED)], distance) for n in range(arrows)]

    def tear(self, setup: Setup, shaft: int, nock: float = 0.0) -> Pair:
        """Where the tail tears at 6 ft [m], the nock turned by ``nock`` [rad] more."""
        truth = self._truth
        side, height = self.gap(setup)
        before, after = (cos(2 * (setup.nock_angle + extra - truth.best_nock)) for extra in (0.0, nock))
        side -= truth.nock_turns * 0.5 * (before - after)
        luck = 0.07 * INCH * self._rng.standard_normal(2)
        quirk = self._quirk[shaft]
        return (
            float(-0.26 * (side + quirk[0]) + luck[0]),
            float(-0.26 * (height + quirk[1]) + luck[1]),
        )

    def _shoot(self, setup: Setup, shaft: int, distance: float) -> Hole:
        truth, far, bare = self._truth, distance / (20 * YARD), shaft in self.BARE
        gap = np.array(self.gap(setup))
        spread = truth.scatter * distance * (truth.bare_scatter if bare else 1.0)
        place = far * self._quirk[shaft] + spread * self._rng.standard_normal(2)
        # vanes straighten an arrow late: a part of the gap stays, another for each arrow
        place = place + far * (gap if bare else truth.from_gap * np.hypot(*gap) * self._answer[shaft])
        lean = -0.9 * gap / INCH + 1.1 * self._rng.standard_normal(2) if bare else self._rng.standard_normal(2)
        return Hole(shaft, bare, (float(place[0]), float(place[1])), (float(lean[0]), float(lean[1])))
