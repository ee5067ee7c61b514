"""Fixed-blade heads against field points, and the spread within a set."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import expm
from scipy.stats import binom
from tests.unit.outlook_samples import ARCHER, DISTANCE, bench, history, members, still

from spinewright.belief import BeliefSettings, believe, break_ground, draw_members, standing
from spinewright.equipment import Head, HeadKind, Setup, mass_model
from spinewright.errors import EquipmentError
from spinewright.evidence import History, Visit
from spinewright.flight import flight_body
from spinewright.outlook import Difference, SetSpread, fixed_head, heads_and_differences, some_rows
from spinewright.outlook.differences import field_point, scatter_draws
from spinewright.outlook.following import follow_gap, gap_of_physics
from spinewright.outlook.runs import release_states, released
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
    assert draws.leaves.turn == pytest.approx(0.0, abs=1e-12)


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
    assert [name for name, _ in rows[4 + len(Difference) :]] == [
        "swings in flight, 2.0 deg allowed",
        "nock end bent, 1.0 deg allowed",
        "shaft off the rest as the vanes pass",
    ]


def test_sides_in_words_mirror() -> None:
    found = heads_and_differences(members(), bench(), DISTANCE)
    right, left = (difference_rows(found, hand, System.METRIC)[0][1] for hand in Hand)
    assert right != left
    assert right.replace("left", "x").replace("right", "left").replace("x", "right") == left


def test_a_head_of_another_mass_is_another_build() -> None:
    with pytest.raises(EquipmentError, match="weighs"):
        heads_and_differences(members(16), bench(), DISTANCE, head=fixed_head(150 * GRAIN))


def test_an_invented_blade_is_no_larger_than_its_triangle() -> None:
    head = fixed_head(8e-3)
    stands_out = 0.5 * (head.width - 6.0e-3)  # of a shaft of 6 mm
    assert head.blade_area < 0.5 * head.length * stands_out


def test_a_heads_offset_is_that_of_its_linear_flight() -> None:
    # computed: the linear equations of turn_of_fletched with the place across the shot as a fourth state, solved by the
    # matrix exponential; drag, gravity and cross-flow on the shaft are left out, which take a twelfth away
    bows, now = members(), bench()
    head = fixed_head(now.build.head.mass)
    strokes = released(bows, now)
    release = release_states(strokes, standing(bows, now))[:, 0]
    speed = strokes.speed[:, None]
    state = np.hstack([release[:, 1:2] / speed, release[:, 2:3], release[:, 3:4] / speed, release[:, 0:1]])
    plain = replace(bows, flight=replace(bows.flight, vane_factor=np.ones(30), head_factor=np.ones(30)))
    holes = [_linear_hole(now, one, state) for one in (head, field_point(head))]
    found = scatter_draws(plain, now, (DISTANCE, SetSpread()), head=head).head_offset[:, 0]
    slope = np.polyfit(holes[0] - holes[1], found, 1)[0]
    assert slope == pytest.approx(0.92, abs=0.06)
    assert np.corrcoef(holes[0] - holes[1], found)[0, 1] > 0.998


def _linear_hole(setup: Setup, head: Head, state: np.ndarray) -> np.ndarray:
    """Sideways holes (N,) [m] of states (v/U, angle, rate/U, place) in straight flow of constant speed."""
    body = flight_body(setup.build, mass_model(setup.build, bare=False), bare=False, head=head)
    lift = 0.5 * 1.2 * body.lift_moments.sum(axis=0)
    drift, turn = lift[:2] / body.mass, lift[1:] / body.inertia
    matrix = np.zeros((4, 4))
    matrix[0] = -drift[0], drift[0], -drift[1], 0.0
    matrix[1, 2] = matrix[3, 0] = 1.0
    matrix[2] = -turn[0], turn[0], -turn[1], 0.0
    after = state @ expm(matrix * DISTANCE).T
    return np.asarray(after[:, 3] + body.tip_place * after[:, 1])


def test_the_offset_of_a_head_follows_the_gap_that_was_seen() -> None:
    bows, now = members(), bench()
    physics, solved = gap_of_physics(bows, now)
    assert solved.all()
    line = (DISTANCE, SetSpread())
    alone = scatter_draws(bows, now, line)
    same = scatter_draws(bows, now, line, gap=physics)
    assert same.head_offset == pytest.approx(alone.head_offset)
    for plane in range(2):  # computed: 0.99 with one vane and head factor for all
        assert np.corrcoef(physics[:, plane], alone.head_offset[:, plane])[0, 1] > 0.9
    touching = scatter_draws(bows, now, line, gap=np.zeros_like(physics))
    assert np.median(touching.apart) < 0.6 * np.median(alone.apart)
    assert np.median(touching.leaves.turn) < 0.7 * np.median(alone.leaves.turn)


def test_following_moves_along_the_line_and_keeps_what_lay_off_it() -> None:
    gap = np.array([[-1.0, 0.0], [0.0, 0.0], [1.0, 0.0], [0.0, 0.0]])
    value = 0.5 + 2.0 * gap + np.array([[0.1, 3.0], [-0.1, 3.0], [0.1, 3.0], [-0.1, 3.0]])
    moved = follow_gap(value, gap, gap + np.array([0.25, 1.0]), np.ones(4, dtype=np.bool_))
    assert moved[:, 0] == pytest.approx(value[:, 0] + 0.5)
    assert moved[:, 1] == pytest.approx(value[:, 1])  # bows that all have one gap say nothing about what follows it


@pytest.mark.endurance
def test_what_is_said_of_a_head_holds_as_often_as_it_is_said() -> None:
    # computed: in simulated worlds whose one truth is a bow of the prior, the central 80 % of the offset must hold the
    # true one in 80 % of them, within the bounds that 120 independent cases (60 worlds, two planes) leave at 99 %
    now, worlds, rng = bench(), 60, np.random.default_rng(5)
    told = history(now)
    ground = break_ground(told, (), (), BeliefSettings(bows=120, particles=120))
    truth = draw_members(worlds, now, told.bow_check, rng)
    offset = scatter_draws(truth, now, (DISTANCE, SetSpread())).head_offset
    gap, solved = gap_of_physics(truth, now)
    assert solved.all()
    held = []
    for true_gap, true_offset in zip(gap, offset, strict=True):
        belief = believe(ground, _shot(told, true_gap, rng), ARCHER)
        rows = some_rows(len(belief.gap(now)), 40)
        draws = scatter_draws(
            belief.bows().rows(rows), now, (DISTANCE, SetSpread()), gap=belief.gap(now)[rows]
        ).head_offset
        low, high = np.quantile(draws, (0.1, 0.9), axis=0)
        held.append((low <= true_offset) & (true_offset <= high))
    allowed = np.asarray(binom.ppf([0.005, 0.995], 2 * worlds, 0.8))
    assert allowed[0] <= np.sum(held) <= allowed[1]


def _shot(told: History, gap: np.ndarray, rng: np.random.Generator) -> History:
    """``told`` with its walk shot anew: holes about 0 and about ``gap`` [m], scattered as the archer does."""
    (walk,) = told.seen
    assert isinstance(walk.what, Visit)
    holes = []
    for hole in walk.what.impacts:
        place = gap * hole.bare + ARCHER.scatter * DISTANCE * rng.standard_normal(2)
        holes.append(replace(hole, y=float(place[0]), z=float(place[1])))
    return replace(told, seen=(replace(walk, what=replace(walk.what, impacts=tuple(holes))),))
