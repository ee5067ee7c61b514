"""The gap of bare from fletched: small groups, which way is possible, coverage of the ellipses, shots needed."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from spinewright.equipment.arrow import HeadKind
from spinewright.errors import EvidenceError
from spinewright.evidence import (
    Gap,
    GapTest,
    Impact,
    TargetKind,
    Visit,
    Way,
    gap,
    group,
    head_gap,
    more_shots,
    offset,
    shots_for_half_width,
    shots_needed,
)

Places = list[tuple[float, float]]


def visit(bare: Places, fletched: Places, shafts: tuple[int, ...] | None = None) -> Visit:
    impacts = [Impact(20 + i, True, y, z) for i, (y, z) in enumerate(bare)]
    impacts += [Impact(shafts[i] if shafts else 1 + i, False, y, z) for i, (y, z) in enumerate(fletched)]
    return Visit(18.0, TargetKind.FRESH_FOAM, tuple(impacts))


def found(visited: Visit, archer_sd: float | None = None, shaft_sd: float = 0.0) -> Gap:
    got = gap(visited, archer_sd, shaft_sd)
    assert got is not None
    return got


def scattered(rng: np.random.Generator, n: int, sd: float = 0.02, at: tuple[float, float] = (0.0, 0.0)) -> Places:
    return [(at[0] + float(y), at[1] + float(z)) for y, z in rng.normal(0, sd, (n, 2))]


@pytest.mark.parametrize(
    ("bare", "fletched", "possible"),
    [  # degrees of freedom: pooled 2(n1 + n2 - 2) >= 1, shaped n1 + n2 - 3 >= 1
        (1, 1, [Way.KNOWN]),
        (1, 2, [Way.KNOWN, Way.POOLED]),
        (2, 1, [Way.KNOWN, Way.POOLED]),
        (1, 3, [Way.KNOWN, Way.POOLED, Way.SHAPED]),
        (2, 2, [Way.KNOWN, Way.POOLED, Way.SHAPED]),
        (3, 6, [Way.KNOWN, Way.POOLED, Way.SHAPED]),
    ],
)
def test_which_ways_are_possible_and_a_sentence_for_the_others(bare: int, fletched: int, possible: list[Way]) -> None:
    rng = np.random.default_rng(bare * 10 + fletched)
    got = found(visit(scattered(rng, bare), scattered(rng, fletched)), archer_sd=0.02)
    tests = (got.known, got.pooled, got.shaped)
    assert [t.way for t in tests if t.possible] == possible
    for test in tests:
        assert bool(test.why_not) != test.possible
        assert (test.covariance is None) == (test.ellipse is None) == (not test.possible)


def test_the_known_scatter_comes_first_and_without_anything_the_sentence_says_what_is_missing() -> None:
    got = found(visit([(0.05, 0.0)], [(0.0, 0.0)]))
    assert not got.best.possible
    assert "one more" in got.best.why_not
    assert found(visit([(0.05, 0.0)], [(0.0, 0.0)]), archer_sd=0.02).best.way is Way.KNOWN
    assert found(visit([(0.05, 0.0)], [(0.0, 0.0), (0.01, 0.0)])).best.way is Way.POOLED


def test_no_gap_without_both_kinds() -> None:
    assert gap(visit([], [(0.0, 0.0)])) is None
    assert gap(visit([(0.0, 0.0)], [])) is None
    bad = Impact(1, True, 0.0, 0.0, called_bad=True)
    assert gap(Visit(18.0, TargetKind.BAG, (bad, Impact(2, False, 0.0, 0.0)))) is None


def test_holes_on_one_another_or_on_one_line_give_no_false_certainty() -> None:
    same = found(visit([(0.1, 0.0)] * 3, [(0.0, 0.0)] * 3))
    assert not same.pooled.possible
    assert "on one another" in same.pooled.why_not
    line = found(visit([(0.1, 0.0), (0.2, 0.0), (0.3, 0.0)], [(0.0, 0.0), (0.1, 0.0), (0.2, 0.0)]))
    assert line.pooled.possible
    assert not line.shaped.possible
    assert "one line" in line.shaped.why_not


def test_one_bare_shaft_and_a_wide_bare_group_are_said() -> None:
    assert any("Only one bare shaft" in c for c in found(visit([(0.0, 0.0)], [(0.0, 0.0), (0.0, 0.1)])).cautions)
    rng = np.random.default_rng(5)
    wide = found(visit(scattered(rng, 6, 0.1), scattered(rng, 6, 0.01)))
    assert any("times as wide" in c for c in wide.cautions)
    assert found(visit(scattered(rng, 6, 0.01), scattered(rng, 6, 0.01))).cautions == ()


def test_heads_are_held_against_field_points_and_kept_out_of_the_bare_gap() -> None:
    impacts = (
        Impact(1, False, 0.00, 0.0),
        Impact(2, False, 0.02, 0.0),
        Impact(3, False, 0.10, 0.01, head=HeadKind.FIXED),
        Impact(4, False, 0.12, 0.01, head=HeadKind.FIXED),
        Impact(5, True, 0.05, 0.0),
    )
    visited = Visit(18.0, TargetKind.FRESH_FOAM, impacts)
    heads = head_gap(visited, HeadKind.FIXED)
    assert heads is not None
    assert (heads.y, heads.z) == pytest.approx((0.10, 0.01))
    assert found(visited).y == pytest.approx(0.04)


@given(st.integers(0, 10_000), st.integers(2, 5), st.integers(2, 5))
def test_a_mirrored_visit_has_the_mirrored_gap_and_the_same_certainty(seed: int, n: int, m: int) -> None:
    rng = np.random.default_rng(seed)
    bare, fletched = scattered(rng, n, at=(0.03, 0.02)), scattered(rng, m)
    got = found(visit(bare, fletched), 0.02)
    mirrored = found(visit([(-y, z) for y, z in bare], [(-y, z) for y, z in fletched]), 0.02)
    assert (mirrored.y, mirrored.z) == (-got.y, got.z)
    for one, other in zip(
        (got.known, got.pooled, got.shaped), (mirrored.known, mirrored.pooled, mirrored.shaped), strict=True
    ):
        assert one.p_value == pytest.approx(other.p_value, rel=1e-9)
        assert one.ellipse is not None
        assert other.ellipse is not None
        assert one.ellipse.major == pytest.approx(other.ellipse.major, rel=1e-9)
        assert math.sin(2 * one.ellipse.direction) == pytest.approx(-math.sin(2 * other.ellipse.direction), abs=1e-6)


@given(st.integers(0, 10_000), st.floats(-3, 3))
def test_pooled_and_known_do_not_change_when_the_target_is_turned(seed: int, by: float) -> None:
    rng = np.random.default_rng(seed)
    turn = np.array([[math.cos(by), -math.sin(by)], [math.sin(by), math.cos(by)]])
    bare, fletched = rng.normal(0, 0.02, (3, 2)), rng.normal(0, 0.02, (4, 2))
    straight = found(visit([tuple(p) for p in bare], [tuple(p) for p in fletched]), 0.02)
    turned = found(visit([tuple(p) for p in bare @ turn.T], [tuple(p) for p in fletched @ turn.T]), 0.02)
    for way in ("known", "pooled", "shaped"):
        assert getattr(turned, way).p_value == pytest.approx(getattr(straight, way).p_value, rel=1e-6)


def inside(test: GapTest, y: float, z: float) -> bool:
    ellipse = test.ellipse
    assert ellipse is not None
    along = y * math.cos(ellipse.direction) + z * math.sin(ellipse.direction)
    across = -y * math.sin(ellipse.direction) + z * math.cos(ellipse.direction)
    return (along / ellipse.major) ** 2 + (across / ellipse.minor) ** 2 <= 1


@pytest.mark.parametrize(("bare", "fletched"), [(1, 3), (2, 3), (3, 3), (4, 6)])
def test_ellipses_hold_the_true_gap_as_often_as_they_say(bare: int, fletched: int) -> None:
    # computed: 600 seeded worlds, 99.9 % binomial bounds about 80 %
    rng, worlds = np.random.default_rng(11), 600
    low, high = binom.interval(0.999, worlds, 0.8)
    held = {"known": 0, "pooled": 0, "shaped": 0}
    for _ in range(worlds):
        got = found(visit(scattered(rng, bare, at=(0.04, -0.02)), scattered(rng, fletched)), 0.02)
        for way in held:
            held[way] += inside(getattr(got, way), got.y - 0.04, got.z + 0.02)
    for way, count in held.items():
        assert low <= count <= high, way


def test_the_p_value_and_the_ellipse_tell_the_same_story() -> None:
    rng = np.random.default_rng(17)
    for _ in range(100):
        got = found(visit(scattered(rng, 3, at=(0.02, 0.0)), scattered(rng, 3)), 0.02)
        for test in (got.known, got.pooled, got.shaped):
            assert test.p_value is not None
            assert inside(test, got.y, got.z) == (test.p_value >= 0.2)


def test_what_stays_with_each_shaft_does_not_average_away() -> None:
    # computed: 600 seeded worlds, two fletched shafts shot four times each, 99.9 % binomial bounds about 80 %
    rng, worlds, held, naive = np.random.default_rng(23), 600, 0, 0
    for _ in range(worlds):
        own = rng.normal(0, 0.02, (2, 2))
        fletched = [tuple(own[i % 2] + rng.normal(0, 0.01, 2)) for i in range(8)]
        bare = scattered(rng, 2, math.hypot(0.02, 0.01))
        visited = visit(bare, fletched, shafts=(1, 2) * 4)
        got = found(visited, 0.01, 0.02)
        held += inside(got.known, got.y, got.z)
        got = found(visited, 0.01)
        naive += inside(got.known, got.y, got.z)
    low, high = binom.interval(0.999, worlds, 0.8)
    assert low <= held <= high
    assert naive < low


def test_offset_is_what_gap_uses() -> None:
    rng = np.random.default_rng(29)
    visited = visit(scattered(rng, 3), scattered(rng, 4))
    first = group([i for i in visited.impacts if i.bare])
    second = group([i for i in visited.impacts if not i.bare])
    assert first is not None
    assert second is not None
    got = found(visited, 0.02)
    assert offset(first, second, 0.02) == (got.known, got.pooled, got.shaped)


def test_shots_needed_reach_the_power_they_promise() -> None:
    # computed: by simulation, 4000 worlds, chi-square test with known scatter
    rng = np.random.default_rng(31)
    for apart in (1.0, 1.5, 2.5):
        n = shots_needed(1.0, apart)
        for count, enough in ((n, True), (n - 1, False)):
            centres = rng.normal(0, math.sqrt(2 / count), (4000, 2)) + np.array([apart, 0.0])
            power = float(((centres**2).sum(axis=1) / (2 / count) > 5.991).mean())
            assert (power > 0.8 - 0.02) if enough else (power < 0.8 + 0.02)


def test_shots_for_a_half_width() -> None:
    # computed: 80 % of a normal lies within 1.2816 sd; the gap of n + n arrows has sd sqrt(2/n)
    n = shots_for_half_width(0.7, 0.3)
    assert 1.2816 * 0.7 * math.sqrt(2 / n) <= 0.3 < 1.2816 * 0.7 * math.sqrt(2 / (n - 1))


def test_more_shots_is_the_smallest_that_does() -> None:
    for needed, bare, fletched in itertools.product((1, 4, 9), (0, 1, 2, 7, 30), (0, 1, 3, 8)):
        k = more_shots(needed, bare, fletched)
        worth = [
            0 if 0 in (bare + extra, fletched + extra) else 1 / (1 / (bare + extra) + 1 / (fletched + extra)) * 2
            for extra in range(k + 1)
        ]
        assert worth[-1] >= needed - 1e-9
        assert all(w < needed for w in worth[:-1])


@pytest.mark.parametrize("numbers", [(0.0, 1.0), (1.0, 0.0), (math.nan, 1.0), (1.0, math.inf), (-1.0, 1.0)])
def test_shots_for_nonsense_are_refused(numbers: tuple[float, float]) -> None:
    with pytest.raises(EvidenceError):
        shots_needed(*numbers)
    with pytest.raises(EvidenceError):
        shots_for_half_width(*numbers)
    with pytest.raises(EvidenceError):
        shots_needed(1.0, 1.0, level=1.0)
    with pytest.raises(EvidenceError):
        gap(visit([(0.0, 0.0)], [(0.0, 0.0)]), archer_sd=0.0)
    with pytest.raises(EvidenceError):
        gap(visit([(0.0, 0.0)], [(0.0, 0.0)]), archer_sd=0.1, shaft_sd=-1.0)
