"""The archer's scatter over many visits, shaft against shot, and the odd shaft out: worked, calibrated, honest."""

from __future__ import annotations

import time

import numpy as np
import pytest
from scipy.stats import binom

from spinewright.evidence import Impact, TargetKind, Visit, archer_scatter, odd_shaft, shaft_spread


def visit(places: list[tuple[int, float, float]], distance: float = 20.0, bare: bool = False) -> Visit:
    return Visit(distance, TargetKind.BAG, tuple(Impact(s, bare, y, z) for s, y, z in places))


def world(rng: np.random.Generator, shaft_sd: float, shot_sd: float, odd: float = 0.0, visits: int = 3) -> list[Visit]:
    """Five shafts, each shot once a visit at 10, 20, 30 m; sds and the offset of shaft 4 [rad]."""
    own = rng.normal(0, 1, (5, 2)) * shaft_sd
    own[3, 0] += odd
    shot = []
    for k in range(visits):
        distance = 10.0 * (k + 1)
        centre = rng.normal(0, 0.005, 2)
        holes = (centre + own + rng.normal(0, shot_sd, (5, 2))) * distance
        shot.append(visit([(i + 1, float(y), float(z)) for i, (y, z) in enumerate(holes)], distance))
    return shot


def test_scatter_is_within_groups_as_an_angle() -> None:
    # computed by hand: two pairs, each 2 cm apart sideways at 20 m, centres 1 m apart: sum of squares 4 x 1 cm2
    shot = [visit([(1, 0.0, 0.0), (2, 0.02, 0.0)]), visit([(1, 1.0, 0.0), (2, 1.02, 0.0)])]
    found = archer_scatter(shot)
    assert found is not None
    assert (found.degrees, found.shots, found.groups) == (4, 4, 2)
    assert found.sd == pytest.approx(0.01 / 20)
    assert found.low < found.sd < found.high
    halved = archer_scatter([visit([(1, 0.0, 0.0), (2, 0.02, 0.0)], distance=40.0)])
    assert halved is not None
    assert halved.sd == pytest.approx(found.sd / 2)


def test_scatter_of_too_little_is_none() -> None:
    assert archer_scatter([]) is None
    assert archer_scatter([visit([(1, 0.0, 0.0)]), visit([(1, 1.0, 0.0)])]) is None
    assert archer_scatter([visit([(1, 0.1, 0.1), (2, 0.1, 0.1)])]) is None
    assert archer_scatter([visit([(1, 0.0, 0.0), (2, 0.1, 0.1)], bare=True)]) is None


def test_scatter_interval_holds_the_truth_as_often_as_it_says() -> None:
    # computed: 500 seeded worlds, 99.9 % binomial bounds about 80 %
    rng, worlds, held = np.random.default_rng(1), 500, 0
    for _ in range(worlds):
        found = archer_scatter(world(rng, 0.0, 0.001, visits=2))
        assert found is not None
        held += found.low <= 0.001 <= found.high
    low, high = binom.interval(0.999, worlds, 0.8)
    assert low <= held <= high


def test_called_bad_shots_do_not_widen_the_scatter() -> None:
    shot = visit([(1, 0.0, 0.0), (2, 0.02, 0.0)])
    bad = Visit(20.0, TargetKind.BAG, (*shot.impacts, Impact(3, False, 1.0, 1.0, called_bad=True)))
    assert archer_scatter([bad]) == archer_scatter([shot])


def test_shaft_and_shot_cannot_be_told_apart_when_each_was_shot_once() -> None:
    once = shaft_spread([visit([(1, 0.0, 0.0), (2, 0.02, 0.0), (3, 0.0, 0.02)])])
    assert once.shot_sd is None
    assert "once" in once.why_not
    alone = shaft_spread([visit([(1, 0.0, 0.0), (1, 0.02, 0.0), (1, 0.0, 0.02)])])
    assert "Only one shaft" in alone.why_not
    assert shaft_spread([]).why_not


@pytest.mark.parametrize("shaft_sd", [0.0, 0.0005, 0.002])
def test_shaft_and_shot_are_told_apart_as_often_as_they_say(shaft_sd: float) -> None:
    # computed: 400 seeded worlds; 99.9 % binomial bounds about 80 %
    rng, worlds, held, shot, alarm = np.random.default_rng(2), 400, 0, [], 0
    for _ in range(worlds):
        found = shaft_spread(world(rng, shaft_sd, 0.001))
        assert found.shaft_low is not None
        assert found.shaft_high is not None
        assert found.shot_sd is not None
        assert found.p_value is not None
        held += found.shaft_low <= shaft_sd <= found.shaft_high
        shot.append(found.shot_sd**2)
        alarm += found.p_value < 0.05
    assert np.mean(shot) == pytest.approx(0.001**2, rel=0.04)
    if shaft_sd == 0.0:  # the lower edge is cut off at nothing, so it holds a true nothing 90 times in 100
        assert binom.ppf(0.0005, worlds, 0.9) <= held <= binom.ppf(0.9995, worlds, 0.9)
        assert alarm <= binom.ppf(0.9995, worlds, 0.05)
    else:
        assert binom.ppf(0.0005, worlds, 0.8) <= held <= binom.ppf(0.9995, worlds, 0.8)


def test_shafts_exactly_alike_have_no_spread_of_their_own() -> None:
    alike = shaft_spread(
        [visit([(1, 0.0, 0.0), (2, 0.0, 0.0)]), visit([(1, 0.1, 0.0), (2, 0.1, 0.0), (1, 0.2, 0.0), (2, 0.2, 0.0)])]
    )
    assert (alike.shaft_sd, alike.shaft_low) == (0.0, 0.0)
    assert alike.p_value == pytest.approx(1.0)


def test_an_odd_shaft_is_found_and_placed() -> None:
    found = odd_shaft(world(np.random.default_rng(3), 0.0, 0.001, odd=0.006))
    assert found.is_odd
    assert found.shaft == 4
    assert found.compared == 5
    assert found.y == pytest.approx(0.006, abs=3 * 0.001 / 3**0.5 * (5 / 4) ** 0.5)
    assert "shaft 4" in found.sentence


def test_an_odd_shaft_is_not_seen_where_there_is_none() -> None:
    # computed: 600 seeded worlds; the bound is at most 5 %, 99.9 % binomial upper bound
    rng, worlds = np.random.default_rng(4), 600
    alarms = sum(odd_shaft(world(rng, 0.0, 0.001)).is_odd for _ in range(worlds))
    assert binom.ppf(0.0005, worlds, 0.03) <= alarms <= binom.ppf(0.9995, worlds, 0.05)


def test_an_odd_shaft_may_stand_out_of_a_single_visit_or_not_be_asked_at_all() -> None:
    rng = np.random.default_rng(5)
    one = world(rng, 0.0, 0.0005, odd=0.02, visits=1)
    assert odd_shaft(one).shaft == 4
    assert odd_shaft(one).is_odd
    two = odd_shaft([visit([(1, 0.0, 0.0), (2, 0.5, 0.0), (1, 0.01, 0.0)])])
    assert two.shaft is None
    assert "fewer than three" in two.sentence
    same = odd_shaft([visit([(1, 0.0, 0.0), (2, 0.0, 0.0), (3, 0.0, 0.0), (4, 0.1, 0.0)])])
    assert same.shaft is None
    assert "millimetre" in same.sentence


def test_bare_shafts_are_looked_at_apart_from_fletched_ones() -> None:
    bare = visit([(1, 0.0, 0.0), (2, 0.01, 0.0), (3, 0.0, 0.01), (4, 0.8, 0.0)], bare=True)
    assert odd_shaft([bare], bare=True).shaft == 4
    assert odd_shaft([bare]).shaft is None


def test_ten_thousand_shots_take_no_time() -> None:
    rng = np.random.default_rng(6)
    shot = [
        visit([(1 + i % 12, float(y), float(z)) for i, (y, z) in enumerate(rng.normal(0, 0.02, (1000, 2)))])
        for _ in range(10)
    ]
    start = time.perf_counter()
    assert shaft_spread(shot).shot_sd == pytest.approx(0.001, rel=0.02)
    assert odd_shaft(shot).compared == 12
    assert time.perf_counter() - start < 2.0
