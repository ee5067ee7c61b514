"""Maps of one shaft over carbon length and point mass: your own mistakes, and heads and differences, never as one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import Belief, BeliefSettings, Members, believe, break_ground
from spinewright.equipment import Archer, Limit, Setup
from spinewright.errors import SolveError
from spinewright.evidence import History
from spinewright.outlook.bounds import Bound, broken_bounds
from spinewright.outlook.differences import SetSpread, scatter_draws
from spinewright.outlook.grid import MapGrid
from spinewright.outlook.own_mistakes import Line, miss_draws
from spinewright.outlook.runs import released, some_members
from spinewright.outlook.values import FloatArray, Range
from spinewright.units import INCH

__all__ = ["FLAT", "Flatness", "ForgivenessMap", "MapSettings", "flatness", "forgiveness_map", "map_belief"]

FLAT = 0.25 * INCH  # m of miss at the target that nobody sees between two builds
_MOSTLY = 0.8  # share of the plausible bows that must have an answer for a build to be shown


@dataclass(frozen=True, slots=True)
class MapSettings:
    """What a map is drawn for.

    bows   plausible bows run through every build
    spread differences within a set
    aim    [m at 20 yd] sideways and height gap that is wanted: nothing for targets, slightly stiff for fixed blades
    safe_length [m] shortest safe carbon length from the mark at full draw; None = no mark yet
    """

    bows: int = 40
    spread: SetSpread = field(default_factory=SetSpread)
    aim: tuple[float, float] = (0.0, 0.0)
    safe_length: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class ForgivenessMap:
    """P point masses by L lengths over N plausible bows.

    own      (P, L, N) [m]   rms miss from the archer's own mistakes
    apart    (P, L, N) [m]   rms distance of arrows with the stated fixed-blade head from the field points
    spread   (P, L, N) [m]   rms of a set of arrows about its middle, field points
    speed    (P, L, N) [m/s] as the arrow leaves
    gap      (3, P, L, 2) [m at 20 yd] predicted bare minus fletched: 10 %, median, 90 %; None when not predicted
    solved   (P, L)          builds with an answer; the others' numbers are zero
    broken   [P][L]          bounds that the build breaks
    """

    grid: MapGrid
    line: Line
    settings: MapSettings
    own: FloatArray
    apart: FloatArray
    spread: FloatArray
    speed: FloatArray
    gap: FloatArray | None
    solved: NDArray[np.bool_]
    broken: tuple[tuple[tuple[Limit | Bound, ...], ...], ...]

    @property
    def safe(self) -> NDArray[np.bool_]:
        """(P, L) builds with an answer that break no bound."""
        kept = np.array([[not cell for cell in row] for row in self.broken], dtype=np.bool_)
        return np.asarray(self.solved & kept)


@dataclass(frozen=True, slots=True)
class Flatness:
    """How much a map's number differs over its safe builds.

    least, most [m] medians; doubt [m] half the central 80 % of a build's difference from the map's middle, bow by bow
    best (point index, length index) of the least; flat when nothing on the map can be told apart or would be seen
    """

    least: float
    most: float
    doubt: float
    best: tuple[int, int]

    @property
    def flat(self) -> bool:
        """Whether the spread is below a quarter inch or below the doubt."""
        return self.most - self.least < max(FLAT, self.doubt)


def map_belief(
    history: History,
    archer: Archer,
    grid: MapGrid,
    settings: BeliefSettings | None = None,
    *,
    progress: Callable[[float], None] | None = None,
) -> Belief:
    """A belief whose ground holds the map's builds, so that their gaps can be predicted.

    Raises SolveError when the map reaches builds that most plausible bows cannot shoot; draw it without gaps then.
    """
    settings = settings or BeliefSettings(bows=60)
    return believe(break_ground(history, grid.flat, (), settings, progress=progress), history, archer)


def forgiveness_map(
    members: Members,
    grid: MapGrid,
    line: Line,
    *,
    belief: Belief | None = None,
    settings: MapSettings | None = None,
    progress: Callable[[float], None] | None = None,
) -> ForgivenessMap:
    """Run ``members`` through every build of ``grid``; ``belief`` (of :func:`map_belief`) adds the predicted gaps.

    A bow that gives no answer for a build takes that build's median; builds where more than a fifth do so are left out.
    Raises SolveError when no build has an answer.
    """
    settings = settings or MapSettings()
    few = some_members(members, settings.bows)
    shape = (len(grid.point_masses), len(grid.lengths))
    numbers = np.zeros((4, *shape, len(few)))
    solved = np.zeros(shape, dtype=np.bool_)
    broken: list[list[tuple[Limit | Bound, ...]]] = [[() for _ in range(shape[1])] for _ in range(shape[0])]
    reasons: dict[str, None] = {}
    for count, (p, k) in enumerate(np.ndindex(shape), start=1):
        cell = _cell(few, grid.setups[p][k], line, settings)
        numbers[:, p, k], solved[p, k], broken[p][k] = cell.numbers, cell.solved, cell.broken
        reasons[cell.reason] = None
        if progress is not None:
            progress(count / solved.size)
    if not solved.any():
        raise SolveError(
            "the map", "; ".join(r for r in reasons if r) or "no build has an answer", "try a stiffer shaft"
        )
    own, apart, spread, speed = numbers
    gap = None if belief is None else _gaps(belief, grid)
    return ForgivenessMap(
        grid, line, settings, own, apart, spread, speed, gap, solved, tuple(tuple(row) for row in broken)
    )


@dataclass(frozen=True, slots=True)
class _Cell:
    """One build: own, apart, spread, speed (4, N); whether it has an answer; what it breaks."""

    numbers: FloatArray
    solved: bool
    broken: tuple[Limit | Bound, ...]
    reason: str


def _cell(members: Members, setup: Setup, line: Line, settings: MapSettings) -> _Cell:
    as_built = released(members, setup)
    misses = miss_draws(members, setup, line, as_built=as_built)
    draws = scatter_draws(members, setup, (line.distance, settings.spread), as_built=as_built)
    use = misses.solved & draws.solved
    if np.count_nonzero(use) < _MOSTLY * len(use):
        reason = as_built.reason or misses.reason or draws.reason
        return _Cell(np.zeros((4, len(use))), False, broken_bounds(setup, safe_length=settings.safe_length), reason)
    numbers = np.stack([misses.combined, draws.apart, draws.spread_field, as_built.speed])
    numbers[:, ~use] = np.median(numbers[:, use], axis=1, keepdims=True)
    turn, swing = Range.of(draws.turn[use]), Range.of(draws.swing[use])
    return _Cell(numbers, True, broken_bounds(setup, turn, swing, settings.safe_length), "")


def _gaps(belief: Belief, grid: MapGrid) -> FloatArray:
    """(3, P, L, 2) quantiles of the gap at 20 yd."""
    draws = np.array([[belief.gap(setup) for setup in row] for row in grid.setups])
    return np.asarray(np.quantile(draws, (0.1, 0.5, 0.9), axis=2))


def flatness(draws: FloatArray, safe: NDArray[np.bool_]) -> Flatness | None:
    """Flatness of a map's number ``draws`` (P, L, N) over its ``safe`` (P, L) builds; None with fewer than two.

    What is common to all builds (how large the mistakes of this bow come out at all) is taken off bow by bow first.
    """
    if np.count_nonzero(safe) < 2:
        return None
    inside = draws[safe]
    middle = np.median(inside, axis=1)
    low, high = np.quantile(inside - inside.mean(axis=0), (0.1, 0.9), axis=1)
    p, k = np.argwhere(safe)[int(np.argmin(middle))]
    doubt = float(np.median(0.5 * (high - low)))
    return Flatness(float(middle.min()), float(middle.max()), doubt, (int(p), int(k)))
