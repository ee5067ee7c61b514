"""Arrows a person could build, each at the length where it should fit this bow, held side by side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from spinewright.belief import Belief, BeliefSettings, Members, believe, break_ground
from spinewright.equipment import Archer, HeadKind, Limit, Setup
from spinewright.errors import SolveError
from spinewright.evidence import History
from spinewright.outlook.bounds import Bound, broken_bounds
from spinewright.outlook.builds import BuildDraws, Use, aim_scatter, build_draws
from spinewright.outlook.differences import field_point
from spinewright.outlook.fitting import NEAR_ENOUGH, fitting_lengths, within_reach
from spinewright.outlook.grid import with_length
from spinewright.outlook.own_mistakes import Line
from spinewright.outlook.runs import some_rows
from spinewright.outlook.values import FloatArray, Range
from spinewright.units import INCH, Kind

__all__ = ["Compared", "Comparison", "compare"]

_BOWS, _RUN = 60, 32  # plausible bows, and how many of them are run through every build
_EIGHTH = INCH / 8.0  # lengths are compared as a saw is set
_TUNED = INCH / 2.0  # one sd of the gap left at 20 yd after tuning, each way: within an inch in six cases of seven
_MOSTLY = 0.8  # share of the plausible bows that must have an answer


@dataclass(frozen=True, slots=True)
class Comparison:
    """What is compared; frozen all through, so that the answer can be kept.

    arrows   each at the length of the uncut shaft
    shortest [m] nock throat to the front end: the mark made at full draw, or what is computed; ``marked`` says which
    aim      [m at 20 yd] gap wanted, sideways and height; left positive is slightly stiff
    widest   [m] thickest shaft allowed; None = nobody looked it up
    """

    history: History
    archer: Archer
    arrows: tuple[Setup, ...]
    use: Use
    shortest: float
    marked: bool
    aim: tuple[float, float] = (0.0, 0.0)
    widest: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """One arrow.

    setup   at the length compared: where it most likely fits, as far as shaft and bow allow, to an eighth of an inch
    fits    [m, shaft end to shaft end] the length at which it fits
    reach   [1] how likely that length can be cut from this shaft and is safe
    draws   None where it was not computed, because of what is ``broken`` or for the ``reason`` in words
    """

    setup: Setup
    fits: Range
    reach: float
    draws: BuildDraws | None
    broken: tuple[Limit | Bound, ...] = ()
    reason: str = ""


def compare(asked: Comparison, progress: Callable[[float], None]) -> tuple[Compared, ...]:
    """Every arrow of ``asked``, in their order. Raises SolveError when the bow itself has no answer."""
    found = []
    for k in range(len(asked.arrows)):
        found.append(_compared(asked, k))
        progress((k + 1) / len(asked.arrows))
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """Length, fit and reach of every arrow; the bows they are run on, their aim (N,), gap (N, 2) once tuned [m]."""

    places: tuple[tuple[Setup, Range, float], ...]
    members: Members
    aim: FloatArray
    gap: FloatArray


@lru_cache(maxsize=4)
def _ground(asked: Comparison) -> _Ground:
    history, settings = asked.history, BeliefSettings(bows=_BOWS)
    belief = believe(break_ground(history, (), (), settings), history, asked.archer)
    places = tuple(_place(belief, arrow, asked) for arrow in asked.arrows)
    bows = belief.bows()
    rows = some_rows(len(bows), _RUN)
    few = bows.rows(rows)
    now = build_draws(few, _pointed(history.now), _line(asked), asked.use)
    aim = aim_scatter(belief.scatter[rows], asked.use.distance, now)
    return _Ground(places, few, aim, _tuned_gap(asked.aim, len(few)))


def _place(belief: Belief, arrow: Setup, asked: Comparison) -> tuple[Setup, Range, float]:
    """The arrow at the length compared, where it fits, and how likely that is within reach."""
    lengths = fitting_lengths(belief, arrow, asked.history.now, asked.aim[0])
    longest = arrow.build.carbon_length
    shortest = asked.shortest - arrow.build.carbon_start
    fits = Range.of(lengths)
    wished = min(max(round(fits.middle / _EIGHTH) * _EIGHTH, shortest), longest)
    return with_length(arrow, wished), fits, within_reach(lengths, shortest, longest)


def _tuned_gap(aim: tuple[float, float], count: int) -> FloatArray:
    """(N, 2) [m at 20 yd] gap of a build that was tuned: near the aim, one chance for all builds of a bow."""
    chance = np.random.default_rng([BeliefSettings().seed, 9]).standard_normal((count, 2))
    return np.asarray(np.array(aim) + _TUNED * chance)


def _pointed(setup: Setup) -> Setup:
    """The same with a field point of the head's mass."""
    return replace(setup, build=replace(setup.build, head=field_point(setup.build.head)))


def _line(asked: Comparison) -> Line:
    return Line.of(asked.archer, asked.use.distance, asked.use.face)


@lru_cache(maxsize=256)
def _compared(asked: Comparison, k: int) -> Compared:
    ground = _ground(asked)
    setup, fits, reach = ground.places[k]
    broken = _broken(setup, asked)
    if broken:
        return Compared(setup, fits, reach, None, broken)
    unfit = _unfit(asked, k, fits)
    if unfit:
        return Compared(setup, fits, reach, None, reason=unfit)
    gap = None if setup.build.head.kind is HeadKind.FIELD else ground.gap
    try:
        draws = build_draws(ground.members, setup, _line(asked), asked.use, ground.aim, gap)
    except SolveError as error:
        return Compared(setup, fits, reach, None, reason=f"it has no usable answer ({error.step})")
    if np.count_nonzero(draws.solved) < _MOSTLY * len(draws.solved):
        reason = f"it has no usable answer ({draws.reason or 'too few plausible bows have one'})"
        return Compared(setup, fits, reach, None, reason=reason)
    return Compared(setup, fits, reach, draws)


def _unfit(asked: Comparison, k: int, fits: Range) -> str:
    """Why an arrow is not for this bow at any length it could have; '' when it may be. A very weak one can break."""
    arrow = asked.arrows[k]
    if fits.high < asked.shortest - arrow.build.carbon_start - NEAR_ENOUGH:
        return "too weak for this bow even at the shortest safe length, and a shaft that is far too weak can break"
    if fits.low > arrow.build.carbon_length + NEAR_ENOUGH:
        return "too stiff for this bow even uncut"
    return ""


def _broken(setup: Setup, asked: Comparison) -> tuple[Limit | Bound, ...]:
    """Limits of safety and of the round that the build breaks, and a shaft that is too short for the bow."""
    safe = asked.shortest - setup.build.carbon_start if asked.marked else None
    broken = list(broken_bounds(setup, safe_length=safe))
    thick = setup.build.shaft.outer_diameter
    if asked.widest is not None and thick > asked.widest + 1e-9:
        because = "the limit of your round that you looked up"
        broken.append(Bound("shaft diameter", because, thick, asked.widest, Kind.LENGTH, minimum=False))
    return tuple(broken)
