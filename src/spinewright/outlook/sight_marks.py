"""Sight marks from shot marks, speed and the sight's measures: one weighted fit, with what each number is known to.

A scale reads r = c + s K tan e: e the arrow's angle over the line of sight (outlook/sight_line.py), K the peep-to-pin
distance in units of the scale, s = +1 where the numbers grow as the sight goes down. Unknown are c, ln K, ln speed,
ln drag and the height of the peep over the arrow; each but c has a measured or usual value with a doubt, and every
shot mark is one more equation. So two marks settle c and whichever of speed and sight is known least; more sharpen
drag as well. Gauss-Newton; the posterior is taken as normal about its maximum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache

import numpy as np

from spinewright.belief import GAP_DISTANCE, VISIT_SD
from spinewright.evidence import laws
from spinewright.outlook.sight_line import Aims, Departure, Passed, elevations, passing_line
from spinewright.outlook.values import FloatArray

__all__ = [
    "DRAG_SD",
    "SETTING",
    "Known",
    "MarkFit",
    "ShotMark",
    "SightPrior",
    "Unknown",
    "contradicting",
    "fit_marks",
    "runs",
    "without",
]

DRAG_SD = 0.13  # of ln drag: 12 % of the arrow, as in the prior of the belief, and 5 % of the air on the day
SETTING = 0.2e-3  # [m] one sd of setting and reading a sight's scale; from memory
_UNSAID = 1e6  # sd of what no one measured, in units of the scale
_STEPS = 20
_UNIT_UNKNOWN = 3.0  # sd of the ln of a scale that nobody measured
_DELTA = np.array([0.01, 0.05, 0.01])  # steps of ln speed, ln drag and the peep [m] for the derivatives
_SETTLED = 1e-3  # sds; Newton's next step would be the square of that
_FURTHEST = 0.5  # that a logarithm may go in one step, so that marks that make no sense cannot throw it out
_COARSE = 0.5  # step of the flights for derivatives: good to a thousandth of them
_ODD = 0.01  # chance that a fit without a fault has a mark that is called odd


class Unknown(IntEnum):
    """Columns of the fit."""

    ZERO = 0
    SCALE = 1
    SPEED = 2
    DRAG = 3
    PEEP = 4


@dataclass(frozen=True, slots=True)
class ShotMark:
    """A mark that was shot in: at ``distance`` [m] the scale read ``reading`` with ``arrows`` in the group.

    scatter [rad] one-axis sd of one arrow of the archer
    """

    distance: float
    reading: float
    arrows: int
    scatter: float


@dataclass(frozen=True, slots=True)
class SightPrior:
    """What is known without a mark, each with one sd.

    speed  [m/s], speed_sd [1] of its ln; peep [m] over the arrow at full draw, peep_sd [m]
    radius [m] peep to pin, radius_sd [1] of its ln
    unit   [m] that the sight moves for 1 on its scale; None = not known
    grows  +1 where the numbers grow as the sight goes down, else -1
    """

    speed: float
    speed_sd: float
    radius: float
    radius_sd: float
    peep: float
    peep_sd: float
    unit: float | None
    grows: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """Readings (K,) at some distances: ``reading`` on the scale and ``travel`` [m] of the pin below its place at e = 0.

    reading_sd  one sd
    since_first one sd [m] of the travel from the first of them, ``apart`` (K - 1,) from each to the next
    height_sd   [m] at the target, one sd, of shooting with that reading
    passed      angle, speed and time of each
    """

    distance: FloatArray
    reading: FloatArray
    reading_sd: FloatArray
    travel: FloatArray
    since_first: FloatArray
    apart: FloatArray
    height_sd: FloatArray
    passed: Passed


@dataclass(frozen=True, slots=True, eq=False)
class MarkFit:
    """The fit: ``at`` (5,) and ``covariance`` (5, 5) in the order of Unknown.

    odd     (M + 4,) how many sds each mark, then scale, speed, drag and peep, lies from what all the others say
    """

    leaves: Departure
    prior: SightPrior
    marks: tuple[ShotMark, ...]
    at: FloatArray
    covariance: FloatArray
    odd: FloatArray

    @property
    def speed(self) -> float:
        """Speed [m/s] as the arrow leaves."""
        return float(np.exp(self.at[Unknown.SPEED]))

    @property
    def drag(self) -> float:
        """True drag over the model's."""
        return float(np.exp(self.at[Unknown.DRAG]))

    def sd(self, of: Unknown) -> float:
        """One sd of an unknown, in its own coordinate."""
        return float(np.sqrt(self.covariance[of, of]))

    @property
    def settled(self) -> bool:
        """Whether readings on the scale can be foretold, and not only the travel of the pin."""
        apart = len({mark.distance for mark in self.marks})
        return apart > (0 if self.prior.unit is not None else 1)

    def passing(self, distance: FloatArray, slope: float = 0.0) -> Passed:
        """What passes distances (K,) [m] over a ``slope`` [rad] with the fitted numbers."""
        return passing_line(self.leaves, _aims(self.at, distance, np.full(len(distance), slope)))

    def elevation_rows(self, distance: FloatArray, slope: float = 0.0) -> tuple[Passed, FloatArray]:
        """What passes (K,) and the derivatives (K, 5) of the elevation by the unknowns."""
        return _with_slopes(self.leaves, self.at, distance, np.full(len(distance), slope))

    def marks_at(self, distance: FloatArray, slope: float = 0.0) -> Known:
        """Readings at ``distance`` (K,) [m], all with their doubts."""
        passed, rows = self.elevation_rows(distance, slope)
        tangent, turned = np.tan(passed.elevation), 1.0 / np.cos(passed.elevation) ** 2
        scale = float(np.exp(self.at[Unknown.SCALE])) * self.prior.grows
        reading = self.at[Unknown.ZERO] + scale * tangent
        rows = _reading_rows(rows, tangent, turned, scale)
        sd = np.sqrt(np.einsum("ki,ij,kj->k", rows, self.covariance, rows))
        radius, relative = self.radius, rows / scale
        by_length = np.sqrt(np.einsum("ki,ij,kj->k", relative, self._lengths(), relative))
        since, apart = (
            np.sqrt(np.einsum("ki,ij,kj->k", between, self._lengths(), between)) * radius
            for between in (relative - relative[0], np.diff(relative, axis=0))
        )
        height = distance * (sd / abs(scale) if self.settled else by_length)
        return Known(distance, reading, sd, radius * tangent, since, apart, height, passed)

    @property
    def radius(self) -> float:
        """Peep to pin [m]: from the fit where the scale's unit is known, else as it was measured or is usual."""
        unit = self.prior.unit
        return self.prior.radius if unit is None else float(np.exp(self.at[Unknown.SCALE])) * unit

    @property
    def radius_sd(self) -> float:
        """One sd of the ln of it."""
        return self.prior.radius_sd if self.prior.unit is None else self.sd(Unknown.SCALE)

    def _lengths(self) -> FloatArray:
        """The covariance for lengths on the sight: without a unit the scale has nothing to say of the radius."""
        if self.prior.unit is not None:
            return self.covariance
        found = self.covariance.copy()
        found[Unknown.SCALE, :] = found[:, Unknown.SCALE] = 0.0
        found[Unknown.SCALE, Unknown.SCALE] = self.prior.radius_sd**2
        return found


def _aims(at: FloatArray, distance: FloatArray, slope: FloatArray) -> Aims:
    one = np.ones(len(distance))
    speed, drag = np.exp(at[[Unknown.SPEED, Unknown.DRAG]])
    return Aims(distance, slope, speed * one, drag * one, at[Unknown.PEEP] * one)


def _with_slopes(
    leaves: Departure, at: FloatArray, distance: FloatArray, slope: FloatArray
) -> tuple[Passed, FloatArray]:
    """What passes, and the elevation's derivatives (K, 5) by central differences; zero by c and ln K."""
    passed = passing_line(leaves, _aims(at, distance, slope))
    rows = np.zeros((len(distance), len(Unknown)))
    for j, step in zip((Unknown.SPEED, Unknown.DRAG, Unknown.PEEP), _DELTA, strict=True):
        moved = np.zeros(len(Unknown))
        moved[j] = step
        ends = [
            elevations(leaves, _aims(at + sign * moved, distance, slope), passed.elevation, _COARSE)
            for sign in (1.0, -1.0)
        ]
        rows[:, j] = (ends[0] - ends[1]) / (2.0 * step)
    return passed, rows


def _reading_rows(rows: FloatArray, tangent: FloatArray, turned: FloatArray, scale: float) -> FloatArray:
    """Derivatives (K, 5) of the reading from those of the elevation."""
    found = scale * turned[:, None] * rows
    found[:, Unknown.ZERO] = 1.0
    found[:, Unknown.SCALE] = scale * tangent
    return found


@lru_cache(maxsize=64)
def fit_marks(leaves: Departure, prior: SightPrior, marks: tuple[ShotMark, ...]) -> MarkFit:
    """The fit to ``marks`` (none is allowed: then what is known beforehand stands). Raises SolveError."""
    distance = np.array([mark.distance for mark in marks])
    readings = np.array([mark.reading for mark in marks])
    centre, sds = _beforehand(leaves, prior, marks)
    at = centre.copy()
    whole = np.zeros((0, len(Unknown)))
    off = np.zeros(0)
    for _ in range(_STEPS):
        scale = float(np.exp(at[Unknown.SCALE])) * prior.grows
        if marks:
            passed, rows = _with_slopes(leaves, at, distance, np.zeros(len(marks)))
            tangent = np.tan(passed.elevation)
            doubt = _doubts(marks, prior, abs(scale))
            rows = _reading_rows(rows, tangent, 1.0 / np.cos(passed.elevation) ** 2, scale)
            whole = rows / doubt[:, None]
            off = (readings - at[Unknown.ZERO] - scale * tangent) / doubt
        stacked = np.vstack([whole, np.diag(1.0 / sds)])
        errors = np.concatenate([off, (centre - at) / sds])
        step = np.linalg.lstsq(stacked, errors, rcond=None)[0]
        step[1:] = np.clip(step[1:], -_FURTHEST, _FURTHEST)
        at = at + step
        if np.abs(stacked @ step).max() < _SETTLED:
            break
    covariance = np.linalg.inv(stacked.T @ stacked)
    return MarkFit(leaves, prior, marks, at, covariance, _oddness(stacked, errors, covariance))


def _beforehand(leaves: Departure, prior: SightPrior, marks: Sequence[ShotMark]) -> tuple[FloatArray, FloatArray]:
    """Centre and sd of each unknown before any mark; a scale of unknown unit starts where two marks put it."""
    scale, scale_sd = prior.radius / (prior.unit or 1e-3), prior.radius_sd
    zero = 0.0
    if marks:
        low, high = _ends(leaves, prior, marks)
        if prior.unit is None:
            scale_sd = _UNIT_UNKNOWN
            if high[0] > low[0] and high[1].reading != low[1].reading:
                scale = abs((high[1].reading - low[1].reading) / (high[0] - low[0]))
        zero = low[1].reading - scale * prior.grows * low[0]
    centre = np.array([zero, np.log(scale), np.log(prior.speed), 0.0, prior.peep])
    return centre, np.array([_UNSAID * max(scale, 1.0), scale_sd, prior.speed_sd, DRAG_SD, prior.peep_sd])


def runs(leaves: Departure, prior: SightPrior, marks: Sequence[ShotMark]) -> int:
    """+1 where the numbers grow as the sight goes down, -1 where they fall, 0 where the marks do not tell."""
    low, high = _ends(leaves, prior, marks)
    return int(np.sign((high[1].reading - low[1].reading) * (high[0] - low[0])))


def _ends(
    leaves: Departure, prior: SightPrior, marks: Sequence[ShotMark]
) -> tuple[tuple[float, ShotMark], tuple[float, ShotMark]]:
    """The marks at which the arrow points lowest and highest, each with the tangent of its angle by ``prior``."""
    distance = np.array([mark.distance for mark in marks])
    start = np.array([0.0, 0.0, np.log(prior.speed), 0.0, prior.peep])
    tangent = np.tan(elevations(leaves, _aims(start, distance, np.zeros(len(marks)))))
    k, n = int(tangent.argmin()), int(tangent.argmax())
    return (float(tangent[k]), marks[k]), (float(tangent[n]), marks[n])


def _doubts(marks: Sequence[ShotMark], prior: SightPrior, scale: float) -> FloatArray:
    """One sd (M,) of each reading in units of the scale: the middle of so many arrows, the day, setting the sight."""
    day = VISIT_SD / GAP_DISTANCE
    chance = np.array([np.hypot(mark.scatter / np.sqrt(mark.arrows), day) for mark in marks]) * scale
    setting = SETTING / prior.unit if prior.unit is not None else SETTING / prior.radius * scale
    return np.asarray(np.hypot(chance, setting))


def _oddness(stacked: FloatArray, errors: FloatArray, covariance: FloatArray) -> FloatArray:
    """Each equation's distance from what all the others say, in sds of that difference (deleted residual).

    With whitened rows the variance of a residual is 1 - h, h the leverage; an equation that alone settles something
    (h = 1) cannot be odd. The zero of the scale is no equation and left out.
    """
    leverage = np.einsum("ki,ij,kj->k", stacked, covariance, stacked)
    free = np.maximum(1.0 - leverage, 0.0)
    found = np.where(free > 1e-6, errors / np.sqrt(np.maximum(free, 1e-6)), 0.0)
    return np.asarray(np.delete(found, len(stacked) - len(Unknown)))


def _fits(fit: MarkFit) -> bool:
    count = len(fit.odd)
    return bool(np.abs(fit.odd).max() < laws.normal_quantile(1.0 - 0.5 * _ODD / count))


def contradicting(fit: MarkFit) -> tuple[int, ...]:
    """Which marks may be wrong: those without which all the rest agrees; () when all of it does.

    With exactly one, that one is odd; with several nobody can tell which. (-1,) when no single mark mends it.
    """
    if not fit.marks or _fits(fit):
        return ()
    count = len(fit.marks)
    mended = tuple(k for k in range(count) if count > 1 and _fits(without(fit, k)))
    return mended or (-1,)


def without(fit: MarkFit, number: int) -> MarkFit:
    """The fit without one of its marks."""
    return fit_marks(fit.leaves, fit.prior, fit.marks[:number] + fit.marks[number + 1 :])
