"""The range's own physics against closed forms: beam, draw curve, flight, a rest that only pushes."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.virtual_range.world.airborne import Air, Surfaces, fly
from benchmarks.virtual_range.world.beam import Beam, Lump, add_shape, banded_times, beam, dense, factor, shape, solve
from benchmarks.virtual_range.world.string_and_rest import Pull, RestLaw, draw_force, rest_force, sideways_force
from benchmarks.virtual_range.world.stroke import STEP, Leaving, loose
from numpy.typing import NDArray
from scipy.linalg import eigh

pytestmark = pytest.mark.endurance

FloatArray = NDArray[np.float64]

LENGTH, BENDING, DENSITY = 0.7, 7.5, 0.02
PLAIN = beam(LENGTH, BENDING, np.full(20, DENSITY), [])
PULL = Pull(0.54, 311.0, 62.0, 5 / 21.25, 16.25 / 21.25, 1.0, 5.17e-3, 0.045, 0.3, 1e4)
LAW = RestLaw(0.68, 0.08, 8e3, 4e3, 1.0, 1.5, 0.1, 3e-3, 0.3e-3, 0.12, 800.0, 0.0)
NO_AIR = Air(0.0, 1.5, 0.0, 0.0, 0.0, 0.0)
AIR = Air(0.18, 1.5, 2.0, 1.6, 8.0, 0.0)


def body(vanes: float, air_drag: float = 0.0) -> Surfaces:
    return Surfaces(0.025, 1.3e-3, 6e-3, 0.72, 0.42, 0.32, -0.38, vanes, air_drag, 0.0)


def leaving(speed: float = 85.0, angle: float = 0.0) -> Leaving:
    return Leaving(speed, np.zeros(2), np.zeros(2), np.array([angle, 0.0]), np.zeros(2), np.zeros(2))


def test_free_beam_frequencies() -> None:
    # Published: Thomson, Theory of Vibration with Applications, App. D.
    squares = np.abs(eigh(dense(PLAIN.stiffness), dense(PLAIN.mass), eigvals_only=True))[2:5]
    beta = (squares * DENSITY / BENDING) ** 0.25 * LENGTH
    assert beta == pytest.approx([4.73004, 7.85320, 10.99561], rel=1e-4)


def test_end_mass_lowers_the_first_frequency_as_it_should() -> None:
    # Computed: characteristic equation of a free beam with a point mass of half the beam at its end (Blevins' form).
    loaded = beam(LENGTH, BENDING, np.full(20, DENSITY), [Lump(0.5 * DENSITY * LENGTH, LENGTH)])
    square = np.abs(eigh(dense(loaded.stiffness), dense(loaded.mass), eigvals_only=True))[2]
    assert (square * DENSITY / BENDING) ** 0.25 * LENGTH == pytest.approx(4.12814, rel=1e-4)


def test_three_point_bending_is_the_beam_formula() -> None:
    # F S^3 / (48 EI), the beam formula; stiff springs stand for the supports.
    force, spring = 8.63, 1e9
    held = PLAIN.stiffness.copy()
    held[0, 0] += spring
    held[0, -2] += spring
    right = np.zeros(held.shape[1])
    right[20] = force
    factor(held)
    solve(held, right)
    assert right[20] == pytest.approx(force * LENGTH**3 / (48 * BENDING), rel=1e-6)


def test_banded_solver_solves() -> None:
    rng = np.random.default_rng(3)
    system = PLAIN.stiffness + 1e6 * PLAIN.mass
    right = np.asarray(rng.standard_normal(system.shape[1]))
    answer, factored = right.copy(), system.copy()
    factor(factored)
    solve(factored, answer)
    assert banded_times(system, answer) == pytest.approx(right, abs=1e-8)


def test_shape_functions_carry_a_straight_line() -> None:
    value, slope = np.empty(4), np.empty(4)
    shape(0.3, 0.05, value, slope)
    line = np.array([1.0, 2.0, 1.0 + 2.0 * 0.05, 2.0])
    assert value @ line == pytest.approx(1.0 + 2.0 * 0.3 * 0.05)
    assert slope @ line == pytest.approx(2.0)


def test_rigid_numbers_of_a_beam_with_a_lump() -> None:
    lump = Lump(0.01, LENGTH + 0.01)
    loaded = beam(LENGTH, BENDING, np.full(20, DENSITY), [lump])
    total = DENSITY * LENGTH + lump.mass
    balance = (DENSITY * LENGTH * LENGTH / 2 + lump.mass * lump.place) / total
    inertia = DENSITY * LENGTH**3 / 3 + lump.mass * lump.place**2 - total * balance**2
    assert (loaded.total, loaded.balance, loaded.inertia) == pytest.approx((total, balance, inertia), rel=1e-9)


def test_thrust_buckles_at_its_own_load() -> None:
    # Published: clamped-free column under its own uniformly growing thrust buckles at 7.837 EI / L^2 (Timoshenko and
    # Gere, Theory of Elastic Stability, ch. 2: a column under its own weight).
    clamped = slice(2, None)
    stiffness, thrust = dense(PLAIN.stiffness)[clamped, clamped], dense(PLAIN.thrust)[clamped, clamped]
    least = 1.0 / eigh(thrust, stiffness, eigvals_only=True)[-1]
    assert least * DENSITY * LENGTH * LENGTH**2 / BENDING == pytest.approx(7.837, rel=2e-3)


def test_trapezoid_stores_its_area() -> None:
    u = np.linspace(0.0, PULL.stroke, 20001)
    force = np.array([draw_force(PULL, float(x)) for x in u])
    area = PULL.stroke * (PULL.peak * (1 - PULL.rise / 2) - (PULL.peak - PULL.holding) / 2 * (1 - PULL.fall))
    assert np.trapezoid(force, u) == pytest.approx(area, rel=1e-4)


def shot(faults: FloatArray, arrow: Beam = PLAIN) -> Leaving:
    return loose(arrow, arrow, PULL, LAW, faults, 2e-5)


def test_speed_is_what_energy_allows() -> None:
    area = PULL.stroke * (PULL.peak * (1 - PULL.rise / 2) - (PULL.peak - PULL.holding) / 2 * (1 - PULL.fall))
    expected = np.sqrt(2 * area / (PLAIN.total + PULL.moving))
    assert shot(np.zeros((2, 6))).speed == pytest.approx(expected, rel=2e-3)


def test_a_straight_shot_leaves_straight_sideways_and_its_mirror_mirrors_to_the_last_digit() -> None:
    quiet = shot(np.zeros((2, 6)))
    assert quiet.place[0] == 0.0
    faults = np.random.default_rng(1).normal(size=(2, 6)) * 5e-4
    one, other = shot(faults), shot(faults * np.array([[-1.0], [1.0]]))
    for name in ("place", "velocity", "angle", "rate"):
        assert getattr(one, name)[0] == -getattr(other, name)[0]
        assert getattr(one, name)[1] == getattr(other, name)[1]


def test_a_finer_beam_hardly_changes_the_release() -> None:
    faults = np.random.default_rng(2).normal(size=(2, 6)) * 5e-4
    lumps = [Lump(8e-3, LENGTH + 0.005), Lump(1e-3, 0.01)]
    coarse, fine = (beam(LENGTH, BENDING, np.full(n, DENSITY), lumps) for n in (20, 40))
    a, b = shot(faults, coarse), shot(faults, fine)
    assert a.rate == pytest.approx(b.rate, rel=0.02, abs=0.02)
    assert a.angle == pytest.approx(b.angle, rel=0.02, abs=1e-4)


def test_the_rest_only_pushes_and_its_groove_slips() -> None:
    assert rest_force(LAW, -1e-4, 0.0) == 0.0
    assert rest_force(LAW, 1e-4, 0.0) == pytest.approx(0.4)
    assert rest_force(LAW, 1e-5, -5.0) == 0.0  # leaving fast: no pull
    assert sideways_force(LAW, 1e-3, 0.0, 2.0) == pytest.approx(3.0)
    assert sideways_force(LAW, 1e-3, 0.0, 0.0) == 0.0
    ring = LAW._replace(ring=1.0)
    assert rest_force(ring, -1e-3, 0.0) < 0.0


def test_without_air_it_falls_as_a_stone() -> None:
    landed = fly(NO_AIR, body(0.0), leaving(), 18.288)
    time = (18.288 - 0.32) / 85.0
    assert landed.place[1] == pytest.approx(-0.5 * 9.81 * time**2, rel=2e-3)
    assert landed.speed == 85.0


def test_drag_takes_what_it_should() -> None:
    # v = v0 exp(-rho CD A x / 2m), quadratic drag.
    air = Air(0.0, 1.5, 0.0, 2.0, 0.0, 0.0)
    section = np.pi * 6e-3**2 / 4
    expected = 85.0 * np.exp(-1.2 * 2.0 * section * (18.288 - 0.32) / (2 * 0.025))
    assert fly(air, body(0.0), leaving(), 18.288).speed == pytest.approx(expected, rel=1e-4)


def test_vanes_straighten_and_a_bare_shaft_steers() -> None:
    # Common practice: a bare shaft lands where its point leans, a fletched one hardly moves.
    bare = fly(AIR, body(0.0), leaving(angle=0.02), 18.288)
    fletched = fly(AIR, body(2.0e-3, 2e-5), leaving(angle=0.02), 18.288)
    assert bare.place[0] > 2 * abs(fletched.place[0])
    assert abs(fletched.angle[0]) < 0.01


def test_vanes_turn_the_arrow_at_the_frequency_of_its_weathercock() -> None:
    # Small turn about the balance point: omega^2 = 0.5 rho U^2 S |x| / I (quasi-steady lift alone).
    surfaces = body(2.0e-3)
    omega = np.sqrt(0.5 * 1.2 * 85.0**2 * 2.0e-3 * 0.38 / 1.3e-3)
    quarter = 0.5 * np.pi / omega * 85.0 + surfaces.tip
    before, after = (fly(NO_AIR, surfaces, leaving(angle=0.02), quarter * f).angle[0] for f in (0.9, 1.1))
    assert before > 0 > after


def test_the_step_is_short_against_the_contact() -> None:
    stiffest, local = 3e4, 5e-3  # N/m, kg: the stiffest rest drawn and the mass near it
    assert STEP * np.sqrt(stiffest / local) < 0.2


def test_adding_a_shape_is_an_outer_product() -> None:
    banded, value = np.zeros((4, 8)), np.array([1.0, 2.0, 3.0, 4.0])
    add_shape(banded, 2, value, 2.0)
    assert dense(banded)[2:6, 2:6] == pytest.approx(2.0 * np.outer(value, value))
