"""How far the archer's own mistakes move the hit of one build, beside an arrow that does not bend."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from math import hypot

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import Members, standing
from spinewright.equipment import Archer, Face, Setup, expected_score
from spinewright.mechanics import StrokeResult
from spinewright.outlook.mistakes import (
    AMOUNTS,
    SIGHT_AHEAD,
    Mistake,
    MistakeAmounts,
    Skill,
    amount_of,
    disturbance,
    sight_shift,
    skill_of,
)
from spinewright.outlook.runs import Change, fly_releases, release_states, released
from spinewright.outlook.values import FloatArray, Range, enough_solved

__all__ = ["Line", "Misses", "MistakeEffect", "OwnMistakes", "miss_draws", "own_mistakes"]


@dataclass(frozen=True, slots=True)
class Line:
    """What is shot: ``distance`` [m], skill with its amounts, one-axis ``scatter`` [rad], a face if points count.

    ``judged`` = the skill follows from the archer's scatter, else it was chosen; ``own`` are the mistakes whose amount
    was given and not taken from the skill.
    """

    distance: float
    skill: Skill
    amounts: MistakeAmounts
    scatter: float
    face: Face | None = None
    sight_ahead: float = SIGHT_AHEAD
    judged: bool = True
    own: tuple[Mistake, ...] = ()

    @classmethod
    def of(cls, archer: Archer, distance: float, face: Face | None = None, skill: Skill | None = None) -> Line:
        """For ``archer``; the level of skill follows from the archer's scatter unless given."""
        level = skill_of(archer.scatter) if skill is None else skill
        return cls(distance, level, AMOUNTS[level], archer.scatter, face, judged=skill is None)

    def with_sizes(self, sizes: Mapping[str, float]) -> Line:
        """With other amounts, by the names :class:`MistakeAmounts` gives them [its units]."""
        amounts = replace(self.amounts, **sizes)
        order = dict(zip(Mistake, (field.name for field in fields(MistakeAmounts)), strict=True))
        return replace(self, amounts=amounts, own=tuple(one for one, name in order.items() if name in sizes))


@dataclass(frozen=True, slots=True)
class Misses:
    """Moved hits of N plausible bows: effect (M, N, 2) [m] of each mistake in the order of Mistake; solved (N,)."""

    effect: FloatArray
    solved: NDArray[np.bool_]
    reason: str

    @property
    def combined(self) -> FloatArray:
        """(N,) root mean square miss [m] when all mistakes are made at once, independently, with their stated sd."""
        return np.asarray(np.sqrt(np.sum(self.effect**2, axis=(0, 2))))


@dataclass(frozen=True, slots=True)
class MistakeEffect:
    """One mistake of stated ``amount`` [m, m/s or rad] toward left, up or a shorter draw.

    sideways, height [m] where it moves the hit (left, up positive); miss [m] how far; rigid_miss [m] the same for an
    arrow that does not bend; points lost by one arrow so shot on the face, None without a face
    """

    mistake: Mistake
    amount: float
    sideways: Range
    height: Range
    miss: Range
    rigid_miss: Range
    points: float | None


@dataclass(frozen=True, slots=True)
class OwnMistakes:
    """All stated mistakes of one build at the archer's distance, and their combined rms ``miss`` [m]."""

    line: Line
    effects: tuple[MistakeEffect, ...]
    miss: Range
    rigid_miss: Range
    points: float | None


def miss_draws(
    members: Members, setup: Setup, line: Line, *, as_built: StrokeResult | None = None, rigid: bool = False
) -> Misses:
    """How far each mistake moves the fletched hit on every plausible bow; ``as_built`` saves a stroke already run.

    Every mistake is added to what stands in that bow already; the hit without any mistake is subtracted.
    """
    normal = released(members, setup, Change(rigid=rigid)) if as_built is None else as_built
    short = released(members, setup, Change(creep=line.amounts.creep, rigid=rigid))
    at_rest = standing(members, setup)
    ways = [np.zeros((2, at_rest.shape[2])), *(disturbance(m, line.amounts, setup.bow) for m in Mistake)]
    release = release_states(normal, at_rest + np.stack(ways)[:, None])
    speed = np.tile(normal.speed, (len(ways), 1))
    creep = 1 + list(Mistake).index(Mistake.CREEP)
    release[creep], speed[creep] = release_states(short, at_rest), short.speed
    flown = fly_releases(members, setup, (release, speed), line.distance)
    effect = flown.hole[1:] - flown.hole[0]
    torque = list(Mistake).index(Mistake.TORQUE)
    effect[torque, :, 0] -= sight_shift(line.amounts.torque, setup.bow, line.distance, line.sight_ahead)
    solved = normal.solved & short.solved & flown.solved
    reasons = dict.fromkeys(r for r in (normal.reason, short.reason, flown.reason) if r)
    return Misses(effect, solved, "; ".join(reasons))


def own_mistakes(members: Members, setup: Setup, line: Line) -> OwnMistakes:
    """Effects of all mistakes over the plausible bows; SolveError when fewer than half of them can be computed."""
    bending = miss_draws(members, setup, line)
    stiff = miss_draws(members, setup, line, rigid=True)
    use = bending.solved & stiff.solved
    enough_solved(use, "the miss from the archer's own mistakes", bending.reason or stiff.reason)
    miss = Range.of(bending.combined[use])
    effects = []
    for k, mistake in enumerate(Mistake):
        moved = bending.effect[k, use]
        sideways, height = Range.of(moved[:, 0]), Range.of(moved[:, 1])
        effects.append(
            MistakeEffect(
                mistake,
                amount_of(mistake, line.amounts),
                sideways,
                height,
                Range.of(np.hypot(moved[:, 0], moved[:, 1])),
                Range.of(np.hypot(*stiff.effect[k, use].T)),
                _points_lost(line, setup, hypot(sideways.middle, height.middle)),
            )
        )
    return OwnMistakes(
        line, tuple(effects), miss, Range.of(stiff.combined[use]), _points_lost(line, setup, miss.middle)
    )


def _points_lost(line: Line, setup: Setup, miss: float) -> float | None:
    """Points one arrow loses when a centred group's middle moves off by ``miss`` [m]; None without a face."""
    if line.face is None:
        return None
    scatter, shaft = line.scatter * line.distance, setup.build.shaft.outer_diameter
    centred = expected_score(line.face, scatter, shaft_diameter=shaft)
    return centred - expected_score(line.face, scatter, (miss, 0.0), shaft_diameter=shaft)
