"""Several tears taken together: mean tail, whether it repeats, size words, weak fletched paper, reading noise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom

from spinewright.errors import EvidenceError
from spinewright.evidence import (
    TargetKind,
    Tear,
    lean_noise,
    size_word,
    tear_group,
    tear_groups,
    tear_is_weak,
    tear_noise,
)
from spinewright.evidence.noise import HOLE, LEAN, SPEED, TEAR_BENDING, TEAR_READING

INCH = 0.0254


def tears(tails: list[tuple[float, float]], bare: bool = True, distance: float = 1.8) -> list[Tear]:
    return [Tear(i + 1, bare, distance, y, z) for i, (y, z) in enumerate(tails)]


def test_mean_tail_direction_and_doubt() -> None:
    # computed by hand: three tails of 20 mm right; scatter below what reading a tear allows, so that is the doubt
    found = tear_group(tears([(-0.020, 0.001), (-0.021, 0.0), (-0.019, -0.001)]))
    assert found is not None
    assert (found.y, found.z) == pytest.approx((-0.020, 0.0))
    assert abs(found.direction) == pytest.approx(math.pi)
    assert found.doubt == pytest.approx(tear_noise() / 3**0.5)
    assert found.size == pytest.approx(0.020)
    assert found.repeats is True
    assert found.cautions == ()


def test_fewer_than_three_tears_cannot_show_that_they_repeat() -> None:
    for n in (1, 2):
        found = tear_group(tears([(-0.02, 0.0)] * n))
        assert found is not None
        assert found.repeats is None
        assert any("at least three" in c for c in found.cautions)
    lone = tear_group(tears([(-0.02, 0.0)]))
    assert lone is not None
    assert lone.sd is None


def test_tears_all_over_do_not_repeat() -> None:
    found = tear_group(tears([(0.03, 0.0), (-0.03, 0.01), (0.0, -0.03)]))
    assert found is not None
    assert found.repeats is False
    assert any("do not repeat" in c for c in found.cautions)


def test_called_bad_tears_are_counted_and_left_out() -> None:
    good = tears([(-0.02, 0.0), (-0.02, 0.0)])
    found = tear_group([*good, Tear(3, True, 1.8, 0.1, 0.1, called_bad=True)])
    assert found is not None
    assert (found.count, found.called_bad) == (2, 1)
    assert found.y == pytest.approx(-0.02)
    assert tear_group([Tear(3, True, 1.8, 0.1, 0.1, called_bad=True)]) is None
    assert tear_group([]) is None


def test_bare_and_fletched_and_distances_are_kept_apart() -> None:
    near, far = tears([(0.01, 0.0)]), tears([(0.02, 0.0)], distance=7.0)
    fletched = tears([(0.0, 0.0)], bare=False)
    for mixed in (near + far, near + fletched):
        with pytest.raises(EvidenceError, match="on their own"):
            tear_group(mixed)
    groups = tear_groups(near + far + fletched)
    assert [(g.bare, g.distance) for g in groups] == [(False, 1.8), (True, 1.8), (True, 7.0)]


def test_fletched_paper_beyond_fifteen_feet_is_weak() -> None:
    # common practice: the vanes have straightened it
    far = Tear(1, False, 16 * 0.3048, 0.01, 0.0)
    assert tear_is_weak(far)
    assert not tear_is_weak(Tear(1, False, 14 * 0.3048, 0.01, 0.0))
    assert not tear_is_weak(Tear(1, True, 16 * 0.3048, 0.01, 0.0))
    found = tear_group([far])
    assert found is not None
    assert any("15 ft" in c for c in found.cautions)


def test_a_tear_that_is_not_there_is_seen_as_seldom_as_stated() -> None:
    # computed: 500 seeded worlds of four tears with reading noise only; at most 5 %, 99.9 % binomial bound
    rng, worlds = np.random.default_rng(1), 500
    alarms = 0
    for _ in range(worlds):
        found = tear_group(tears([(float(y), float(z)) for y, z in rng.normal(0, tear_noise(), (4, 2))]))
        assert found is not None
        alarms += found.p_value < 0.05
    assert binom.ppf(0.0005, worlds, 0.01) <= alarms <= binom.ppf(0.9995, worlds, 0.05)


@pytest.mark.parametrize(("inches", "word"), [(0.05, "clean"), (0.3, "small"), (0.7, "moderate"), (2.0, "large")])
def test_size_words(inches: float, word: str) -> None:
    assert size_word(inches * INCH) == word  # from memory


def test_every_noise_says_where_it_is_from() -> None:
    for noise in (HOLE, SPEED, TEAR_READING, TEAR_BENDING, *LEAN.values()):
        assert noise.sd > 0
        assert noise.source.startswith(("from memory", "computed"))
    assert tear_noise() == pytest.approx(0.1414 * INCH, rel=1e-3)  # computed: two independent tenths of an inch


def test_a_lean_is_worth_something_only_square_in_foam_or_layers() -> None:
    # common practice
    assert {t for t in TargetKind if lean_noise(t)} == {TargetKind.FRESH_FOAM, TargetKind.LAYERED}
    assert lean_noise(TargetKind.FRESH_FOAM, square_to_line=False) is None


def test_chance_of_a_mean_tail_in_closed_form() -> None:
    # computed: chi-square (2) exceeds x with chance exp(-x/2); F (2, nu) exceeds f with chance (1 + 2 f/nu)^(-nu/2)
    alike = tear_group(tears([(-0.005, 0.0005), (-0.005, 0.0), (-0.005, -0.0005)]))
    assert alike is not None
    assert alike.p_value == pytest.approx(math.exp(-(0.005**2) * 3 / tear_noise() ** 2 / 2), rel=1e-9)
    spread = tear_group(tears([(-0.02, 0.03), (-0.02, -0.03), (-0.05, 0.0), (0.01, 0.0)]))
    assert spread is not None
    variance = 4 * 0.03**2 / 6
    f = 0.02**2 / (variance / 4) / 2
    assert spread.p_value == pytest.approx((1 + 2 * f / 6) ** -3, rel=1e-9)
