"""Statistics of small groups against published tests, textbook figures and general-purpose statistics libraries."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats
from scipy.optimize import brentq

from spinewright.evidence import (
    Gap,
    Impact,
    NockReading,
    NockSeries,
    TargetKind,
    Visit,
    archer_scatter,
    arrows_to_tell,
    compare,
    fit_nock_series,
    gap,
    group,
    laws,
    shaft_spread,
    shots_needed,
)

Floats = NDArray[np.float64]


def visit(bare: Floats, fletched: Floats, purpose: str = "") -> Visit:
    impacts = [Impact(50 + i, True, float(y), float(z)) for i, (y, z) in enumerate(bare)]
    impacts += [Impact(1 + i, False, float(y), float(z)) for i, (y, z) in enumerate(fletched)]
    return Visit(20.0, TargetKind.BAG, tuple(impacts), purpose=purpose)


def found(visited: Visit, archer_sd: float | None = None) -> Gap:
    got = gap(visited, archer_sd)
    assert got is not None
    return got


def round_group(n: int) -> Floats:
    """n holes on a circle with one-axis sample sd exactly 0.01 m in both axes and no slant (n >= 3)."""
    angles = 2 * np.pi * np.arange(n) / n
    holes = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return np.asarray(0.01 * holes / holes.std(axis=0, ddof=1), dtype=np.float64)


@pytest.mark.parametrize(
    ("way", "n", "in_sds"),
    [
        # computed: chi-square of 2 degrees of freedom, known one-axis scatter
        ("known", 3, 2.00),
        ("known", 6, 1.41),
        ("known", 12, 1.00),
        # computed: F of (2, 4n - 4), pooled circular scatter
        ("pooled", 3, 2.44),
        ("pooled", 6, 1.53),
        ("pooled", 12, 1.03),
        # computed from the F form of Hotelling's T2 in Morrison 1990, Multivariate Statistical Methods (published)
        ("shaped", 3, 4.12),
        ("shaped", 6, 1.78),
        ("shaped", 12, 1.10),
    ],
)
def test_the_offset_of_two_groups_that_reaches_five_per_cent(way: str, n: int, in_sds: float) -> None:
    def p_less_level(sds: float) -> float:
        test = getattr(found(visit(round_group(n) + np.array([sds * 0.01, 0.0]), round_group(n)), 0.01), way)
        return float(test.p_value - 0.05)

    assert brentq(p_less_level, 0.1, 9.0) == pytest.approx(in_sds, abs=0.005)


@pytest.mark.parametrize("seed", range(10))
def test_hotelling_against_pingouin(seed: int) -> None:
    # computed by pingouin.multivariate_ttest, which wants five in the first group
    import pingouin  # loads for a second, and only one of the processes that test needs it

    rng = np.random.default_rng(seed)
    bare, fletched = rng.normal(0.01, 0.02, (5, 2)) @ np.array([[1.0, 0.6], [0.0, 1.4]]), rng.normal(0, 0.02, (7, 2))
    theirs = pingouin.multivariate_ttest(bare, fletched)
    assert found(visit(bare, fletched)).shaped.p_value == pytest.approx(float(theirs["pval"].iloc[0]), rel=1e-6)


@pytest.mark.parametrize(("n", "m"), [(1, 3), (2, 2), (3, 4), (8, 8)])
def test_hotelling_of_small_groups_against_linear_regression(n: int, m: int) -> None:
    # computed another way: T2 is nu R2 / (1 - R2) of the regression of the group label on the holes
    rng = np.random.default_rng(n * 10 + m)
    bare, fletched = rng.normal(0.02, 0.02, (n, 2)), rng.normal(0, 0.02, (m, 2))
    label = np.r_[np.ones(n), np.zeros(m)]
    design = np.column_stack([np.ones(n + m), np.vstack([bare, fletched])])
    left = label - design @ np.linalg.lstsq(design, label, rcond=None)[0]
    r2 = 1 - float(left @ left) / float(((label - label.mean()) ** 2).sum())
    f = r2 / (1 - r2) * (n + m - 3) / 2
    assert found(visit(bare, fletched)).shaped.p_value == pytest.approx(float(stats.f.sf(f, 2, n + m - 3)), rel=1e-9)


def test_pooled_circular_is_the_two_axis_analysis_of_variance() -> None:
    # computed by hand with SciPy's F law: between-group over within-group mean squares, both axes
    rng = np.random.default_rng(3)
    bare, fletched = rng.normal(0.02, 0.02, (3, 2)), rng.normal(0, 0.02, (5, 2))
    grand = np.vstack([bare, fletched]).mean(axis=0)
    between = sum(len(g) * float(((g.mean(axis=0) - grand) ** 2).sum()) for g in (bare, fletched)) / 2
    within = sum(float(((g - g.mean(axis=0)) ** 2).sum()) for g in (bare, fletched)) / (2 * 6)
    want = float(stats.f.sf(between / within, 2, 12))
    assert found(visit(bare, fletched)).pooled.p_value == pytest.approx(want, rel=1e-6)


def test_rayleigh_rows() -> None:
    # any statistics text: within 1, 2, 3 sigma 39.35, 86.47, 98.89 %; mean radius 1.2533 sigma; CEP 1.1774 sigma
    for sigmas, share in ((1, 0.3935), (2, 0.8647), (3, 0.9889)):
        assert 1 - laws.chi2_tail(sigmas**2, 2) == pytest.approx(share, abs=5e-5)
    assert math.sqrt(laws.chi2_quantile(0.5, 2)) == pytest.approx(1.1774, abs=5e-5)
    holes = np.random.default_rng(4).normal(0, 0.05, (40_000, 2))
    whole = group([Impact(1, False, float(y), float(z)) for y, z in holes])
    assert whole is not None
    assert whole.sd is not None
    # statistical: 40,000 holes give the ratio to 0.3 % (one sd)
    assert whole.mean_radius / whole.sd == pytest.approx(1.2533, rel=0.01)


@pytest.mark.parametrize(("offset", "level", "power"), [(1.0, 0.05, 0.8), (0.5, 0.1, 0.9), (3.0, 0.01, 0.5)])
def test_shots_needed_against_the_noncentral_chi_square(offset: float, level: float, power: float) -> None:
    # computed by SciPy's non-central chi-square law
    n = shots_needed(1.0, offset, level, power)

    def reached(count: int) -> float:
        return float(stats.ncx2.sf(stats.chi2.ppf(1 - level, 2), 2, offset**2 * count / 2))

    assert reached(n) >= power
    assert n == 1 or reached(n - 1) < power


def test_laws_against_scipy_stats() -> None:
    # computed by scipy.stats, which goes another way than the special functions used here
    rows: list[tuple[Callable[..., float], tuple[float, ...], float]] = [
        (laws.chi2_tail, (7.3, 4), float(stats.chi2.sf(7.3, 4))),
        (laws.chi2_quantile, (0.8, 6), float(stats.chi2.ppf(0.8, 6))),
        (laws.f_tail, (3.1, 2, 9), float(stats.f.sf(3.1, 2, 9))),
        (laws.f_cdf, (3.1, 2, 9), float(stats.f.cdf(3.1, 2, 9))),
        (laws.f_quantile, (0.1, 20, 9), float(stats.f.ppf(0.1, 20, 9))),
        (laws.normal_quantile, (0.9,), float(stats.norm.ppf(0.9))),
    ]
    for law, arguments, want in rows:
        assert law(*arguments) == pytest.approx(want, rel=1e-8), law
    wanted = laws.chi2_noncentrality(5.991464547107979, 2, 0.8)
    assert float(stats.ncx2.sf(5.991464547107979, 2, wanted)) == pytest.approx(0.8, rel=1e-6)
    # computed: 400,000 draws, one sd 0.0008
    rng = np.random.default_rng(5)
    drawn = float((rng.beta(8, 3, 400_000) > rng.beta(5, 6, 400_000)).mean())
    assert laws.beta_better((8, 3), (5, 6)) == pytest.approx(drawn, abs=0.003)
    assert laws.beta_better((800, 3), (3, 800)) == pytest.approx(1.0, abs=1e-9)


def test_scatter_interval_against_scipy() -> None:
    # computed by SciPy's chi-square law
    rng = np.random.default_rng(6)
    fletched = rng.normal(0, 0.02, (5, 2))
    scatter = archer_scatter([visit(np.empty((0, 2)), fletched)])
    assert scatter is not None
    squares = float(((fletched / 20 - fletched.mean(axis=0) / 20) ** 2).sum())
    assert scatter.low == pytest.approx(math.sqrt(squares / float(stats.chi2.ppf(0.9, 8))), rel=1e-9)
    assert scatter.high == pytest.approx(math.sqrt(squares / float(stats.chi2.ppf(0.1, 8))), rel=1e-9)


def test_shaft_against_shot_is_the_one_way_analysis_of_variance() -> None:
    # computed by SciPy: one visit, four shafts shot three times; both axes of the same numbers, so F is f_oneway's
    rng = np.random.default_rng(7)
    values = rng.normal(0, 0.02, (4, 3)) + rng.normal(0, 0.02, (4, 1))
    impacts = tuple(Impact(s + 1, False, float(v), float(v)) for s in range(4) for v in values[s])
    spread = shaft_spread([Visit(20.0, TargetKind.BAG, impacts)])
    f = float(stats.f_oneway(*values).statistic)
    assert spread.p_value == pytest.approx(float(stats.f.sf(f, 6, 16)), rel=1e-6)
    within = float(((values - values.mean(axis=1, keepdims=True)) ** 2).sum()) / 8
    assert spread.shot_sd == pytest.approx(math.sqrt(within) / 20, rel=1e-9)
    assert spread.shaft_sd == pytest.approx(math.sqrt(max(f - 1, 0) / 3 * within) / 20, rel=1e-9)


def test_ratio_of_scatter_against_scipy() -> None:
    # computed by SciPy's F law
    rng = np.random.default_rng(8)
    before, after = rng.normal(0, 0.02, (6, 2)), rng.normal(0, 0.015, (9, 2))
    none = np.empty((0, 2))
    found_ = compare([visit(none, before, "before"), visit(none, after, "after")])
    assert found_ is not None
    square = after.var(axis=0, ddof=1).sum() / before.var(axis=0, ddof=1).sum()
    assert found_.ratio == pytest.approx(math.sqrt(square), rel=1e-9)
    assert found_.low == pytest.approx(math.sqrt(square / float(stats.f.ppf(0.9, 16, 10))), rel=1e-6)
    assert found_.high == pytest.approx(math.sqrt(square / float(stats.f.ppf(0.1, 16, 10))), rel=1e-6)
    assert found_.chance_better == pytest.approx(float(stats.f.cdf(1 / square, 10, 16)), rel=1e-6)


@pytest.mark.parametrize("ratio", [0.9, 0.8, 0.5])
def test_arrows_to_tell_against_the_f_law(ratio: float) -> None:
    # computed by SciPy: smallest n whose two-sided F test at 5 % has power 0.8
    def power(n: int) -> float:
        nu = 2 * (n - 1)
        return float(stats.f.cdf(stats.f.ppf(0.025, nu, nu) / ratio**2, nu, nu))

    n = arrows_to_tell(ratio)
    assert power(n) >= 0.8 > power(n - 1)


def test_nock_series_against_a_general_linear_model() -> None:
    # computed by SciPy's F law from numpy's least squares of the two nested models, both axes together
    rng = np.random.default_rng(9)
    angles = np.radians(np.arange(0, 360, 20))
    tails = 0.01 * rng.normal(0, 1, (18, 2)) + np.stack([0.01 * np.cos(2 * angles), 0.0 * angles], axis=1)
    series = NockSeries(
        1, True, 1.8, True, tuple(NockReading(float(a), *map(float, t)) for a, t in zip(angles, tails, strict=True))
    )
    fit = fit_nock_series(series)
    ones = np.ones_like(angles)
    full = np.stack([ones, np.cos(angles), np.sin(angles), np.cos(2 * angles), np.sin(2 * angles)], axis=1)

    def left(design: Floats) -> float:
        return float(((tails - design @ np.linalg.lstsq(design, tails, rcond=None)[0]) ** 2).sum())

    for name, columns in (("p_any", [0]), ("p_once", [0, 3, 4]), ("p_twice", [0, 1, 2])):
        extra = 2 * (5 - len(columns))
        f = (left(full[:, columns]) - left(full)) / extra / (left(full) / 26)
        assert getattr(fit, name) == pytest.approx(float(stats.f.sf(f, extra, 26)), rel=1e-6), name
