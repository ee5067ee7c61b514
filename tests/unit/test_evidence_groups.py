"""A group's centre, scatter and size, from few holes to very many."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.distance import pdist

from spinewright.equipment.arrow import HeadKind
from spinewright.evidence import Group, Impact, group, holes, select


def arrows(places: list[tuple[float, float]], bare: bool = False) -> list[Impact]:
    return [Impact(i + 1, bare, y, z) for i, (y, z) in enumerate(places)]


def made(impacts: list[Impact]) -> Group:
    found = group(impacts)
    assert found is not None
    return found


def test_a_group_worked_by_hand() -> None:
    # computed by hand: corners of a 30 x 40 mm rectangle about (10, -5) mm
    found = made(arrows([(0.025, 0.015), (-0.005, 0.015), (0.025, -0.025), (-0.005, -0.025)]))
    assert (found.y, found.z) == pytest.approx((0.010, -0.005))
    assert found.spread == pytest.approx(0.050)
    assert found.mean_radius == pytest.approx(0.025)
    assert found.sd_y == pytest.approx(0.015 * (4 / 3) ** 0.5)
    assert found.sd_z == pytest.approx(0.020 * (4 / 3) ** 0.5)
    assert found.sd == pytest.approx(((4 * 0.015**2 + 4 * 0.020**2) / 6) ** 0.5)
    assert found.shafts == (1, 2, 3, 4)
    assert found.cannot_show == ""


def test_called_bad_shots_are_counted_and_left_out() -> None:
    shot = [*arrows([(0.0, 0.0), (0.01, 0.0), (0.0, 0.01)]), Impact(9, False, 0.5, 0.5, called_bad=True)]
    found = made(shot)
    assert replace(found, called_bad=0) == made(shot[:3])
    assert found.called_bad == 1
    assert found.y == pytest.approx(0.01 / 3)
    assert 9 not in found.shafts
    assert group([Impact(9, False, 0.5, 0.5, called_bad=True)]) is None
    assert group([]) is None


def test_one_lone_shot_says_what_it_cannot_show() -> None:
    found = made(arrows([(0.1, 0.2)]))
    assert (found.sd, found.sd_y, found.sd_z, found.spread) == (None, None, None, 0.0)
    assert "One shot" in found.cannot_show
    assert "Two shots" in made(arrows([(0.1, 0.2), (0.1, 0.1)])).cannot_show


@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=2, max_size=30), st.integers(1, 20))
def test_extreme_spread_is_the_largest_pair_however_many(places: list[tuple[float, float]], times: int) -> None:
    # repeated so that both the short way and the way over the outline are taken; lines and single points included
    found = made(arrows(places * times))
    assert found.spread == pytest.approx(float(pdist(np.array(places)).max()), abs=1e-12)


def test_ten_thousand_holes_take_no_time() -> None:
    places = np.random.default_rng(3).normal(0, 0.05, (10_000, 2))
    shot = arrows([(float(y), float(z)) for y, z in places])
    start = time.perf_counter()
    found = made(shot)
    assert time.perf_counter() - start < 1.0
    assert found.sd == pytest.approx(0.05, rel=0.02)


def test_bare_and_heads_are_picked_apart() -> None:
    mixed = [
        Impact(1, True, 0.0, 0.0),
        Impact(2, False, 0.1, 0.0),
        Impact(3, False, 0.2, 0.0, head=HeadKind.FIXED),
        Impact(4, False, 0.3, 0.0, called_bad=True),
    ]
    assert [i.shaft for i in select(mixed, bare=True)] == [1]
    assert [i.shaft for i in select(mixed, bare=False)] == [2, 4]
    assert [i.shaft for i in select(mixed, bare=False, head=HeadKind.FIXED)] == [3]
    assert holes(mixed).shape == (3, 2)
    assert holes([]).shape == (0, 2)
