"""One shot to look at: the arrow's bending on the string of a plausible bow, and the paths of bare and fletched."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spinewright.belief import Belief, Members, standing
from spinewright.equipment import Setup, mass_model
from spinewright.flight import flight_body, fly
from spinewright.mechanics import BowMotion, Motion, MotionSettings, build_rod, motion, stroke
from spinewright.outlook.runs import AS_BUILT, bow_in, parameters_of, release_states, some_rows
from spinewright.outlook.values import FloatArray, enough_solved

__all__ = ["FlightPaths", "ShotMotion", "flight_paths", "middle_bow", "shot_motion"]


@dataclass(frozen=True, slots=True, eq=False)
class ShotMotion:
    """The stroke of one plausible bow.

    motion        shape in time, planes sideways (left positive) and height
    forward (T,)  [m] travelled by the nock, beyond the string at the speed it left with
    rest_at [m]   contact of the rest in front of the nock at full draw; lets_go [s] when the rest does, None = it holds
    speed [m/s]   off the string
    """

    motion: Motion
    forward: FloatArray
    rest_at: float
    lets_go: float | None
    speed: float


@dataclass(frozen=True, slots=True, eq=False)
class FlightPaths:
    """Paths of N plausible bows: ``along`` (D,) [m]; ``bare``, ``fletched`` (N, D, 2) [m] left and up of the line on
    which the middle fletched arrow flies; ``bare_turn``, ``fletched_turn`` (N, D) [rad] yaw, point left positive."""

    along: FloatArray
    bare: FloatArray
    fletched: FloatArray
    bare_turn: FloatArray
    fletched_turn: FloatArray


def middle_bow(belief: Belief, setup: Setup) -> Members:
    """The one surviving bow whose gap with ``setup`` (of the belief's ground) is nearest to the middle of all."""
    gap = belief.gap(setup)
    away = np.hypot(*(gap - np.median(gap, axis=0)).T)
    return belief.bows().rows(np.array([int(np.argmin(away))], dtype=np.intp))


def shot_motion(bow: Members, setup: Setup, *, bare: bool, settings: MotionSettings | None = None) -> ShotMotion:
    """The stroke of ``setup`` on the first of ``bow``, bare or fletched. Raises SolveError."""
    rod = build_rod(mass_model(setup.build, bare=bare))
    moved = bow_in(setup.bow, 0.0)
    row = parameters_of(bow, setup, AS_BUILT)
    made = motion(rod, moved, row, standing(bow, setup)[0], settings)
    speed = float(stroke(rod, moved, row).speed[0])
    forward = _forward(made, moved, speed)
    drops = float(row.drops_after[0])
    lets_go = float(np.interp(drops, forward, made.time)) if drops < forward[-1] else None
    return ShotMotion(made, forward, moved.rest_at_draw, lets_go, speed)


def flight_paths(belief: Belief, setup: Setup, distances: FloatArray, bows: int = 60) -> FlightPaths:
    """Paths of bare and fletched past ``distances`` (D,) [m], rising; the last has to be one of the belief's.

    The physics gives the shape of each path; where bare ends beside fletched is what is believed of this bow, so the
    bare path is turned by the small angle between the two.
    """
    every, gap = belief.bows(), belief.gap(setup, float(distances[-1]))
    rows = some_rows(len(every), bows)
    few, believed = every.rows(rows), gap[rows]
    flown = [_flown(few, setup, distances, bare=bare) for bare in (True, False)]
    solved = flown[0][2] & flown[1][2]
    enough_solved(solved, "the flight of bare and fletched arrows", "")
    (bare, bare_turn), (fletched, turn) = ((hole[solved], turned[solved]) for hole, turned, _ in flown)
    share = (distances / distances[-1])[:, None]
    bare = bare + (believed[solved] - (bare - fletched)[:, -1])[:, None] * share
    line = np.median(fletched[:, :, 1], axis=0)
    aside = np.median(fletched[:, -1, 0]) * share[:, 0]
    shift = np.stack([aside, line], axis=-1)
    return FlightPaths(distances, bare - shift, fletched - shift, bare_turn, turn)


def _flown(
    bows: Members, setup: Setup, distances: FloatArray, *, bare: bool
) -> tuple[FloatArray, FloatArray, np.ndarray]:
    masses = mass_model(setup.build, bare=bare)
    stroked = stroke(build_rod(masses), bow_in(setup.bow, 0.0), parameters_of(bows, setup, AS_BUILT))
    release = release_states(stroked, standing(bows, setup))
    body = flight_body(setup.build, masses, bare=bare)
    speed = np.where(stroked.solved, stroked.speed, 1.0)
    result = fly(body, speed, release, bows.flight, np.asarray(distances))
    return result.hole, result.angle[:, :, 0], stroked.solved & result.solved


def _forward(made: Motion, moved: BowMotion, speed: float) -> FloatArray:
    """Nock travel [m] at the motion's times: the bow's own until the string has gone, then straight on."""
    on_string = moved.at(made.time / made.departs)[:, 0]
    after = moved.stroke + speed * (made.time - made.departs)
    return np.where(made.time < made.departs, on_string, after)
