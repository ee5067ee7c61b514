"""The compiled rows and their evidence against a plain writing of the same model with dense matrices."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import multivariate_normal, norm

from spinewright.belief import Theta, What, length_slopes, row_kernel
from spinewright.belief.combining import combine
from spinewright.belief.design import USUAL_DIFFERENCE, Kernel, Rows, filled, linear_rows
from spinewright.belief.evidence_rows import Noise, Scatter, noise_variance, scatter_log_likelihood
from spinewright.belief.response import (
    BENT,
    LATENTS,
    LEANT_SD,
    TORN_SD,
    TORN_SD_SOUND,
    TORN_SHARE,
    TOUCH_SD,
    TOUCH_SD_CLEAN,
    TURN_SD,
    Latent,
    misled,
)
from spinewright.belief.update import _evidence
from tests.belief.benches import INCH
from tests.belief.row_samples import OF_PRIOR, PRIOR, some_kernel, some_rows

FloatArray = NDArray[np.float64]


def _dense_row(kernel: Kernel, rows: Rows, j: int, theta: FloatArray) -> tuple[float, FloatArray]:
    """Offset and row of one particle, straight from the formulas in ``response`` and docs/model/belief.md."""
    q, p, m = rows.column[j], rows.plane[j], kernel.weight.shape[0]
    what = kernel.outputs[q].what
    follows = {What.GAP: 0.0, What.LEAN: theta[Theta.LEAN]}.get(what, theta[Theta.TEAR])
    ratio = kernel.ratio[q, p] + kernel.ratio_sd[q, p] * follows
    slope = length_slopes(theta[None])[0, p]
    rest = theta[[Theta.REST_Y, Theta.REST_Z]][p]
    weak = rows.spine[j, 0] + np.exp(theta[[Theta.POINT, Theta.WEIGHT, Theta.SPINE]]) @ rows.spine[j, 1:]
    offset = kernel.mean[q, p] + ratio * (-slope * (weak + PRIOR.too_weak[0]) + rest * rows.shift[j])
    shafts = rows.shafts.shape[1]
    row = np.zeros(m + LATENTS + 2 * shafts)
    row[:m] = kernel.weight[:, q, p]
    own, a = row[m:], rows.angle[j]
    own[Latent.TOO_WEAK] = -ratio * slope * PRIOR.too_weak[1]
    own[(Latent.REST_Y, Latent.REST_Z)[p]] = ratio * rest * PRIOR.rest_sd[p]
    touching = bool(PRIOR.touching(theta[None])[0])
    own[(Latent.TOUCH_Y, Latent.TOUCH_Z)[p]] = ratio * (TOUCH_SD if touching else TOUCH_SD_CLEAN)
    first = (Latent.TURN_1C_Y, Latent.TURN_1C_Z)[p]
    harmonics = [np.cos(a) - 1, np.sin(a), np.cos(2 * a) - 1, np.sin(2 * a)]
    widths = np.repeat([TURN_SD[0], TURN_SD[1] * rows.difference[j] / USUAL_DIFFERENCE], 2)
    own[first : first + 4] = ratio * widths * harmonics
    if what in (What.BARE_TEAR, What.FLETCHED_TEAR):
        torn = theta[Theta.TORN] < norm.ppf(TORN_SHARE)
        own[(Latent.TORN_Y, Latent.TORN_Z)[p]] = TORN_SD if torn else TORN_SD_SOUND
    if what is What.LEAN and misled(theta[None])[0]:
        own[(Latent.LEANT_Y, Latent.LEANT_Z)[p]] = LEANT_SD
    own[LATENTS + p :: 2] = np.exp(theta[Theta.SHAFTS]) * rows.shafts[j]
    return float(offset), row


def _dense_bent(kernel: Kernel, rows: Rows, j: int, theta: FloatArray) -> float:
    """Variance of a row for answers that bend, straight from docs/model/belief.md."""
    q, p, away = rows.column[j], rows.plane[j], rows.away[j]
    follows = {What.GAP: 0.0, What.LEAN: theta[Theta.LEAN]}.get(kernel.outputs[q].what, theta[Theta.TEAR])
    ratio = kernel.ratio[q, p] + kernel.ratio_sd[q, p] * follows
    weaker = away[0] + np.exp(theta[[Theta.POINT, Theta.WEIGHT, Theta.SPINE]]) @ away[1:4]
    arrow = abs(length_slopes(theta[None])[0, p] * weaker)
    rest = abs(theta[[Theta.REST_Y, Theta.REST_Z]][p] * away[4])
    least = BENT[2] if np.any(away[:4]) else 0.0
    return float(away[5] * ratio**2 * ((BENT[0] * arrow + BENT[1] * rest) ** 2 + least**2))


@pytest.mark.parametrize("walks", [7, 20])  # fewer rows than latents, and more: each has a way of its own
@pytest.mark.parametrize("turned", [False, True])
def test_rows_and_evidence_are_those_of_the_dense_model(turned: bool, walks: int) -> None:
    rng = np.random.default_rng(6)
    turns = rng.random(walks) if turned else np.zeros(walks)
    kernel, rows = some_kernel(5, rng), some_rows(turns, rng)
    theta = PRIOR.draw(40, rng)
    value = 0.02 * rng.standard_normal(len(rows))
    noises = tuple(
        Noise(1e-5 * rng.random(), 50 * rng.random(), 0.5 * rng.random(), rng.random()) for _ in range(len(rows))
    )
    groups = (Scatter(1e-3, 6, 18.0, True), Scatter(2e-3, 4, 18.0, True), Scatter(1e-3, 4, 18.0, False))
    offset, matrix = linear_rows(kernel, rows, theta, PRIOR)
    found = _evidence(combine(kernel, rows, value, noises, OF_PRIOR), groups, OF_PRIOR)(theta)
    expected = scatter_log_likelihood(groups, theta)
    for k, particle in enumerate(theta):
        for j in range(len(rows)):
            plain_offset, plain_row = _dense_row(kernel, rows, j, particle)
            assert offset[k, j] == pytest.approx(plain_offset, rel=1e-12)
            assert np.allclose(matrix[k, j], plain_row, rtol=1e-12, atol=0.0)
        noise = [float(noise_variance(n, particle[None])[0]) for n in noises] + kernel.rest[rows.column, rows.plane]
        noise += [_dense_bent(kernel, rows, j, particle) for j in range(len(rows))]
        # Computed: the rows' own covariance, all latents standard normal, by scipy's dense normal density.
        covariance = matrix[k] @ matrix[k].T + np.diag(noise)
        expected[k] += multivariate_normal(offset[k], covariance).logpdf(value)
    assert np.allclose(found - found[0], expected - expected[0], rtol=1e-9, atol=1e-7)


def test_compiled_columns_are_those_of_the_particle() -> None:
    named = {
        "_LENGTH_Y": Theta.LENGTH_Y,
        "_HEIGHT_SHARE": Theta.HEIGHT_SHARE,
        "_REST_Y": Theta.REST_Y,
        "_POINT": Theta.POINT,
        "_SCATTER": Theta.SCATTER,
        "_SHAFTS": Theta.SHAFTS,
        "_TEAR": Theta.TEAR,
        "_LEAN": Theta.LEAN,
        "_TOUCH": Theta.TOUCH,
        "_MISLED": Theta.MISLED,
        "_TORN": Theta.TORN,
    }
    assert {name: getattr(row_kernel, name) for name in named} == named


def test_pooling_groups_of_one_kind_changes_nothing() -> None:
    rng = np.random.default_rng(7)
    kernel, theta = some_kernel(3, rng), PRIOR.draw(20, rng)
    none, empty = np.zeros(0, dtype=np.intp), np.zeros(0)
    nothing = Rows(none, none, np.zeros((0, 4)), empty, empty, empty, np.zeros((0, 0)), np.zeros((0, 6)))
    groups = tuple(Scatter(1e-4 * INCH * k, k, 18.0 + (k % 2), k % 3 == 0) for k in range(1, 9))
    found = _evidence(combine(kernel, nothing, np.zeros(0), (), OF_PRIOR), groups, OF_PRIOR)(theta)
    assert np.allclose(found, scatter_log_likelihood(groups, theta), rtol=1e-12)


def _series(rng: np.random.Generator) -> tuple[Kernel, Rows, FloatArray, tuple[Noise, ...]]:
    """Eighteen angles of one tear, four walks of one gap and two of another: 48 rows."""
    kernel, turns = some_kernel(5, rng), np.concatenate([np.deg2rad(20.0) * np.arange(18), np.zeros(6)])
    column = np.repeat([1] * 18 + [0] * 4 + [2] * 2, 2)
    spine, shift = 0.01 * rng.standard_normal((3, 4)), 1e-3 * rng.standard_normal((3, 2))
    plane = np.tile([0, 1], len(turns))
    shafts = rng.uniform(-1.0, 1.0, (3, 2))[column]
    away = np.column_stack([0.01 * rng.standard_normal((3, 5)), [1.0, 2.0, 3.0]])[column]
    angle, difference = np.repeat(turns, 2), np.full(len(column), 0.02)
    rows = Rows(column, plane, spine[column], shift[column, plane], angle, difference, shafts, away)
    noises = tuple(Noise(1e-5 * (1 + c), 2.0 * c, 0.1, 0.5 * c) for c in column)
    return kernel, rows, 0.02 * rng.standard_normal(len(rows)), noises


def test_a_series_is_five_numbers_a_plane_and_loses_nothing() -> None:
    rng = np.random.default_rng(8)
    kernel, rows, value, noises = _series(rng)
    theta = PRIOR.draw(40, rng)
    few = combine(kernel, rows, value, noises, OF_PRIOR)
    assert len(few.value) == 2 * (5 + 1 + 1)
    assert few.alone[:, 4].sum() + len(few.value) == few.seen == len(rows)
    offset, matrix = linear_rows(kernel, rows, theta, PRIOR)
    rest = kernel.rest[rows.column, rows.plane]
    variance = np.stack([noise_variance(n, theta) for n in noises], axis=1) + rest
    variance += [[_dense_bent(kernel, rows, j, particle) for j in range(len(rows))] for particle in theta]
    found = _evidence(few, (), OF_PRIOR)(theta)
    # Computed: all 48 rows with their own covariance, by scipy's dense normal density.
    expected = [
        multivariate_normal(offset[k], matrix[k] @ matrix[k].T + np.diag(variance[k])).logpdf(value)
        for k in range(len(theta))
    ]
    assert np.allclose(found - found[0], np.array(expected) - expected[0], rtol=1e-9, atol=1e-6)
    latents = rng.standard_normal((len(theta), 5 + LATENTS + 4))
    left = value - offset - np.einsum("kji,ki->kj", matrix, latents)
    few_offset, few_matrix = filled(few.rows, theta, OF_PRIOR)
    few_left = few.value - few_offset - np.einsum("kji,ki->kj", few_matrix, latents)
    squares = np.sum(few_left**2 / few.variance(theta), axis=1) + few.alone_squares(theta)
    assert np.allclose(squares, np.sum(left**2 / variance, axis=1), rtol=1e-9)


def test_rows_of_unlike_noise_stay_apart() -> None:
    rng = np.random.default_rng(9)
    kernel, rows, value, noises = _series(rng)
    apart = tuple(Noise(n.fixed * (1 + 1e-3 * j), n.archer, n.misled, n.shafts) for j, n in enumerate(noises))
    assert len(combine(kernel, rows, value, apart, OF_PRIOR).value) == len(rows)
