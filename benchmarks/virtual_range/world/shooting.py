"""One walk to the target: scatter that drifts, shafts that differ, plucked shots, misread holes, leaning nocks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks.virtual_range.world.truth import Faults, Shooter, Truth
from spinewright.evidence import Impact, TargetKind
from spinewright.units import INCH

__all__ = ["DISTANCE", "Condition", "Group", "shoot"]

FloatArray = NDArray[np.float64]

DISTANCE = 20 * 0.9144  # m; what is stated at 20 yd is stated here
MOST = 24  # arrows of each kind in one walk
_SET = 6  # fletched arrows in the quiver
_READING = 0.003  # m
_REACH = 2.5  # m; farther out nobody measures
_LEAN_SD = {
    TargetKind.FRESH_FOAM: np.deg2rad(0.9),
    TargetKind.LAYERED: np.deg2rad(1.4),
    TargetKind.WORN_FOAM: np.deg2rad(4.0),
}


@dataclass(frozen=True, slots=True)
class Condition:
    """What of the world's faults still stands: something touches the arrow; the bow is out of order."""

    touching: bool
    amiss: bool


@dataclass(frozen=True, slots=True)
class Group:
    """What is shot in one walk: bare arrows, the bare shafts in use, which walk of the hunt, distance [m], fletched
    arrows (None = as many), and how many bare and fletched ones flew before: shafts are taken in turn."""

    shots: int
    bare_shafts: tuple[int, ...]
    walk: int
    distance: float = DISTANCE
    fletched: int | None = None
    flown: tuple[int, int] = (0, 0)


def shoot(truth: Truth, group: Group, centre: FloatArray, gap: FloatArray, lean: FloatArray) -> tuple[Impact, ...]:
    """Impacts in the lab frame: fletched about ``centre`` (2,) [m], bare at ``gap`` from it, nocks leaning ``lean``.

    The chance of a walk depends on the world and on which walk it is, so both players are dealt the same.
    """
    rng = np.random.default_rng([truth.seed, 72, group.walk])
    chance = _Chance.draw(rng, truth.shooter)
    side = np.array([float(truth.sign), 1.0])
    far = side * group.distance / DISTANCE  # everything but the reading of the hole grows with the distance
    own = _own_offsets(truth) * far
    impacts = []
    fletched = group.shots if group.fletched is None else group.fletched
    for k in range(min(max(group.shots, fletched), MOST)):
        for bare in (False, True):
            if k >= (group.shots if bare else fletched):
                continue
            shaft = _taken(group, k, bare)
            n = 2 * k + int(bare)
            hole = centre + own[shaft] + far * chance.off(n, bare, truth.shooter)
            if bare:
                hole = hole + gap + far * chance.walk
            plucked = bool(chance.luck[n, 0] < truth.faults.plucked)
            if plucked:  # a plucked shot flies left and low of a right-hander's aim
                hole = hole + far * np.array([2.8, -1.5]) * truth.shooter.scatter * (0.7 + 0.6 * chance.luck[n, 1])
            hole = hole + side * _READING * chance.reading[n] + side * _misreading(chance.luck[n], truth.faults)
            hole = np.clip(hole, -_REACH, _REACH)
            leans = _lean(truth, lean, chance.lean[n] * side) if bare else (None, None)
            called = plucked and bool(chance.luck[n, 2] < truth.faults.called)
            impacts.append(Impact(shaft, bare, float(hole[0]), float(hole[1]), called, *leans))
    return tuple(impacts)


def _taken(group: Group, k: int, bare: bool) -> int:
    """The number of the ``k``-th shaft of its kind."""
    if bare:
        return group.bare_shafts[(group.flown[0] + k) % len(group.bare_shafts)]
    return 1 + (group.flown[1] + k) % _SET


@dataclass(frozen=True, slots=True)
class _Chance:
    """Everything random of a walk, arrows in the order shot (fletched and bare in turn)."""

    scatter: FloatArray
    drift: FloatArray
    walk: FloatArray
    reading: FloatArray
    lean: FloatArray
    luck: FloatArray

    @classmethod
    def draw(cls, rng: np.random.Generator, shooter: Shooter) -> _Chance:
        n = 2 * MOST
        walk = shooter.walks * rng.standard_normal(2)
        fresh = rng.standard_normal((n, 2))
        drift = np.zeros((n, 2))
        drift[0] = fresh[0]
        for k in range(1, n):
            drift[k] = shooter.memory * drift[k - 1] + np.sqrt(1 - shooter.memory**2) * fresh[k]
        scatter, reading, lean = rng.standard_normal((3, n, 2))
        return cls(scatter, drift, walk, reading, lean, rng.random((n, 6)))

    def off(self, n: int, bare: bool, shooter: Shooter) -> FloatArray:
        """How far arrow ``n`` lands from where it should [m]; drift and fresh chance together have the stated sd."""
        fresh = np.sqrt(1 - shooter.drift**2) * self.scatter[n] * (shooter.bare if bare else 1.0)
        return np.asarray(shooter.scatter * (fresh + shooter.drift * self.drift[n]))


def _own_offsets(truth: Truth) -> FloatArray:
    """(40, 2) what stays with each numbered shaft [m]; one in twenty-five is four times as far off."""
    rng = np.random.default_rng([truth.seed, 73])
    own = truth.shooter.shafts * rng.standard_normal((40, 2))
    return np.asarray(own * np.where(rng.random(40) < 0.04, 4.0, 1.0)[:, None])


def _misreading(luck: FloatArray, faults: Faults) -> FloatArray:
    """Now and then an inch is misread on the tape."""
    if luck[3] >= faults.misread:
        return np.zeros(2)
    inch = INCH if luck[4] < 0.5 else -INCH
    return np.array([inch, 0.0]) if luck[5] < 0.5 else np.array([0.0, inch])


def _lean(truth: Truth, lean: FloatArray, chance: FloatArray) -> tuple[float | None, float | None]:
    sd = _LEAN_SD.get(truth.target)
    if sd is None:
        return None, None
    seen = np.clip(lean + truth.faults.target_turn + sd * chance, -0.7, 0.7)
    written = -seen[0] if truth.faults.lean_swapped else seen[0]
    return float(written), float(seen[1])
