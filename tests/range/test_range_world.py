"""A world of the range: repeatable, mirrored exactly, and true to the kind it is drawn as."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.virtual_range.world import Condition, World, WorldKind, draw_world
from benchmarks.virtual_range.world.shooting import Group

from spinewright.equipment import DrawCurve, Setup, fit_virtual_mass
from spinewright.errors import EquipmentError
from spinewright.evidence import Visit
from spinewright.units import INCH, Hand

pytestmark = pytest.mark.endurance

SEED = 31
CLEAN = Condition(False, False)


def cut(setup: Setup, inches: float) -> Setup:
    build = setup.build
    by = inches * INCH
    return replace(
        setup, build=replace(build, throat_length=build.throat_length - by, carbon_length=build.carbon_length - by)
    )


def moved(setup: Setup) -> Setup:
    return replace(cut(setup, 0.5), rest_y=0.4e-3, rest_z=-0.3e-3, nock_z=0.2e-3, nock_angle=0.7)


def worlds() -> list[World]:
    return [draw_world(SEED + k, kind) for k, kind in enumerate(WorldKind)]


def test_same_seed_same_world_same_walk() -> None:
    for kind in (WorldKind.OPEN, WorldKind.WIDE):
        one, other = draw_world(SEED, kind), draw_world(SEED, kind)
        group = Group(3, (11, 12), 1)
        assert one.start == other.start
        assert one.shoot(one.start, CLEAN, group) == other.shoot(other.start, CLEAN, group)
    assert draw_world(SEED, WorldKind.OPEN).start != draw_world(SEED + 1, WorldKind.OPEN).start


@pytest.mark.parametrize("kind", list(WorldKind))
def test_a_left_handed_world_is_the_mirror_to_the_last_digit(kind: WorldKind) -> None:
    right, left = draw_world(SEED, kind), draw_world(SEED, kind, Hand.LEFT)
    assert left.archer.hand is Hand.LEFT
    assert left.truth.start == right.truth.start.mirrored()
    assert np.array_equal(left.truth.nature.faults[0], -right.truth.nature.faults[0])
    assert left.start == right.start
    for setup in (right.start, moved(right.start)):
        for condition in (CLEAN, Condition(True, True)):
            assert np.array_equal(right.gap(setup, condition), left.gap(setup, condition))
            group = Group(4, (11, 12), 2)
            assert right.shoot(setup, condition, group) == left.shoot(setup, condition, group)
        assert right.heads(setup) == left.heads(setup)
        assert right.tears(setup, CLEAN, 1) == left.tears(setup, CLEAN, 1)
        assert right.nock_series(setup, CLEAN, 1) == left.nock_series(setup, CLEAN, 1)


def test_chronograph_readings_that_contradict_each_other_are_shot_again() -> None:
    """World 6268's first two readings differ by 10 ft/s for 10 grains, which the bench refuses."""
    world = draw_world(6268, WorldKind.REVERSED)
    first = world._clocked(np.random.default_rng([6268, 76]))
    with pytest.raises(EquipmentError, match="cannot both come from one bow"):
        fit_virtual_mass(DrawCurve.of(world.start.bow), first)
    fit_virtual_mass(DrawCurve.of(world.start.bow), world.start.bow.speeds)
    assert world.start.bow.speeds != first


def test_the_mirror_is_not_trivial() -> None:
    right = draw_world(SEED, WorldKind.OPEN)
    unmirrored = World(replace(right.truth.mirrored(), nature=right.truth.nature))
    assert not np.array_equal(unmirrored.gap(right.start), right.gap(right.start))


def test_more_shots_begin_with_the_same_arrows() -> None:
    world = draw_world(SEED, WorldKind.OPEN)
    few, many = (world.shoot(world.start, CLEAN, Group(n, (11, 12), 1)).impacts for n in (3, 6))
    assert many[: len(few)] == few


def test_walks_scatter_as_the_archer_does_about_the_true_gap() -> None:
    world = draw_world(SEED, WorldKind.STEEP)
    quiet = replace(
        world.truth, faults=replace(world.truth.faults, plucked=0.0, misread=0.0), shooter=world.truth.shooter
    )
    still = World(quiet)
    gaps, spread = [], []
    for walk in range(300):
        visit = still.shoot(still.start, CLEAN, Group(6, (11,), walk))
        holes = [np.array([(i.y, i.z) for i in visit.impacts if i.bare is bare]) for bare in (True, False)]
        gaps.append(holes[0].mean(axis=0) - holes[1].mean(axis=0))
        spread.append(holes[1].var(axis=0, ddof=1).sum() / 2)
    shooter = still.truth.shooter
    # What stays with the shafts does not average out: the seven shafts of the groups, three sds allowed.
    limit = 3.0 * shooter.shafts * np.sqrt(1 + 1 / 6) * 4.0
    assert np.all(np.abs(np.mean(gaps, axis=0) - still.gap(still.start)) < limit)
    assert np.sqrt(np.mean(spread)) == pytest.approx(np.hypot(shooter.scatter, shooter.shafts), rel=0.35)


def test_kinds_answer_length_as_they_say() -> None:
    steep, none = draw_world(SEED, WorldKind.STEEP), draw_world(SEED, WorldKind.NONE)
    wrong = draw_world(SEED, WorldKind.REVERSED)
    assert steep.truth.answers.length[0] < -2.6  # m/m; usual is 2.6 with the trade's sign (common practice)
    assert not np.any(none.truth.answers.length)
    assert np.all(wrong.truth.answers.length > 0)
    assert draw_world(SEED, WorldKind.WIDE).truth.shooter.scatter >= 2.0 * INCH
    answer = (steep.gap(cut(steep.start, 0.5)) - steep.gap(steep.start))[0]
    assert answer > 0.5 * INCH  # shorter: bare holes go left


def test_faults_stand_until_they_are_mended() -> None:
    touched = next(w for w in (draw_world(s, WorldKind.OPEN) for s in range(100)) if w.condition.touching)
    assert not np.array_equal(touched.gap(touched.start, touched.condition), touched.gap(touched.start))
    wrong = next(w for w in (draw_world(s, WorldKind.OPEN) for s in range(100)) if w.condition.amiss)
    assert wrong.truth.faults.wrong_item in ("cam_lean", "cam_timing", "nock_height")
    found = wrong.bow_check(wrong.condition)
    assert getattr(found, wrong.truth.faults.wrong_item) is False
    assert getattr(wrong.bow_check(CLEAN), wrong.truth.faults.wrong_item) is True
    assert not np.array_equal(wrong.gap(wrong.start, wrong.condition), wrong.gap(wrong.start))


def test_called_shots_are_marked_and_leans_are_only_written_where_seen() -> None:
    visits: list[Visit] = []
    for seed in range(12):
        world = draw_world(seed, WorldKind.OPEN)
        visits += [world.shoot(world.start, CLEAN, Group(12, (11, 12), w)) for w in range(3)]
    impacts = [i for v in visits for i in v.impacts]
    assert any(i.called_bad for i in impacts)
    assert np.mean([i.called_bad for i in impacts]) < 0.05
    assert not any(i.lean_y is not None for i in impacts if not i.bare)
    assert any(i.lean_y is not None for i in impacts)
