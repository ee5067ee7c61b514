"""Static spine read four times round each shaft: its mean, its stiff side, and what of that is more than the tester."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, hypot, isfinite, pi, sqrt

from spinewright.errors import EvidenceError, Place
from spinewright.evidence import laws
from spinewright.evidence.orienting import LEVEL, holm
from spinewright.units import INCH

__all__ = ["RoundRead", "read_round"]

_DIGIT = 1e-3 * INCH / sqrt(12.0)  # m: readings that agree to a thousandth of an inch are known no better than that


@dataclass(frozen=True, slots=True)
class RoundRead:
    """One shaft, read at four angles.

    spine        [m]   mean of the four
    spine_doubt  [m]   one sd of it from the tester alone
    size         [1]   half of (softest - stiffest) over the mean, at least 0
    size_doubt   [1]   one sd of it
    power        [1]   its square with the tester's own share taken off, averaged over where the stiff side may lie
    stiff_at     [rad] where the stiff side lies, from the first reading on in the way the shaft was turned, [0, pi);
                       its other end lies half round
    at_doubt     [rad] one sd of that; None where the angle is only known to the nearer of two readings
    chance       [1]   of a difference this large on one of ALL the shafts when none has a stiff side
    shown              whether it is beyond chance
    """

    shaft: int
    spine: float
    spine_doubt: float
    size: float
    size_doubt: float
    power: float
    stiff_at: float
    at_doubt: float | None
    chance: float
    shown: bool


def read_round(shafts: Sequence[int], readings: Sequence[Sequence[float]], *, halves: bool) -> list[RoundRead]:
    """What four ``readings`` [m] of each of ``shafts`` say, an equal turn between one reading and the next.

    A tube bends alike in a direction and its opposite, so deflection goes as mean + c cos 2a + s sin 2a. With
    ``halves`` the readings stand 45 degrees apart: c and s are both found, and what is left over shows how well the
    tester repeats. Else they stand 90 degrees apart: opposite readings are repeats of one another (a bent shaft makes
    them differ too, which errs on the careful side), and of the stiff side only the part along the readings is seen:
    a stiff side halfway between them is not. The tester's scatter is pooled over all shafts. F tests, corrected for
    the number of shafts by Holm's steps. Raises EvidenceError.
    """
    for number, four in zip(shafts, readings, strict=True):
        if len(four) != 4 or not all(isfinite(one) and one > 0.0 for one in four):
            raise EvidenceError(
                f"shaft {number} is not read four times", "read each shaft at four angles", Place(field="spine")
            )
    if not shafts:
        return []
    parts = [_parts(four, halves) for four in readings]
    degrees = len(parts) * (1 if halves else 2)
    noise = sqrt(sum(one.left for one in parts) / degrees)
    noise = max(noise, _DIGIT)
    chances = holm([_chance(one, noise, degrees, halves) for one in parts])
    return [_read(n, one, noise, halves, p) for n, one, p in zip(shafts, parts, chances, strict=True)]


@dataclass(frozen=True, slots=True)
class _Parts:
    """Of one shaft's readings [m]: mean, the two parts that turn twice, and the squares left over (sum, [m2])."""

    mean: float
    c: float
    s: float
    left: float


def _parts(four: Sequence[float], halves: bool) -> _Parts:
    a, b, c, d = four
    mean = (a + b + c + d) / 4.0
    if halves:
        return _Parts(mean, (a - c) / 2.0, (b - d) / 2.0, (a - b + c - d) ** 2 / 4.0)
    return _Parts(mean, (a - b + c - d) / 4.0, 0.0, ((a - c) ** 2 + (b - d) ** 2) / 2.0)


def _chance(one: _Parts, noise: float, degrees: int, halves: bool) -> float:
    """Of parts this large by the tester alone: c and s have a variance of noise^2 / 2, c alone of noise^2 / 4."""
    if halves:
        return laws.f_tail((one.c**2 + one.s**2) / noise**2, 2, degrees)
    return laws.f_tail(4.0 * one.c**2 / noise**2, 1, degrees)


def _read(shaft: int, one: _Parts, noise: float, halves: bool, chance: float) -> RoundRead:
    size = hypot(one.c, one.s)
    doubt = noise / (sqrt(2.0) if halves else 2.0)
    # With 90 degrees between readings only one of the two parts is seen; the other is as large on the mean.
    power = max(size**2 - (2.0 * doubt**2 if halves else doubt**2), 0.0) * (1.0 if halves else 2.0)
    stiff = ((atan2(one.s, one.c) + pi) / 2.0) % pi
    at_doubt = min(doubt / (2.0 * size), pi / 4.0) if halves and size > 0.0 else None
    return RoundRead(
        shaft=shaft,
        spine=one.mean,
        spine_doubt=noise / 2.0,
        size=size / one.mean,
        size_doubt=doubt / one.mean,
        power=power / one.mean**2,
        stiff_at=stiff,
        at_doubt=at_doubt,
        chance=chance,
        shown=chance < LEVEL,
    )
