"""A series of nock rotations: the part of the tail or hole that turns with the nock, and the cleanest angle."""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, pi, radians, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spinewright.errors import EvidenceError, Place
from spinewright.evidence import laws
from spinewright.evidence.noise import tear_noise
from spinewright.evidence.values import NockSeries

__all__ = ["BestAngle", "NockFit", "best_angle", "fit_nock_series"]

LEVEL = 0.05
STEP = radians(20.0)  # one step of the nock (common practice)
TERMS = 5  # mean, cos, sin, cos 2, sin 2
WORST_CONDITION = 30.0  # of the design; half a turn in 20 degree steps has 26, less than that tells nothing apart
SHARE = 0.8
NO_SCATTER = 1e-6  # [m] holes written down on one another are not known better than this
_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class NockFit:
    """Least squares of ``mean + first harmonic + second harmonic`` of the nock's angle, each axis.

    paper         tails of tears (else holes)
    angles [rad]  the angles tried, 0 <= angle < 2 pi, each once
    coefficients  [m] one (y, z) for each of 1, cos a, sin a, cos 2a, sin 2a; empty when not possible
    shape         covariance of the coefficients of one axis in units of ``noise`` squared; empty when not possible
    noise  [m]    one-axis sd of one reading, ``degrees`` its degrees of freedom, ``None`` when it was given
    p_any         chance of a turning part this large when nothing turns with the nock
    p_once        the same for the part that turns once (a bent shaft turns so)
    p_twice       the same for the part that turns twice (a stiff side turns so)
    stiff_vertical, stiff_vertical_doubt [rad]  nock angle, modulo pi, that puts the stiff side vertical, and its sd;
                  ``None`` when the part that turns twice is within noise
    why_not       one sentence when the series cannot be fitted, else empty
    """

    paper: bool
    angles: tuple[float, ...]
    coefficients: tuple[tuple[float, float], ...] = ()
    shape: tuple[tuple[float, ...], ...] = ()
    noise: float | None = None
    degrees: int | None = None
    p_any: float | None = None
    p_once: float | None = None
    p_twice: float | None = None
    stiff_vertical: float | None = None
    stiff_vertical_doubt: float | None = None
    why_not: str = ""

    @property
    def turns(self) -> bool:
        """Whether anything turns with the nock beyond noise."""
        return self.p_any is not None and self.p_any < LEVEL

    @property
    def sentence(self) -> str:
        """What the series says about the shaft, before any angle is named."""
        if self.why_not:
            return self.why_not
        if not self.turns:
            return "What changed from angle to angle is no more than shots scatter: leave the nock where it is."
        if self.p_once is not None and self.p_twice is not None and self.p_once < LEVEL and self.p_once < self.p_twice:
            return "The tail turns once as the nock turns once: look for a bent shaft or nock, or contact at one angle."
        if self.stiff_vertical is not None:
            return (
                "The tail turns twice as the nock turns once, as a stiff side does; which of the two directions is the "
                "stiff one is a rule of the trade, and a bent shaft or a rest fault can fake it."
            )
        return "Something turns with the nock, but not clearly as a stiff side or a bent shaft does; repeat the series."


@dataclass(frozen=True, slots=True)
class BestAngle:
    """The cleanest angle [rad, 0 <= angle < 2 pi], how sure it is, and what it is worth against ``now``.

    doubt    [rad] sd of the angle among the draws nearest to it
    rival    [rad] another angle with one chance in ten or more, as when only a stiff side turns, else ``None``
    share          chance that the truly cleanest angle is within one 20 degree step of it or of its rival
    size     [m]   predicted tail or miss there
    gain     [m]   predicted shortening against ``now``; ``gain_low`` .. ``gain_high`` its 80 % interval
    settled        something turns with the nock, and ``share`` is 80 % or more
    """

    angle: float
    doubt: float
    rival: float | None
    share: float
    size: float
    gain: float
    gain_low: float
    gain_high: float
    settled: bool


def fit_nock_series(series: NockSeries, noise: float | None = None) -> NockFit:
    """Fit the series; ``noise`` [m] is the one-axis sd of one reading, e.g. the archer's scatter at the target.

    Holes are taken from the fletched group where it was shot, else from the aiming spot. Without ``noise`` the
    residuals give it, and on paper it is never taken below what reading a tear allows. The tests are chi-square (noise
    given) or F (noise from residuals), both axes together. Sideways, a stiffer shaft tears its tail
    further right and sends a bare hole further left (common practice); so the stiff side is vertical where the part
    that turns twice has its tail furthest left, its hole furthest right.

    Raises:
        EvidenceError: when ``noise`` is not positive.
    """
    if noise is not None and not 0 < noise < np.inf:
        raise EvidenceError(f"noise cannot be {noise:.6g}", "a number above zero would do", Place(field="noise"))
    angles = np.array([r.angle for r in series.readings]) % (2 * pi)
    tried = tuple(sorted({round(degrees(a)) % 360 for a in angles}))
    fit = NockFit(paper=series.paper, angles=tuple(radians(a) for a in tried))
    design = _design(angles)
    if len(tried) < TERMS or np.linalg.cond(design) > WORST_CONDITION:
        return _refused(fit, _too_few(len(tried)))
    seen = np.array([(r.y, r.z) for r in series.readings]) - np.array(series.fletched or (0.0, 0.0))
    left = _residual(design, seen)
    noise, dof = _noise(series, left) if noise is None else (noise, None)
    if noise is None:
        return _refused(fit, "Too few shots to know the scatter from the series; give the archer's own, or shoot more.")
    shape: _Floats = np.asarray(np.linalg.inv(design.T @ design), dtype=np.float64)
    coefficients: _Floats = np.asarray(shape @ design.T @ seen, dtype=np.float64)
    p_any, p_once, p_twice = (
        _chance((_residual(np.delete(design, out, axis=1), seen) - left) / noise**2, 2 * len(out), dof)
        for out in ([1, 2, 3, 4], [1, 2], [3, 4])
    )
    stiff, stiff_doubt = _stiff_side(coefficients, shape, noise, series.paper) if p_twice < LEVEL else (None, None)
    return NockFit(
        paper=fit.paper,
        angles=fit.angles,
        coefficients=tuple((float(y), float(z)) for y, z in coefficients),
        shape=tuple(tuple(float(v) for v in row) for row in shape),
        noise=float(noise),
        degrees=dof,
        p_any=p_any,
        p_once=p_once,
        p_twice=p_twice,
        stiff_vertical=stiff,
        stiff_vertical_doubt=stiff_doubt,
    )


def best_angle(fit: NockFit, rng: np.random.Generator, now: float = 0.0, draws: int = 2000) -> BestAngle | None:
    """The nock angle with the smallest predicted tail (paper) or miss (target) within one step of those tried.

    Smallest is the expected square, so a poorly known stretch is not taken for a clean one. Doubt from ``draws``
    Gaussian draws of the coefficients (Student's t when the noise was estimated). ``now`` [rad] is where the nock
    stands. ``None`` when the series could not be fitted.
    """
    if fit.noise is None:
        return None
    grid = np.radians(np.arange(360.0))
    near = np.abs(_apart(grid[:, None], np.array(fit.angles)[None, :])).min(axis=1) <= STEP + 1e-9
    grid = grid[near]
    design, mean, shape = _design(grid), np.array(fit.coefficients), np.array(fit.shape)
    spread = fit.noise**2 * np.einsum("ij,jk,ik->i", design, shape, design)
    at_mean = design @ mean
    best = float(grid[int(((at_mean**2).sum(axis=1) + 2 * spread).argmin())])
    tails = _draw(fit, rng, draws)
    sizes = _lengths(design, tails)
    cleanest = grid[sizes.argmin(axis=1)]
    off = _apart(cleanest, np.float64(best))
    mine = np.abs(off) <= radians(45.0)
    gains = (_lengths(_design(np.array([now])), tails) - _lengths(_design(np.array([best])), tails))[:, 0]
    low, high = np.quantile(gains, [(1 - SHARE) / 2, (1 + SHARE) / 2])
    rival = _rival(cleanest[np.abs(off) > 2 * STEP], draws)
    held = np.abs(off) <= STEP
    if rival is not None:
        held |= np.abs(_apart(cleanest, np.float64(rival))) <= STEP
    share = float(held.mean())
    return BestAngle(
        angle=best,
        doubt=float(sqrt(np.mean(off[mine] ** 2))) if mine.any() else pi,
        rival=rival,
        share=share,
        size=float(np.hypot(*(_design(np.array([best])) @ mean)[0])),
        gain=float(np.median(gains)),
        gain_low=float(low),
        gain_high=float(high),
        settled=fit.turns and share >= SHARE,
    )


def _design(angles: _Floats) -> _Floats:
    """Rows 1, cos a, sin a, cos 2a, sin 2a, shape (n, 5)."""
    columns = (np.ones_like(angles), np.cos(angles), np.sin(angles), np.cos(2 * angles), np.sin(2 * angles))
    return np.stack(columns, axis=1)


def _residual(design: _Floats, seen: _Floats) -> float:
    """Residual sum of squares of both axes [m2]."""
    solution: Any = np.linalg.lstsq(design, seen, rcond=None)[0]
    return float(((seen - design @ solution) ** 2).sum())


def _chance(square: float, terms: int, dof: int | None) -> float:
    """Chance of a gain of ``square`` noise variances from ``terms`` coefficients that are all nothing."""
    square = max(square, 0.0)
    return laws.chi2_tail(square, terms) if dof is None else laws.f_tail(square / terms, terms, dof)


def _too_few(tried: int) -> str:
    if tried < TERMS:
        return (
            f"{tried} different nock angles cannot show what turns with the nock: "
            "turn it in 20 degree steps through at least half a turn, better a whole one."
        )
    return "The nock angles lie too close together: spread them over at least half a turn, better a whole one."


def _noise(series: NockSeries, left: float) -> tuple[float | None, int | None]:
    """Noise [m] and its degrees of freedom from the residuals ``left``; ``None`` where they cannot carry one.

    Fewer than two readings over the five coefficients cannot; on paper, what reading a tear allows then stands in.
    """
    dof = 2 * (len(series.readings) - TERMS)
    floor = tear_noise() if series.paper else NO_SCATTER
    if dof < 4:
        return (floor, None) if series.paper else (None, None)
    return max(sqrt(left / dof), floor), dof


def _refused(fit: NockFit, why_not: str) -> NockFit:
    return NockFit(paper=fit.paper, angles=fit.angles, why_not=why_not)


def _stiff_side(coefficients: _Floats, shape: _Floats, noise: float, paper: bool) -> tuple[float, float]:
    """Nock angle modulo pi where the sideways double turn is furthest left (tail) or right (hole), and its sd [rad]."""
    cos2, sin2 = (float(v) * (1.0 if paper else -1.0) for v in coefficients[3:, 0])
    size2 = max(cos2**2 + sin2**2, 1e-18)
    slope = np.array([-sin2, cos2]) / size2 / 2  # of the angle in the two coefficients
    doubt = noise * sqrt(float(slope @ shape[3:, 3:] @ slope))
    return float(np.arctan2(sin2, cos2) / 2 % pi), min(doubt, pi / sqrt(12))  # no worse than not knowing at all


def _draw(fit: NockFit, rng: np.random.Generator, draws: int) -> _Floats:
    """Coefficients drawn from what the fit leaves open, shape (draws, 5, 2)."""
    noise = np.full(draws, fit.noise)
    if fit.degrees is not None:
        noise = noise * np.sqrt(fit.degrees / rng.chisquare(fit.degrees, draws))
    root = np.linalg.cholesky(np.array(fit.shape))
    shaken = root @ rng.standard_normal((draws, TERMS, 2))
    drawn: _Floats = np.array(fit.coefficients) + noise[:, None, None] * shaken
    return drawn


def _lengths(design: _Floats, tails: _Floats) -> _Floats:
    """Length of the predicted tail, shape (draws, angles)."""
    lengths: _Floats = np.hypot(tails[..., 0] @ design.T, tails[..., 1] @ design.T)
    return lengths


def _apart(angle: _Floats, other: _Floats | np.float64) -> _Floats:
    """Signed difference of two angles, in [-pi, pi)."""
    difference: _Floats = (angle - other + pi) % (2 * pi) - pi
    return difference


def _rival(elsewhere: _Floats, draws: int) -> float | None:
    """The angle most of the draws far from the best gather around, when they are a tenth of all or more."""
    if len(elsewhere) == 0:
        return None
    near = np.abs(_apart(elsewhere[:, None], np.radians(np.arange(0.0, 360.0, 5.0))[None, :])) <= STEP
    counts = near.sum(axis=0)
    return float(radians(5.0 * int(counts.argmax()))) if counts.max() >= 0.1 * draws else None
