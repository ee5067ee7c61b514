"""Fixed-blade heads against field points, and the spread within a set."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.outlook_samples import DISTANCE, bench, members, still

from spinewright.equipment import HeadKind
from spinewright.errors import EquipmentError
from spinewright.outlook import Difference, SetSpread, fixed_head, heads_and_differences
from spinewright.outlook.differences import scatter_draws
from spinewright.outlook.runs import released
from spinewright.outlook.words import difference_rows
from spinewright.units import GRAIN, Hand, System

ORDER = list(Difference)


def test_arrows_all_alike_do_not_spread() -> None:
    alike = replace(bench(), build=replace(bench().build, shaft=replace(bench().build.shaft, straightness=0.0)))
    draws = scatter_draws(members(), alike, (DISTANCE, SetSpread(0.0, 0.0, 0.0, 0.0)))
    assert draws.spread_field == pytest.approx(0.0, abs=1e-12)
    assert draws.apart == pytest.approx(np.hypot(*draws.head_offset.T))


def test_a_straight_arrow_is_not_steered_by_its_blades() -> None:
    draws = scatter_draws(still(), bench(), (DISTANCE, SetSpread()))
    assert draws.head_offset[:, 0] == pytest.approx(0.0, abs=1e-9)
    assert draws.turn == pytest.approx(0.0, abs=1e-12)


def test_larger_blades_steer_more() -> None:
    small = fixed_head(bench().build.head.mass)
    large = replace(small, blade_area=1.6 * small.blade_area, width=1.2 * small.width)
    offsets = [
        np.median(np.hypot(*scatter_draws(members(), bench(), (DISTANCE, SetSpread()), head=head).head_offset.T))
        for head in (small, large)
    ]
    assert offsets[1] > 1.15 * offsets[0]


def test_a_heavier_arrow_drops_more() -> None:
    # computed: v^2 = 2 E / (m + m_v), drop g t^2 / 2 over a flight of nearly constant speed
    bows, more = still(), 5.0 * GRAIN
    draws = scatter_draws(bows, bench(), (DISTANCE, SetSpread(mass=more)))
    mass = bench().build.total_mass(bare=False)
    drop = 0.5 * 9.80665 * (DISTANCE / released(bows, bench()).speed) ** 2
    wanted = drop * more / (mass + bows.stroke.virtual_mass)
    assert -draws.field[ORDER.index(Difference.MASS), :, 1] == pytest.approx(wanted, rel=0.12)


def test_spread_grows_in_proportion_to_the_spine_of_the_set() -> None:
    # the release state is linear in a small step of stiffness, the flight nearly (computed)
    spine = ORDER.index(Difference.SPINE)
    once, twice = (
        np.hypot(*scatter_draws(members(), bench(), (DISTANCE, SetSpread(spine=s))).field[spine].T)
        for s in (0.02, 0.04)
    )
    assert np.median(twice) == pytest.approx(2.0 * np.median(once), rel=0.05)


def test_ranges_and_their_parts() -> None:
    found = heads_and_differences(members(), bench(), DISTANCE)
    assert found.head.kind is HeadKind.FIXED
    assert found.apart.middle >= found.spread_headed.middle
    assert set(found.by_difference) == set(Difference)
    assert found.swing.middle > 0.0
    rows = difference_rows(found, Hand.LEFT, System.INCH)
    assert rows[0][0] == "fixed-blade head against field point"
    assert len(rows) == 4 + len(Difference)


def test_sides_in_words_mirror() -> None:
    found = heads_and_differences(members(), bench(), DISTANCE)
    right, left = (difference_rows(found, hand, System.METRIC)[0][1] for hand in Hand)
    assert right != left
    assert right.replace("left", "x").replace("right", "left").replace("x", "right") == left


def test_a_head_of_another_mass_is_another_build() -> None:
    with pytest.raises(EquipmentError, match="weighs"):
        heads_and_differences(members(16), bench(), DISTANCE, head=fixed_head(150 * GRAIN))
