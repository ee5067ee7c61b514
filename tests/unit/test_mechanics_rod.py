"""The rod: rigid motions, units, convergence, nodes, buckling, and what it refuses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.mechanics_samples import arrow

from spinewright.errors import SolveError
from spinewright.mechanics import build_rod, frequencies, mode_nodes
from spinewright.mechanics.held_rod import hold


def test_the_rigid_body_is_that_of_the_masses() -> None:
    masses = arrow()
    rod = build_rod(masses)
    assert rod.mass == pytest.approx(masses.total_mass, rel=1e-12)
    assert rod.balance == pytest.approx(masses.balance, rel=1e-12)
    assert rod.inertia == pytest.approx(masses.inertia, rel=1e-12)


def test_frequencies_have_converged_in_the_basis() -> None:
    coarse, fine = (frequencies(build_rod(arrow(), functions=n)) for n in (18, 26))
    assert coarse == pytest.approx(fine, rel=5e-6)


def test_frequencies_scale_with_stiffness_and_mass() -> None:
    masses = arrow()
    stiffer = replace(masses, EI=4.0 * masses.EI)
    assert frequencies(build_rod(stiffer)) == pytest.approx(2.0 * frequencies(build_rod(masses)), rel=1e-10)
    heavier = replace(
        masses,
        linear_density=4.0 * masses.linear_density,
        masses=4.0 * masses.masses,
        inertias=4.0 * masses.inertias,
    )
    assert frequencies(build_rod(heavier)) == pytest.approx(0.5 * frequencies(build_rod(masses)), rel=1e-10)


def test_a_mode_has_one_more_node_than_the_one_below() -> None:
    rod = build_rod(arrow())
    assert [mode_nodes(rod, mode).size for mode in (1, 2, 3)] == [2, 3, 4]


def test_modes_are_free_of_momentum() -> None:
    # computed: the momentum of each mode over the masses themselves, by an independent quadrature
    masses = arrow()
    rod = build_rod(masses)
    grid = np.linspace(masses.carbon_start, masses.length, 20001)
    weight = np.full(grid.size, masses.linear_density * (grid[1] - grid[0]))
    weight[[0, -1]] *= 0.5
    lumps = rod.evaluate(masses.positions)
    nudge = 1e-6
    slopes = (rod.evaluate(masses.positions + nudge) - rod.evaluate(masses.positions - nudge)) / (2 * nudge)
    shapes = rod.evaluate(grid)
    momentum = weight @ shapes + masses.masses @ lumps
    turning = (weight * grid) @ shapes + (masses.masses * masses.positions) @ lumps + masses.inertias @ slopes
    assert np.abs(momentum[2:6]).max() < 1e-6 * momentum[0]
    assert np.abs(turning[2:6]).max() < 1e-6 * np.sqrt(rod.inertia)


def test_buckling_margin_falls_with_thrust_and_rises_with_stiffness() -> None:
    masses = arrow()
    rod = build_rod(masses)
    assert rod.buckling_margin(2000.0) == pytest.approx(2.0 * rod.buckling_margin(4000.0))
    stiffer = build_rod(replace(masses, EI=2.0 * masses.EI))
    assert stiffer.critical_acceleration == pytest.approx(2.0 * rod.critical_acceleration, rel=1e-9)


def test_dropped_flexibility_is_that_of_the_shapes_left_out() -> None:
    # computed: sum of the dropped modes' flexibility from a far larger basis
    few, many = build_rod(arrow(), modes=5), build_rod(arrow(), functions=40, modes=38)
    held = hold(few, 0.003)
    every = hold(many, 0.003)
    for cell in (0, 30, 60, 80):
        exact = np.sum(every.table[cell, 0, 5:38] ** 2 / every.stiffness[5:])
        assert held.table[cell, 0, -1] == pytest.approx(exact, rel=0.02)


def test_nonsense_is_refused_with_a_sentence() -> None:
    with pytest.raises(SolveError, match="bending modes"):
        build_rod(replace(arrow(), EI=float("nan")))
    with pytest.raises(ValueError, match="modes must lie in"):
        build_rod(arrow(), functions=8, modes=7)
