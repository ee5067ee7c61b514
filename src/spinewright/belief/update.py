"""The update: exact linear algebra inside every particle, tempered sequential Monte Carlo over the particles.

Given slopes, ratios and scatter the rest of the problem is linear and Gaussian, so it is solved exactly (the
information form below). Only the numbers of a particle are sampled: from the prior to the posterior in tempered steps,
each followed by Metropolis moves, so that a sharp likelihood does not leave a handful of particles (Del Moral,
Doucet and Jasra 2006, "Sequential Monte Carlo samplers").
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.combining import Combined, combine
from spinewright.belief.design import Kernel, Rows, filled, prior_arrays
from spinewright.belief.evidence_rows import Noise, Scatter, scatter_log_likelihood
from spinewright.belief.response import LATENTS, ResponsePrior, Theta
from spinewright.belief.row_kernel import PriorArrays, log_evidence
from spinewright.evidence.laws import chi2_tail

__all__ = ["Health", "Known", "Particles", "update"]

FloatArray = NDArray[np.float64]

# With fewer moves the same history told of chances that differed by 0.07 from one seed to the next (0.025 is chance
# among 400 draws), and a hunt that stops at the first good one stops too early.
_KEPT = 0.6  # every tempered step keeps this share of the particles effective
_MOVES = 8  # Metropolis moves after each tempered step
_MOST_STEPS = 40
_MORE = 6  # prior draws for every particle kept: the signs of slopes are discrete, and few draws would count them badly


@dataclass(frozen=True, slots=True)
class Known:
    """What the belief conditions on: rows with values and noise, and the groups' spreads.

    rows (J) with value (J,) and noises (J); in plane pairs as rows_for lays them out.
    """

    rows: Rows
    value: FloatArray
    noises: tuple[Noise, ...]
    groups: tuple[Scatter, ...]


@dataclass(frozen=True, slots=True)
class Health:
    """How the sampling went.

    smallest_share  least share of particles that stayed effective in a tempered step
    accepted        share of Metropolis moves taken
    distinct        share of distinct particles at the end
    steps           tempered steps
    surprise        probability of evidence at least this far off under the posterior (1 = no surprise)
    """

    smallest_share: float
    accepted: float
    distinct: float
    steps: int
    surprise: float

    @property
    def collapsed(self) -> bool:
        """Whether the sampling failed to carry enough different particles to be trusted."""
        return self.distinct < 0.3 or self.steps >= _MOST_STEPS

    @property
    def conflicting(self) -> bool:
        """Whether the evidence disagrees with everything the model holds possible."""
        return self.surprise < 0.002


@dataclass(frozen=True, slots=True)
class Particles:
    """Equally weighted draws from the posterior: theta (S, 14), linear latents u (S, m + 17 + 2 n)."""

    theta: FloatArray
    latents: FloatArray
    health: Health


@dataclass(frozen=True, slots=True)
class _Solved:
    """Information form of one batch: latents ``reached`` by the rows, C^-1 right, and C with C C^T the information."""

    reached: NDArray[np.intp]
    half: FloatArray
    cholesky: FloatArray


def update(kernel: Kernel, known: Known, prior: ResponsePrior, particles: int, rng: np.random.Generator) -> Particles:
    """Draws of the posterior of particles and latents given what is ``known``."""
    if not len(known.rows) and not known.groups:
        theta = prior.draw(particles, rng)
        latents = rng.standard_normal((particles, kernel.weight.shape[0] + LATENTS + 2 * known.rows.shafts.shape[1]))
        return Particles(theta, latents, Health(1.0, 1.0, 1.0, 0, 1.0))

    of_prior = prior_arrays(prior)
    seen = combine(kernel, known.rows, known.value, known.noises, of_prior)
    log_likelihood = _evidence(seen, known.groups, of_prior)
    theta, health = _anneal(prior.draw(_MORE * particles, rng), particles, log_likelihood, prior, rng)
    offset, matrix = filled(seen.rows, theta, of_prior)
    residual, variance = seen.value - offset, seen.variance(theta)
    latents = _draw_latents(_solve(residual, matrix, variance), rng.standard_normal(matrix.shape[::2]))
    left = np.sum((residual - np.einsum("kji,ki->kj", matrix, latents)) ** 2 / variance, axis=1)
    surprise = _surprise(left + seen.alone_squares(theta), seen.seen)
    return Particles(
        theta, latents, Health(health.smallest_share, health.accepted, health.distinct, health.steps, surprise)
    )


def _evidence(seen: Combined, groups: Sequence[Scatter], prior: PriorArrays) -> Callable[[FloatArray], FloatArray]:
    """The log likelihood (K,), up to a constant, of particles (K, 14), every latent integrated out."""
    pooled = _pooled(groups)

    def log_likelihood(theta: FloatArray) -> FloatArray:
        found = np.zeros(len(theta))
        if seen.seen:
            log_evidence(seen.rows, np.ascontiguousarray(theta), prior, (seen.value, seen.noise), found)
            found += seen.alone_log_likelihood(theta)
        return found + scatter_log_likelihood(pooled, theta)

    return log_likelihood


def _pooled(groups: Sequence[Scatter]) -> list[Scatter]:
    """Groups at one distance and of one kind have one variance, so their squares and freedoms add up."""
    found: dict[tuple[float, bool], Scatter] = {}
    for group in groups:
        key = (group.distance, group.bare)
        before = found.get(key, Scatter(0.0, 0, *key))
        found[key] = Scatter(before.squares + group.squares, before.freedom + group.freedom, *key)
    return list(found.values())


def _solve(residual: FloatArray, matrix: FloatArray, variance: FloatArray) -> _Solved:
    """Mean and information of the latents that the rows reach: residuals, noise (K, J), matrices (K, J, latents)."""
    # Latents that no row reaches (nocks never turned, say) stay as they were, so they are left out.
    reached = np.flatnonzero(np.any(matrix != 0.0, axis=(0, 1)))
    matrix = matrix[:, :, reached]
    weighted = matrix / variance[:, :, None]
    information = np.swapaxes(weighted, 1, 2) @ matrix
    information[:, np.arange(len(reached)), np.arange(len(reached))] += 1.0
    right = np.matmul(residual[:, None, :], weighted)[:, 0]
    cholesky = np.asarray(np.linalg.cholesky(information), dtype=np.float64)
    half = np.asarray(np.linalg.solve(cholesky, right[:, :, None])[:, :, 0])
    return _Solved(reached, half, cholesky)


def _draw_latents(solved: _Solved, noise: FloatArray) -> FloatArray:
    """One draw (K, m + 17 + 2 n) of the latents of every particle; ``noise`` is standard normal and is used up."""
    if len(solved.reached):
        # C C^T is the information matrix and C h = right, so C^-T (h + noise) has its mean and covariance.
        upper = np.swapaxes(solved.cholesky, 1, 2)
        drawn = np.linalg.solve(upper, (solved.half + noise[:, solved.reached])[:, :, None])
        noise[:, solved.reached] = drawn[:, :, 0]
    return noise


def _anneal(
    theta: FloatArray,
    n: int,
    log_likelihood: Callable[[FloatArray], FloatArray],
    prior: ResponsePrior,
    rng: np.random.Generator,
) -> tuple[FloatArray, Health]:
    """From prior draws (many, 14) to posterior draws (n, 14)."""
    log_l, log_p = log_likelihood(theta), prior.log_density(theta)
    reached, steps, smallest, taken, tried = 0.0, 0, 1.0, 0, 0
    while reached < 1.0 and steps < _MOST_STEPS:
        step = _next_step(log_l, 1.0 - reached, _KEPT * n / len(theta))
        weight = np.exp(step * (log_l - log_l.max()))
        weight /= weight.sum()
        smallest = min(smallest, 1.0 / float(np.sum(weight**2)) / n)
        reached = min(1.0, reached + step)
        pick = _systematic(weight, n, rng)
        theta, log_l, log_p = theta[pick], log_l[pick], log_p[pick]
        for _ in range(_MOVES):
            proposal, walking = _propose(theta, prior, rng)
            new_l, new_p = log_likelihood(proposal), prior.log_density(proposal)
            # A number drawn anew from its prior: the ratio of the proposal densities cancels the prior's part.
            log_accept = reached * (new_l - log_l) + np.where(walking, new_p - log_p, 0.0)
            accept = np.log(rng.random(n)) < log_accept
            theta = np.where(accept[:, None], proposal, theta)
            log_l, log_p = np.where(accept, new_l, log_l), np.where(accept, new_p, log_p)
            taken, tried = taken + int(accept.sum()), tried + n
        steps += 1
    distinct = len(np.unique(theta[:, Theta.SCATTER])) / n
    return theta, Health(smallest, taken / max(tried, 1), distinct, steps if reached >= 1 else _MOST_STEPS, 1.0)


def _next_step(log_l: FloatArray, left: float, keep: float) -> float:
    """The largest tempered step, up to ``left``, that keeps the share ``keep`` of the particles effective."""

    def share(step: float) -> float:
        weight = np.exp(step * (log_l - log_l.max()))
        return float(weight.sum() ** 2 / np.sum(weight**2) / len(log_l))

    if share(left) >= keep:
        return left
    low, high = 0.0, left
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if share(middle) >= keep else (low, middle)
    return max(low, 1e-6)


def _systematic(weight: FloatArray, n: int, rng: np.random.Generator) -> NDArray[np.intp]:
    """``n`` indices drawn with probabilities ``weight``, as evenly as can be."""
    places = (rng.random() + np.arange(n)) / n
    return np.minimum(np.searchsorted(np.cumsum(weight), places), len(weight) - 1)


def _propose(theta: FloatArray, prior: ResponsePrior, rng: np.random.Generator) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Proposals (n, 14) and which of them are walks (n,).

    Half are random walks of the size of the particles' own spread; the others draw one number anew from the prior,
    which lets a slope change its sign.
    """
    n, d = theta.shape
    # Steps follow the particles' own covariance, from far too small to a little too large, so that some always fit.
    spread = np.cov(theta.T) + 1e-12 * np.eye(d)
    step = (2.4 / np.sqrt(d)) * (rng.random((n, 1)) ** 2 + 0.05)
    walk = theta + step * (rng.standard_normal((n, d)) @ np.linalg.cholesky(spread).T)
    anew = theta.copy()
    fresh = prior.draw(n, rng)
    column = rng.integers(0, d, size=n)
    rows = np.arange(n)
    anew[rows, column] = fresh[rows, column]
    walking: NDArray[np.bool_] = np.asarray(rng.random(n) < 0.5)
    return np.where(walking[:, None], walk, anew), walking


def _surprise(squares: FloatArray, seen: int) -> float:
    """Chi-square probability of the residuals' ``squares`` (K,), each over its variance, of ``seen`` rows.

    Small means that even the posterior's best explanations leave too much unexplained.
    """
    # Draws of a posterior leave chi-square residuals with all J degrees of freedom when the model is right.
    return chi2_tail(float(np.median(squares)), seen) if seen else 1.0
