"""What differences between shafts do on the target, which of them go together, and where weight helps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from spinewright.belief import BeliefSettings, Members, believe, break_ground, standing
from spinewright.equipment import Archer, Setup
from spinewright.errors import SolveError
from spinewright.evidence import History
from spinewright.outlook.choosing import Chosen, closest
from spinewright.outlook.differences import Difference, SetSpread, field_point, fixed_head, scatter_draws
from spinewright.outlook.runs import fly_releases, release_states, released, some_members
from spinewright.outlook.values import FloatArray, Range, enough_solved
from spinewright.units import GRAIN

__all__ = [
    "PARTS",
    "Asked",
    "Group",
    "Moves",
    "Shafts",
    "away_from",
    "chosen_groups",
    "moves_of",
    "parts_of",
    "spread_of",
    "weighted",
]

PARTS = ("spine", "stiff side", "weight", "straightness")
_BOWS, _RUN = 60, 40
_READING = 0.003 * 0.0254  # m of total indicator reading that the effect of crookedness is computed for
_ADDED = 10.0 * GRAIN  # the effect of weight is straight over a few grains (computed: within 2 % at 10 gr)


@dataclass(frozen=True, slots=True)
class Asked:
    """For which bow and arrow, and how far [m]; ``blades`` = with a stated fixed-blade head on fletched arrows."""

    history: History
    archer: Archer
    distance: float
    blades: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """What moves the hit on N plausible bows, (N, 2) [m left, up] for one unit each.

    stiffness  of ln bending stiffness, in each plane its own
    mass       of the shaft's own mass [kg];  front, rear of weight added behind the point, or at the nock [kg]
    crooked    [m] per m of total indicator reading, size only: nobody knows which way a shaft bends
    """

    stiffness: FloatArray
    mass: FloatArray
    front: FloatArray
    rear: FloatArray
    crooked: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Shafts:
    """What was measured of n shafts; zeros where nothing was.

    stiffness (n,)  ln of bending stiffness, mean round the shaft
    stiff     (n,)  how much stiffer than that in the plane of the stiff side, of ln stiffness
    power     (n,)  its square with the tester's own share taken off
    mass      (n,) [kg];  crooked (n,) [m] total indicator reading
    upright         whether all stiff sides are turned to stand upright; else each stands as it comes
    """

    stiffness: FloatArray
    stiff: FloatArray
    power: FloatArray
    mass: FloatArray
    crooked: FloatArray
    upright: bool = False

    def only(self, which: Sequence[int]) -> Shafts:
        """Those at these places."""
        rows = np.asarray(which, dtype=np.intp)
        return replace(self, **{k: getattr(self, k)[rows] for k in ("stiffness", "stiff", "power", "mass", "crooked")})

    @property
    def features(self) -> FloatArray:
        """(n, 3): ln stiffness sideways and in height, mass. A stiff side that stands upright stiffens in height."""
        turned = self.stiff if self.upright else np.zeros_like(self.stiff)
        return np.stack([self.stiffness - turned, self.stiffness + turned, self.mass], axis=1)


@dataclass(frozen=True, slots=True)
class Group:
    """``which`` shafts by their places, what set they make, whether the search was carried to its end; else by which
    share another choice may be better, ``gap``."""

    which: tuple[int, ...]
    spread: Range
    proven: bool
    gap: float


@lru_cache(maxsize=8)
def moves_of(asked: Asked) -> Moves:
    """The effects for the bows that fit everything seen. Raises SolveError when fewer than half have an answer."""
    history, settings = asked.history, BeliefSettings(bows=_BOWS)
    belief = believe(break_ground(history, (), (), settings), history, asked.archer)
    members, setup = some_members(belief.bows(), _RUN), history.now
    shaft = replace(setup.build.shaft, straightness=_READING)
    setup = replace(setup, build=replace(setup.build, shaft=shaft))
    spread = SetSpread()
    draws = scatter_draws(members, setup, (asked.distance, spread))
    one = draws.headed if asked.blades else draws.field
    rows = {difference: one[k] for k, difference in enumerate(Difference)}
    front, rear, solved = _added(members, setup, asked)
    use = draws.solved & solved
    enough_solved(use, "what differences between shafts do", draws.reason)
    return Moves(
        stiffness=-rows[Difference.SPINE][use] / spread.spine,  # that effect is of a softer shaft
        mass=rows[Difference.MASS][use] / spread.mass,
        front=front[use],
        rear=rear[use],
        crooked=np.abs(rows[Difference.STRAIGHTNESS][use]) / _READING,
    )


def _added(members: Members, setup: Setup, asked: Asked) -> tuple[FloatArray, FloatArray, np.ndarray]:
    """(N, 2) [m/kg] what weight behind the point and at the nock does, and which bows have an answer."""
    build = setup.build
    heavier = (
        setup,
        replace(setup, build=replace(build, head=replace(build.head, mass=build.head.mass + _ADDED))),
        replace(setup, build=replace(build, nock=replace(build.nock, mass=build.nock.mass + _ADDED))),
    )
    strokes = [released(members, one) for one in heavier]
    amplitudes = standing(members, setup)
    states = np.stack([release_states(one, amplitudes) for one in strokes])
    head = fixed_head(build.head.mass) if asked.blades else field_point(build.head)
    speeds = np.stack([one.speed for one in strokes])
    flown = fly_releases(members, setup, (states, speeds), asked.distance, head=head)
    solved = np.all([one.solved for one in strokes], axis=0) & flown.solved
    moved = (flown.hole[1:] - flown.hole[0]) / _ADDED
    return moved[0], moved[1], np.asarray(solved, dtype=np.bool_)


def _directions(moves: Moves) -> FloatArray:
    """(N, 2, 3): what each of the features moves, sideways and in height."""
    found = np.zeros((len(moves.mass), 2, 3))
    found[:, 0, 0], found[:, 1, 1] = moves.stiffness[:, 0], moves.stiffness[:, 1]
    found[:, :, 2] = moves.mass
    return found


def _own(shafts: Shafts, moves: Moves) -> FloatArray:
    """(N, n) [m2] squared distance by what stands anyhow on each shaft: crookedness, and a stiff side as it comes."""
    crooked = (moves.crooked**2).sum(axis=1)[:, None] * shafts.crooked**2
    if shafts.upright:
        return np.asarray(crooked)
    # Over all angles the cosine that turns twice has a mean square of one half.
    return np.asarray(crooked + 0.5 * (moves.stiffness**2).sum(axis=1)[:, None] * shafts.power)


def _squares(shafts: Shafts, moves: Moves) -> FloatArray:
    """(N,) [m2] mean squared distance of the arrows from their common middle."""
    about = shafts.features - shafts.features.mean(axis=0)
    places = np.einsum("nak,ik->nia", _directions(moves), about)
    return np.asarray((places**2).sum(axis=2).mean(axis=1) + _own(shafts, moves).mean(axis=1))


def spread_of(shafts: Shafts, moves: Moves) -> Range:
    """Rms distance [m] of the arrows from their common middle that these differences make."""
    return Range.of(np.sqrt(_squares(shafts, moves)))


def parts_of(shafts: Shafts, moves: Moves) -> dict[str, Range]:
    """The same for each of :data:`PARTS` alone."""
    none = np.zeros_like(shafts.mass)
    alone = {
        "spine": replace(shafts, stiff=none, power=none, mass=none, crooked=none),
        "stiff side": replace(shafts, stiffness=none, mass=none, crooked=none),
        "weight": replace(shafts, stiffness=none, stiff=none, power=none, crooked=none),
        "straightness": replace(shafts, stiffness=none, stiff=none, power=none, mass=none),
    }
    return {name: spread_of(one, moves) for name, one in alone.items()}


def chosen_groups(
    shafts: Shafts, moves: Moves, count: int, most: int, progress: Callable[[float], None] | None = None
) -> list[Group]:
    """Up to ``most`` groups of ``count``: the one with the least spread of all, then the same of those left over.

    The mean over the plausible bows of the squared spread is made least.
    """
    directions = _directions(moves)
    weights = np.einsum("nak,nal->kl", directions, directions) / len(directions)
    values, axes = np.linalg.eigh(weights)
    places = shafts.features @ axes * np.sqrt(np.maximum(values, 0.0))
    own, left = _own(shafts, moves).mean(axis=0), np.arange(len(places))
    groups: list[Group] = []
    while len(left) >= count and len(groups) < most:
        found: Chosen = closest(places[left], own[left], count)
        which = tuple(int(k) for k in left[list(found.which)])
        groups.append(Group(which, spread_of(shafts.only(which), moves), found.proven, found.gap))
        left = np.setdiff1d(left, which)
        if progress is not None:
            progress(len(groups) / most)
    return groups


def away_from(shafts: Shafts, moves: Moves, one: int, others: Sequence[int]) -> tuple[Range, str]:
    """How far [m] shaft ``one`` is expected from the middle of ``others`` (rms of what stands anyhow), and by which of
    :data:`PARTS` it differs most from them."""
    features = shafts.features
    about = features[one] - features[list(others)].mean(axis=0)
    mean = 0.5 * (about[0] + about[1])
    evenly, mass = np.array([mean, mean, 0.0]), np.array([0.0, 0.0, about[2]])
    sides = about - evenly - mass
    directions, alone = _directions(moves), shafts.only([one])
    fellows = shafts.only(others)
    stiff, theirs = replace(alone, crooked=np.zeros(1)), replace(fellows, crooked=np.zeros(len(others)))
    by_stiff = _own(stiff, moves)[:, 0] - _own(theirs, moves).mean(axis=1)
    squares = {
        "spine": ((directions @ evenly) ** 2).sum(axis=1),
        "stiff side": by_stiff + ((directions @ sides) ** 2).sum(axis=1),
        "weight": ((directions @ mass) ** 2).sum(axis=1),
        "straightness": _own(alone, moves)[:, 0] - _own(fellows, moves).mean(axis=1) - by_stiff,
    }
    total = ((directions @ about) ** 2).sum(axis=1) + _own(alone, moves)[:, 0]
    return Range.of(np.sqrt(total)), max(PARTS, key=lambda name: float(squares[name].mean()))


def weighted(shafts: Shafts, moves: Moves, added: FloatArray, *, front: bool) -> Range:
    """Rms spread [m] once ``added`` [kg] (n,) has gone behind the points (``front``) or to the nocks."""
    there = moves.front if front else moves.rear
    about = shafts.features - shafts.features.mean(axis=0)
    places = np.einsum("nak,ik->nia", _directions(moves), about)
    places = places + there[:, None, :] * (added - added.mean())[None, :, None]
    squares = (places**2).sum(axis=2).mean(axis=1) + _own(shafts, moves).mean(axis=1)
    if not np.isfinite(squares).all():
        raise SolveError("the spread with weight added", "no finite answer", "check the masses")
    return Range.of(np.sqrt(squares))
