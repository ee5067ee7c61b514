"""Nock rotations: what turns with the nock is found when it is there, not when it is not, and the angle is doubted."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom

from spinewright.errors import EvidenceError
from spinewright.evidence import BestAngle, NockFit, NockReading, NockSeries, best_angle, fit_nock_series

ROUND = np.radians(np.arange(0, 360, 20))


def series(
    angles: np.ndarray[tuple[int], np.dtype[np.float64]],
    rng: np.random.Generator,
    *,
    noise: float = 0.0036,
    once: float = 0.0,
    twice: float = 0.0,
    at: float = 0.7,
    paper: bool = True,
) -> NockSeries:
    """Tail 15 mm left on the mean, a part of size ``once`` and one of ``twice``, both furthest left at ``at``."""
    readings = []
    for a in angles:
        y = 0.015 + once * math.cos(a - at) + twice * math.cos(2 * (a - at)) + rng.normal(0, noise)
        z = once * math.sin(a - at) + twice * math.sin(2 * (a - at)) + rng.normal(0, noise)
        readings.append(NockReading(float(a), float(y if paper else -y), float(z)))
    return NockSeries(1, True, 1.8 if paper else 18.0, paper, tuple(readings))


def best(fit: NockFit, seed: int = 0, now: float = 0.0) -> BestAngle:
    found = best_angle(fit, np.random.default_rng(seed), now)
    assert found is not None
    return found


def apart(a: float, b: float, turn: float = 2 * math.pi) -> float:
    return abs((a - b + turn / 2) % turn - turn / 2)


def test_coefficients_are_recovered_exactly_without_noise() -> None:
    # computed: the series is made from known coefficients
    fit = fit_nock_series(series(ROUND, np.random.default_rng(0), noise=0.0, once=0.01, twice=0.02), noise=0.001)
    want = [
        (0.015, 0.0),
        (0.01 * math.cos(0.7), -0.01 * math.sin(0.7)),
        (0.01 * math.sin(0.7), 0.01 * math.cos(0.7)),
        (0.02 * math.cos(1.4), -0.02 * math.sin(1.4)),
        (0.02 * math.sin(1.4), 0.02 * math.cos(1.4)),
    ]
    np.testing.assert_allclose(fit.coefficients, want, atol=1e-12)
    assert fit.shape[0][0] == pytest.approx(1 / 18)


def test_a_stiff_side_is_found_with_its_direction() -> None:
    fit = fit_nock_series(series(ROUND, np.random.default_rng(1), twice=0.012))
    assert fit.turns
    assert fit.p_twice is not None
    assert fit.p_twice < 0.001
    assert fit.stiff_vertical is not None
    assert fit.stiff_vertical_doubt is not None
    assert apart(fit.stiff_vertical, 0.7, math.pi) < 3 * fit.stiff_vertical_doubt < 0.4
    assert "rule of the trade" in fit.sentence
    found = best(fit)
    # computed: mean tail 15 mm, double part 12 mm: cleanest where they cancel, a quarter turn on, at two angles
    assert apart(found.angle, 0.7 + math.pi / 2, math.pi) < 0.35
    assert found.rival is not None
    assert apart(found.angle, found.rival) > 2.5
    assert found.settled
    assert found.size < 0.006


def test_holes_give_the_same_stiff_side_as_tails() -> None:
    # common practice: bare holes lie opposite to the tails
    on_paper = fit_nock_series(series(ROUND, np.random.default_rng(1), twice=0.012), noise=0.0036)
    on_target = fit_nock_series(series(ROUND, np.random.default_rng(1), twice=0.012, paper=False), noise=0.0036)
    assert on_target.stiff_vertical == pytest.approx(on_paper.stiff_vertical)


def test_a_bent_shaft_is_called_one_and_has_one_best_angle() -> None:
    fit = fit_nock_series(series(ROUND, np.random.default_rng(2), once=0.012))
    assert fit.stiff_vertical is None
    assert "bent shaft" in fit.sentence
    found = best(fit)
    assert apart(found.angle, 0.7 + math.pi) < 0.6
    assert found.rival is None


def test_within_noise_the_nock_is_left_alone() -> None:
    fit = fit_nock_series(series(ROUND, np.random.default_rng(3)))
    assert not fit.turns
    assert "leave the nock" in fit.sentence
    assert not best(fit).settled


@pytest.mark.parametrize("given", [None, 0.006])
def test_nothing_turning_is_taken_for_something_as_seldom_as_stated(given: float | None) -> None:
    # computed: 500 seeded series of shots scattering 6 mm, 99.9 % binomial bounds about 5 %
    rng, worlds = np.random.default_rng(4), 500
    fits = [fit_nock_series(series(ROUND, rng, noise=0.006), given) for _ in range(worlds)]
    low, high = binom.ppf(0.0005, worlds, 0.05), binom.ppf(0.9995, worlds, 0.05)
    for name in ("p_any", "p_once", "p_twice"):
        assert low <= sum(getattr(f, name) < 0.05 for f in fits) <= high, name


def test_doubt_about_the_stiff_side_is_as_large_as_its_error() -> None:
    # computed: 300 seeded series; share within one stated sd, 99.9 % binomial bounds about 68.3 %
    rng, worlds, held = np.random.default_rng(5), 300, 0
    for _ in range(worlds):
        fit = fit_nock_series(series(ROUND, rng, noise=0.005, twice=0.012))
        assert fit.stiff_vertical is not None
        assert fit.stiff_vertical_doubt is not None
        held += apart(fit.stiff_vertical, 0.7, math.pi) <= fit.stiff_vertical_doubt
    assert binom.ppf(0.0005, worlds, 0.683) <= held <= binom.ppf(0.9995, worlds, 0.683)


def test_the_cleanest_angle_is_held_as_often_as_it_says() -> None:
    # computed: 120 seeded series with one true best angle; the stated share is the mean chance of being within a step
    rng, worlds, held, said = np.random.default_rng(6), 120, 0, 0.0
    for _ in range(worlds):
        fit = fit_nock_series(series(ROUND, rng, noise=0.006, once=0.010), noise=0.006)
        found = best_angle(fit, rng, draws=200)
        assert found is not None
        near = [found.angle] if found.rival is None else [found.angle, found.rival]
        held += min(apart(a, 0.7 + math.pi) for a in near) <= math.radians(20)
        said += found.share
    assert held / worlds == pytest.approx(said / worlds, abs=0.15)


def test_gain_is_against_where_the_nock_stands() -> None:
    fit = fit_nock_series(series(ROUND, np.random.default_rng(7), once=0.012))
    found = best(fit, now=0.7)
    assert found.gain_low < found.gain < found.gain_high
    # computed: at its worst the tail is 27 mm, at its best 3 mm
    assert found.gain == pytest.approx(0.024, abs=0.006)
    assert abs(best(fit, now=found.angle).gain) < 1e-9


def test_holes_are_held_against_the_fletched_group_where_it_was_shot() -> None:
    found = series(ROUND, np.random.default_rng(3), once=0.03, paper=False)
    moved = tuple(NockReading(r.angle, r.y + 0.2, r.z - 0.1) for r in found.readings)
    held = NockSeries(1, True, 18.0, False, moved, fletched=(0.2, -0.1), fletched_shots=3)
    assert best(fit_nock_series(held)).angle == best(fit_nock_series(found)).angle
    assert best(fit_nock_series(held)).size == pytest.approx(best(fit_nock_series(found)).size)


def test_a_fletched_group_needs_its_number_and_a_target() -> None:
    reading = (NockReading(0.0, 0.0, 0.0),)
    with pytest.raises(EvidenceError, match="how many fletched arrows"):
        NockSeries(1, True, 18.0, False, reading, fletched=(0.0, 0.0))
    with pytest.raises(EvidenceError, match="paper shows where the tail tore"):
        NockSeries(1, True, 1.8, True, reading, fletched=(0.0, 0.0), fletched_shots=3)
    with pytest.raises(EvidenceError, match="fletched group"):
        NockSeries(1, True, 18.0, False, reading, fletched=(5.0, 0.0), fletched_shots=3)


def test_only_angles_near_those_tried_are_proposed() -> None:
    half = np.radians(np.arange(0, 181, 20))
    fit = fit_nock_series(series(half, np.random.default_rng(8), once=0.02, at=math.radians(90)))
    found = best(fit)
    assert -1e-9 <= (found.angle + math.radians(20)) % (2 * math.pi) <= math.radians(220.5)


@pytest.mark.parametrize(
    ("angles", "says"),
    [
        ([0.0], "1 different nock angles"),
        ([0, 20, 40, 60], "20 degree steps"),
        ([0, 0, 0, 0, 0, 0, 20, 20], "2 different"),
        ([0, 20, 40, 60, 80, 100], "too close together"),
    ],
)
def test_too_few_or_bunched_angles_are_refused_with_a_sentence(angles: list[float], says: str) -> None:
    fit = fit_nock_series(series(np.radians(angles), np.random.default_rng(9)))
    assert says in fit.why_not
    assert fit.sentence == fit.why_not
    assert fit.p_any is None
    assert not fit.turns
    assert best_angle(fit, np.random.default_rng(0)) is None


def test_few_readings_take_their_noise_from_reading_tears_or_are_refused_on_the_target() -> None:
    five = np.radians([0, 72, 144, 216, 288])
    paper = fit_nock_series(series(five, np.random.default_rng(10), once=0.03))
    assert paper.degrees is None
    assert paper.turns
    holes = fit_nock_series(series(five, np.random.default_rng(10), once=0.03, paper=False))
    assert "archer's own" in holes.why_not
    assert not fit_nock_series(series(five, np.random.default_rng(10), once=0.03, paper=False), noise=0.01).why_not


def test_readings_all_alike_claim_nothing() -> None:
    same = NockSeries(1, True, 18.0, False, tuple(NockReading(float(a), 0.1, 0.0) for a in ROUND))
    fit = fit_nock_series(same)
    assert not fit.turns
    found = best(fit)
    assert not found.settled
    assert found.size == pytest.approx(0.1)


@pytest.mark.parametrize("noise", [0.0, -1.0, math.nan, math.inf])
def test_noise_that_cannot_be_is_refused(noise: float) -> None:
    with pytest.raises(EvidenceError, match="above zero"):
        fit_nock_series(series(ROUND, np.random.default_rng(0)), noise=noise)


def test_a_poorly_known_stretch_is_not_taken_for_a_clean_one() -> None:
    # computed: the curve is 1 mm at 340 degrees, one step outside the angles tried, and 3 mm at 160, amid them
    angles = np.radians(np.arange(0, 201, 20))
    tails = 0.015 + 0.013 * np.cos(2 * (angles - math.radians(70))) - 0.001 * np.cos(angles - math.radians(340))
    readings = tuple(NockReading(float(a), float(t), 0.0) for a, t in zip(angles, tails, strict=True))
    found = best(fit_nock_series(NockSeries(1, True, 1.8, True, readings), noise=0.006))
    assert apart(found.angle, math.radians(160)) < math.radians(10)


def test_doubt_is_wider_when_the_noise_had_to_be_estimated() -> None:
    # computed: 80 % of Student's t on 4 degrees of freedom over that of the normal, 1.533 / 1.282
    seven = np.radians(np.arange(7) * 360 / 7)
    seen = series(seven, np.random.default_rng(11), once=0.3, noise=0.003, paper=False)
    guessed = fit_nock_series(seen)
    assert guessed.degrees == 4
    assert guessed.noise is not None
    given = fit_nock_series(seen, noise=guessed.noise)
    wide, narrow = (best_angle(f, np.random.default_rng(0), now=0.7, draws=8_000) for f in (guessed, given))
    assert wide is not None
    assert narrow is not None
    ratio = (wide.gain_high - wide.gain_low) / (narrow.gain_high - narrow.gain_low)
    assert ratio == pytest.approx(1.533 / 1.282, abs=0.07)
