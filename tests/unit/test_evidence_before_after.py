"""Before against after: the ratio of scatter and its interval, hits, how many more, and what the order was worth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from spinewright.errors import EvidenceError
from spinewright.evidence import Comparison, Impact, TargetKind, Visit, arrows_to_tell, compare


def end(rng: np.random.Generator, sd: float, purpose: str, arrows: int = 6, distance: float = 20.0) -> Visit:
    holes = rng.normal(0, sd * distance, (arrows, 2))
    impacts = tuple(Impact(i + 1, False, float(y), float(z)) for i, (y, z) in enumerate(holes))
    return Visit(distance, TargetKind.BAG, impacts, purpose=purpose)


def proof(seed: int, before: float, after: float, ends: int = 2, blind: bool = False) -> Comparison:
    rng = np.random.default_rng(seed)
    shot = [end(rng, before if k % 2 == 0 else after, "before" if k % 2 == 0 else "after") for k in range(2 * ends)]
    found = compare(shot, blind=blind)
    assert found is not None
    return found


def test_without_a_before_or_an_after_there_is_nothing_to_compare() -> None:
    rng = np.random.default_rng(0)
    assert compare([]) is None
    assert compare([end(rng, 0.001, "before")]) is None
    assert compare([end(rng, 0.001, "before"), end(rng, 0.001, "")]) is None
    assert compare([end(rng, 0.001, "before"), end(rng, 0.001, "after", arrows=1)]) is None


@pytest.mark.parametrize("after", [0.7, 1.0])
def test_the_interval_holds_the_true_ratio_as_often_as_it_says(after: float) -> None:
    # computed: 400 seeded worlds, 99.9 % binomial bounds about 80 %, and about 5 % for p where nothing changed
    worlds = 400
    found = [proof(seed, 0.001, 0.001 * after) for seed in range(worlds)]
    held = sum(f.low <= after <= f.high for f in found)
    assert binom.ppf(0.0005, worlds, 0.8) <= held <= binom.ppf(0.9995, worlds, 0.8)
    if after == 1.0:
        alarms = sum(f.p_value < 0.05 for f in found)
        assert binom.ppf(0.0005, worlds, 0.05) <= alarms <= binom.ppf(0.9995, worlds, 0.05)


def test_a_change_that_shows_and_one_that_does_not_are_said() -> None:
    clear = proof(1, 0.002, 0.0005, ends=4)
    assert clear.ratio < 0.5
    assert clear.chance_better > 0.999
    assert "tighter" in clear.sentences[0]
    assert "truly tighter" in clear.sentences[1]
    same = end(np.random.default_rng(2), 0.001, "before")
    unclear = compare([same, replace(same, purpose="after")])
    assert unclear is not None
    assert unclear.ratio == pytest.approx(1.0)
    assert "by chance" in unclear.sentences[1]
    assert f"about {unclear.more_for_fifth} more of each" in unclear.sentences[1]
    assert unclear.more_for_tenth > unclear.more_for_fifth > 0
    wider = proof(3, 0.0005, 0.002, ends=4)
    assert "truly wider" in wider.sentences[1]


def test_order_and_blindness_are_noted() -> None:
    mixed = proof(4, 0.001, 0.001, ends=2, blind=True)
    assert mixed.mixed
    assert not any("in turns" in s or "knew which" in s for s in mixed.sentences)
    rng = np.random.default_rng(5)
    blocks = compare([end(rng, 0.001, p) for p in ("before", "before", "after", "after")])
    assert blocks is not None
    assert not blocks.mixed
    assert sum("in turns" in s or "knew which" in s for s in blocks.sentences) == 2


def test_hits_count_every_arrow_and_called_bad_ones_leave_the_scatter() -> None:
    def ring(places: list[float], purpose: str) -> Visit:
        impacts = tuple(Impact(i + 1, False, y, 0.0, called_bad=y > 0.2) for i, y in enumerate(places))
        return Visit(20.0, TargetKind.BAG, impacts, purpose=purpose)

    found = compare([ring([0.01, 0.05, 0.30], "before"), ring([0.01, -0.01, 0.02], "after")], hit_radius=0.02)
    assert found is not None
    assert found.hits is not None
    hits = found.hits
    assert (hits.before, hits.before_of, hits.after, hits.after_of) == (1, 3, 3, 3)
    # computed: chance that a Beta(4, 1) exceeds a Beta(2, 3) = 1 - E[p^4] of the latter = 1 - (2 3 4 5)/(5 6 7 8)
    assert hits.chance_better == pytest.approx(1 - 120 / 1680, abs=1e-6)
    assert found.called_bad == (1, 0)
    assert any("Called bad" in s for s in found.sentences)
    assert found.before.shots == 2


def test_arrows_to_tell_have_the_power_they_promise() -> None:
    # computed: by simulation of 4000 pairs of groups
    rng = np.random.default_rng(6)
    for ratio in (0.8, 0.5):
        n = arrows_to_tell(ratio)
        assert n == arrows_to_tell(1 / ratio)
        s2 = rng.chisquare(2 * n - 2, (2, 4000))
        f = np.sort(s2[0] / s2[1])
        low, high = np.quantile(f, [0.025, 0.975])
        seen = rng.chisquare(2 * n - 2, 4000) * ratio**2 / rng.chisquare(2 * n - 2, 4000)
        assert float(((seen < low) | (seen > high)).mean()) == pytest.approx(0.8, abs=0.06)


def test_enough_arrows_need_no_more() -> None:
    rng = np.random.default_rng(7)
    n = arrows_to_tell(0.8)
    found = compare([end(rng, 0.001, "before", arrows=n), end(rng, 0.001, "after", arrows=n)])
    assert found is not None
    assert found.more_for_fifth == 0
    assert found.more_for_tenth == arrows_to_tell(0.9) - n


@pytest.mark.parametrize("ratio", [0.0, -1.0, 1.0, 0.9999])
def test_a_ratio_that_cannot_be_told_is_refused(ratio: float) -> None:
    with pytest.raises(EvidenceError):
        arrows_to_tell(ratio)


def test_a_radius_that_cannot_be_is_refused() -> None:
    with pytest.raises(EvidenceError, match="radius"):
        compare([], hit_radius=-0.1)
