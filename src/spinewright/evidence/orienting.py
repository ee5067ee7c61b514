"""Nock series of a whole set: what turns with the nock on each shaft, and how far each nock is turned from here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import pi, remainder, sqrt, tau

import numpy as np

from spinewright.evidence.nock_series import BestAngle, NockFit, best_angle, fit_nock_series
from spinewright.evidence.values import NockSeries

__all__ = ["Aim", "Harmonic", "Shot", "Standing", "Verdict", "harmonic", "holm", "orient", "predicted"]

LEVEL = 0.05  # chance of naming a shaft that has nothing, over all shafts looked at together
_DRAWS = 2000


class Aim(StrEnum):
    """What the nocks are turned to."""

    CLEAN = "clean"
    STIFF = "stiff"


class Verdict(StrEnum):
    """What one shaft's series says."""

    STIFF_SIDE = "a stiff side"
    BENT = "turns once: bent shaft or nock, or contact"
    SOMETHING = "something turns, not clear what"
    NOTHING = "nothing beyond scatter"
    UNKNOWN = "cannot be told"


@dataclass(frozen=True, slots=True)
class Shot:
    """A series and how far the nock was turned on the shaft since [rad, clockwise positive, right-handed frame]."""

    series: NockSeries
    since: float = 0.0


@dataclass(frozen=True, slots=True)
class Harmonic:
    """How far a part that turns with the nock swings tail or hole at its widest, ``size``, and one sd of that [m]."""

    size: float
    doubt: float


@dataclass(frozen=True, slots=True)
class Standing:
    """One shaft.

    once, twice    [m]   the part that turns once and the one that turns twice; None where nothing could be fitted
    p_any                chance of a turning part this large on one of ALL the shafts when none has any; None as above
    turn           [rad] how far to turn the nock from where it stands now, (-pi, pi]; None = leave it, or not known
    turn_doubt     [rad] one sd of that
    other          [rad] another turn that is as good as nearly so; None where there is none
    size           [m]   predicted tail or miss there;  gain .. its shortening against now with its 80 % interval
    """

    shot: Shot
    fit: NockFit
    verdict: Verdict
    once: Harmonic | None = None
    twice: Harmonic | None = None
    p_any: float | None = None
    turn: float | None = None
    turn_doubt: float | None = None
    other: float | None = None
    size: float | None = None
    gain: tuple[float, float, float] | None = None

    @property
    def shaft(self) -> int:
        """The number on the shaft."""
        return self.shot.series.shaft


def orient(shots: Sequence[Shot], aim: Aim, noise: Sequence[float | None], seed: int = 5) -> list[Standing]:
    """What each of ``shots`` says, one a shaft, and how far its nock is turned.

    ``noise`` [m] one-axis sd of one reading, used only where a series is too short to show its own. As many shafts are
    looked at, so many chances there are to be fooled: the chances are corrected over the set (Holm 1979, Scandinavian
    Journal of Statistics 6:65). With ``Aim.STIFF`` the nock goes where the stiff side stands upright, of the two ways
    the one with the shorter predicted tail; with ``Aim.CLEAN`` where the predicted tail is
    shortest, if that angle is sure or the tail is shorter there in nine cases of ten.
    """
    fits = [_fit(shot.series, given) for shot, given in zip(shots, noise, strict=True)]
    seen = [fit for fit in fits if fit.noise is not None]
    any_, once, twice = (
        dict(zip(map(id, seen), holm([getattr(fit, name) for fit in seen]), strict=True))
        for name in ("p_any", "p_once", "p_twice")
    )
    found = []
    for shot, fit in zip(shots, fits, strict=True):
        if fit.noise is None:
            found.append(Standing(shot, fit, Verdict.UNKNOWN))
            continue
        chances = (any_[id(fit)], once[id(fit)], twice[id(fit)])
        found.append(_standing(shot, fit, aim, chances, np.random.default_rng([seed, shot.series.shaft])))
    return found


def harmonic(fit: NockFit, order: int) -> Harmonic:
    """The part of a fitted series that turns ``order`` (1 or 2) times as the nock turns once.

    The widest swing is the largest singular value of its two rows of coefficients; its sd to first order.
    """
    rows = slice(2 * order - 1, 2 * order + 1)
    around, widest, _ = np.linalg.svd(np.array(fit.coefficients)[rows])
    shape = np.array(fit.shape)[rows, rows]
    along = around[:, 0]
    return Harmonic(float(widest[0]), float((fit.noise or 0.0) * sqrt(along @ shape @ along)))


def predicted(fit: NockFit, angles: Sequence[float]) -> tuple[np.ndarray, np.ndarray]:
    """Tail or hole (n, 2) [m] the fit foretells at nock ``angles`` [rad] of its series, and one sd of each (n,)."""
    a = np.asarray(angles, dtype=float)
    rows = np.stack([np.ones_like(a), np.cos(a), np.sin(a), np.cos(2 * a), np.sin(2 * a)], axis=1)
    spread = np.einsum("ij,jk,ik->i", rows, np.array(fit.shape), rows)
    return rows @ np.array(fit.coefficients), (fit.noise or 0.0) * np.sqrt(spread)


def holm(chances: Sequence[float]) -> list[float]:
    """Chances (p-values) corrected for how many there are, by Holm's steps down; in the order given."""
    order = sorted(range(len(chances)), key=lambda k: chances[k])
    found, largest = [0.0] * len(chances), 0.0
    for rank, k in enumerate(order):
        largest = max(largest, min(1.0, (len(chances) - rank) * chances[k]))
        found[k] = largest
    return found


def _fit(series: NockSeries, noise: float | None) -> NockFit:
    """The series by its own scatter; by ``noise`` where it is too short to show its own."""
    fit = fit_nock_series(series)
    if fit.noise is None and noise is not None:
        return fit_nock_series(series, noise)
    return fit


def _standing(
    shot: Shot, fit: NockFit, aim: Aim, chances: tuple[float, float, float], rng: np.random.Generator
) -> Standing:
    p_any, p_once, p_twice = chances
    verdict = Verdict.NOTHING
    if p_any < LEVEL:
        if p_once < LEVEL and p_once < p_twice:
            verdict = Verdict.BENT
        elif p_twice < LEVEL:
            verdict = Verdict.STIFF_SIDE
        else:
            verdict = Verdict.SOMETHING
    once, twice = harmonic(fit, 1), harmonic(fit, 2)
    plain = Standing(shot, fit, verdict, once, twice, p_any)
    if verdict is Verdict.NOTHING:
        return plain
    if aim is Aim.STIFF:
        return _to_stiff_side(plain, rng)
    best = best_angle(fit, rng, shot.since, _DRAWS)
    # several angles may be as clean as one another: then none is the cleanest, yet the tail is surely shorter there
    sure = best is not None and (best.settled or best.gain_low > 0.0)
    return _to_clean(plain, best) if best is not None and sure else plain


def _to_clean(plain: Standing, best: BestAngle) -> Standing:
    since = plain.shot.since
    return Standing(
        plain.shot, plain.fit, plain.verdict, plain.once, plain.twice, plain.p_any,
        turn=_turn(best.angle - since), turn_doubt=best.doubt,
        other=None if best.rival is None else _turn(best.rival - since),
        size=best.size, gain=(best.gain, best.gain_low, best.gain_high),
    )  # fmt: skip


def _to_stiff_side(plain: Standing, rng: np.random.Generator) -> Standing:
    fit, since = plain.fit, plain.shot.since
    if plain.verdict is not Verdict.STIFF_SIDE or fit.stiff_vertical is None:
        return plain
    ways = [fit.stiff_vertical, fit.stiff_vertical + pi]
    tails, _ = predicted(fit, ways)
    best, other = np.argsort(np.hypot(tails[:, 0], tails[:, 1]))
    drawn = _drawn_sizes(fit, [since, ways[int(best)]], rng)
    low, middle, high = np.quantile(drawn[:, 0] - drawn[:, 1], (0.1, 0.5, 0.9))
    return Standing(
        plain.shot, fit, plain.verdict, plain.once, plain.twice, plain.p_any,
        turn=_turn(ways[int(best)] - since), turn_doubt=fit.stiff_vertical_doubt,
        other=_turn(ways[int(other)] - since), size=float(np.hypot(*tails[int(best)])),
        gain=(float(middle), float(low), float(high)),
    )  # fmt: skip


def _drawn_sizes(fit: NockFit, angles: Sequence[float], rng: np.random.Generator) -> np.ndarray:
    """(draws, n) lengths [m] of the tail at ``angles``, drawn from what the fit leaves open."""
    a = np.asarray(angles)
    rows = np.stack([np.ones_like(a), np.cos(a), np.sin(a), np.cos(2 * a), np.sin(2 * a)], axis=1)
    noise = np.full(_DRAWS, fit.noise or 0.0)
    if fit.degrees is not None:
        noise = noise * np.sqrt(fit.degrees / rng.chisquare(fit.degrees, _DRAWS))
    root = np.linalg.cholesky(np.array(fit.shape))
    shaken = root @ rng.standard_normal((_DRAWS, rows.shape[1], 2))
    drawn = np.array(fit.coefficients) + noise[:, None, None] * shaken
    return np.asarray(np.hypot(drawn[..., 0] @ rows.T, drawn[..., 1] @ rows.T))


def _turn(angle: float) -> float:
    """``angle`` within half a turn either way [rad]."""
    return float(remainder(angle, tau))
