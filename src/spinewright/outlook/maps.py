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
from spinewright.outlook.bounds import Bound, Leaving, broken_bounds
from spinewright.outlook.differences import SetSpread, scatter_draws
from spinewright.outlook.grid import MapGrid
from spinewright.outlook.leaving import bending_left, swing_past
from spinewright.outlook.own_mistakes import Line, miss_draws
from spinewright.outlook.runs import released, some_rows
from spinewright.outlook.surface import fill_from_nearest, through
from spinewright.outlook.values import FloatArray, Range
from spinewright.units import INCH

__all__ = ["FLAT", "Flatness", "ForgivenessMap", "MapSettings", "flatness", "forgiveness_map", "map_belief"]

FLAT = 0.25 * INCH  # m of miss at the target that nobody sees between two builds
_BENT_SHARE = 0.25  # of the time goes into bending (measured)
_BENT_AT = (3, 5)  # point masses and lengths at which bending is run
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
    With a ``belief`` the members must be its own bows, in their order, because each head's offset follows the gap that
    the belief holds of that very bow; ValueError otherwise. Raises SolveError when no build has an answer.
    """
    settings = settings or MapSettings()
    gaps = None if belief is None else _gaps(belief, grid)
    if gaps is not None and gaps.shape[2] != len(members):
        raise ValueError(f"{len(members)} members are not the {gaps.shape[2]} bows of the belief")
    rows = some_rows(len(members), settings.bows)
    few = members.rows(rows)
    shape = grid.shape
    numbers = np.zeros((4, *shape, len(few)))
    solved = np.zeros(shape, dtype=np.bool_)
    broken: list[list[tuple[Limit | Bound, ...]]] = [[() for _ in range(shape[1])] for _ in range(shape[0])]
    reasons: dict[str, None] = {}
    told = progress or _untold
    bent = _bending_over(few, grid, lambda share: told(_BENT_SHARE * share))
    for count, (p, k) in enumerate(np.ndindex(shape), start=1):
        gap = None if gaps is None else gaps[p, k, rows]
        cell = _cell(few, grid.setups[p][k], _Ask(line, settings, gap, bent[p, k]))
        numbers[:, p, k], solved[p, k], broken[p][k] = cell.numbers, cell.solved, cell.broken
        reasons[cell.reason] = None
        told(_BENT_SHARE + (1.0 - _BENT_SHARE) * count / solved.size)
    if not solved.any():
        raise SolveError(
            "the map", "; ".join(r for r in reasons if r) or "no build has an answer", "try a stiffer shaft"
        )
    own, apart, spread, speed = numbers
    quantiles = None if gaps is None else np.quantile(gaps, (0.1, 0.5, 0.9), axis=2)
    return ForgivenessMap(
        grid, line, settings, own, apart, spread, speed, quantiles, solved, tuple(tuple(row) for row in broken)
    )


@dataclass(frozen=True, slots=True)
class _Cell:
    """One build: own, apart, spread, speed (4, N); whether it has an answer; what it breaks."""

    numbers: FloatArray
    solved: bool
    broken: tuple[Limit | Bound, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class _Ask:
    """What is wanted of a build; gap (N, 2) [m] believed of it, bent (N, 7) as :func:`_bending_over` gives it."""

    line: Line
    settings: MapSettings
    gap: FloatArray | None
    bent: FloatArray


def _cell(members: Members, setup: Setup, ask: _Ask) -> _Cell:
    safe_length = ask.settings.safe_length
    as_built = released(members, setup)
    misses = miss_draws(members, setup, ask.line, as_built=as_built)
    line = (ask.line.distance, ask.settings.spread)
    draws = scatter_draws(members, setup, line, as_built=as_built, gap=ask.gap)
    use = misses.solved & draws.solved
    if np.count_nonzero(use) < _MOSTLY * len(use):
        reason = as_built.reason or misses.reason or draws.reason
        return _Cell(np.zeros((4, len(use))), False, broken_bounds(setup, safe_length=safe_length), reason)
    numbers = np.stack([misses.combined, draws.apart, draws.spread_field, as_built.speed])
    numbers[:, ~use] = np.median(numbers[:, use], axis=1, keepdims=True)
    swing = swing_past(draws.leaves, ask.bent[:, 1:].reshape(-1, 3, 2))
    leaves = Leaving(Range.of(draws.leaves.turn[use]), Range.of(ask.bent[use, 0]), Range.of(swing[use]))
    return _Cell(numbers, True, broken_bounds(setup, leaves, safe_length), "")


def _untold(_share: float) -> None:
    """Nobody asked how far it is."""


def _bending_over(members: Members, grid: MapGrid, told: Callable[[float], None]) -> FloatArray:
    """(P, L, N, 7) bending left at release: the nock end's angle, then where the vanes stand beside the axis (3 x 2).

    Run at a few builds spread over the map, with a polynomial through them in between: bending changes slowly from
    build to build, and a run forward takes ten times as long as the rest of a build. A build where nothing was solved
    takes the nearest one's.
    """
    rows, columns = (some_rows(n, most) for n, most in zip(grid.shape, _BENT_AT, strict=True))
    at = np.zeros((len(rows), len(columns), len(members), 7))
    known = np.zeros(at.shape[:2], dtype=np.bool_)
    for i, k in np.ndindex(known.shape):
        bent = bending_left(members, grid.setups[rows[i]][columns[k]])
        known[i, k] = bent.solved.any()
        if known[i, k]:
            at[i, k, :, 0], at[i, k, :, 1:] = bent.angle, bent.beside.reshape(-1, 6)
            at[i, k, ~bent.solved] = np.median(at[i, k, bent.solved], axis=0)
        told((i * len(columns) + k + 1) / known.size)
    fill_from_nearest(at, known)
    across = through(grid.lengths[columns], grid.lengths)
    up = through(grid.point_masses[rows], grid.point_masses)
    over = np.einsum("pi,lk,iknq->plnq", up, across, at)
    over[..., 0] = np.maximum(over[..., 0], 0.0)
    return np.asarray(over)


def _gaps(belief: Belief, grid: MapGrid) -> FloatArray:
    """(P, L, S, 2) draws of the gap at 20 yd."""
    return np.array([[belief.gap(setup) for setup in row] for row in grid.setups])


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
