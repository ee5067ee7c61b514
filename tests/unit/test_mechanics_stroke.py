"""The power stroke: exact invariances, linearity, agreement of its two writings, convergence, failures in words."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from tests.unit.mechanics_samples import (
    AMPLITUDES,
    INCH,
    FloatArray,
    arrow,
    bow,
    bow_in_motion,
    one,
    plausible,
    release_error,
)

from spinewright.errors import SolveError
from spinewright.mechanics import Channel, MotionSettings, StrokeParameters, StrokeSettings, build_rod, motion, stroke
from spinewright.mechanics.stroke import parameter_rows, stroke_effects

HELD = 9.0  # [m] a drop beyond the stroke: the rest stays up
ROD, BOW = build_rod(arrow()), bow_in_motion()


@pytest.mark.parametrize("drops_after", [None, HELD, 0.0])
def test_everything_moved_aside_moves_the_release_and_nothing_else(drops_after: float | None) -> None:
    response = stroke(ROD, BOW, plausible(20, drops_after=drops_after)).response
    moved = response[:, :, Channel.NOCK] + response[:, :, Channel.REST]
    assert np.abs(moved - [1.0, 0.0, 0.0, 0.0]).max() < 1e-7


@pytest.mark.parametrize("drops_after", [None, HELD])
def test_everything_turned_turns_the_release_and_nothing_else(drops_after: float | None) -> None:
    parameters = plausible(20, drops_after=drops_after)
    errors = []
    for reach in (0.8, 0.1):
        effects, speed, _ = stroke_effects(ROD, BOW, parameter_rows(parameters), StrokeSettings(reach=reach))
        turned = (
            BOW.stroke * effects[:, :, Channel.RAMP] + BOW.rest_at_draw * effects[:, :, Channel.REST] + effects[:, :, 8]
        )
        travelled = BOW.stroke if drops_after is None else BOW.rest_at_draw
        exact = np.stack([np.full(20, travelled + ROD.balance), speed, np.ones(20), np.zeros(20)], axis=-1)
        errors.append(np.abs(turned - exact[:, None]).max(axis=(0, 1)) / [1.0, 80.0, 1.0, 80.0])
    assert errors[0].max() < 1e-3
    assert errors[1].max() < 1e-5


@pytest.mark.parametrize("drops_after", [None, HELD, 0.05])
def test_the_stroke_forward_in_time_agrees(drops_after: float | None) -> None:
    parameters = one(plausible(4, 3, drops_after), 2)
    amplitudes = np.random.default_rng(5).normal(size=(2, 8)) * AMPLITUDES
    fine = stroke(ROD, BOW, parameters, StrokeSettings(steps=800, reach=0.2)).response[0]
    forward = motion(ROD, BOW, parameters, amplitudes).release
    backward = np.einsum("pc,pcr->pr", amplitudes, fine)
    size = np.sqrt(((amplitudes[..., None] * fine) ** 2).sum(axis=1))
    assert np.abs((forward - backward) / size).max() < 1e-4


def test_a_motion_is_linear_and_mirrors() -> None:
    parameters = one(plausible(2), 0)
    rng = np.random.default_rng(8)
    first, second = (rng.normal(size=(2, 8)) * AMPLITUDES for _ in range(2))
    settings = MotionSettings(difference=0.02, angle=0.7)
    a, b, both, mirrored = (
        motion(ROD, BOW, parameters, x, settings).release for x in (first, second, first + 2.0 * second, -first)
    )
    assert both == pytest.approx(a + 2.0 * b, rel=1e-9, abs=1e-12)
    assert mirrored == pytest.approx(-a, rel=1e-12)
    mirror = np.array([[-1.0], [1.0]])
    turned = replace(settings, angle=-settings.angle)
    assert motion(ROD, BOW, parameters, first * mirror, turned).release == pytest.approx(
        a * mirror, rel=1e-9, abs=1e-12
    )


def test_planes_with_the_same_unknowns_respond_alike() -> None:
    # without the cams' synchronisation and with the string's pull the same, only the string's geometry differs
    parameters = plausible(3)
    same = {
        name: np.repeat(getattr(parameters, name)[:, :1], 2, axis=1) for name in ("stiffness_factor", "rest_stiffness")
    }
    slack = replace(parameters, string_factor=np.zeros((3, 2)), **same)
    response = stroke(ROD, BOW, slack).response
    assert response[:, 0] == pytest.approx(response[:, 1], rel=1e-12)


def test_units_scale() -> None:
    # computed: lengths x L, masses x m, times x 1: the equations stay when forces grow by m L
    masses, which, parameters = arrow(), bow(), plausible(5)
    big, heavy = 1.7, 2.3
    rod = build_rod(
        replace(
            masses,
            length=big * masses.length,
            carbon_start=big * masses.carbon_start,
            linear_density=heavy / big * masses.linear_density,
            EI=heavy * big**3 * masses.EI,
            positions=big * masses.positions,
            masses=heavy * masses.masses,
            inertias=heavy * big**2 * masses.inertias,
        )
    )
    plain = bow_in_motion(which)
    table = plain.table * [big, heavy * big, heavy, heavy, 1.0 / big]
    scaled = replace(
        plain,
        stroke=big * plain.stroke,
        rest_at_draw=big * plain.rest_at_draw,
        energy=heavy * big**2 * plain.energy,
        duration=plain.duration / np.sqrt(heavy),
        peak_force=heavy * big * plain.peak_force,
        synchronisation=heavy * plain.synchronisation,
        table=table,
    )
    changed = replace(
        parameters,
        virtual_mass=heavy * parameters.virtual_mass,
        residual_tension=heavy * big * parameters.residual_tension,
        nock_mass=heavy * parameters.nock_mass,
        rest_stiffness=heavy * parameters.rest_stiffness,
        drops_after=big * parameters.drops_after,
    )
    old, new = stroke(ROD, plain, parameters), stroke(rod, scaled, changed)
    assert new.speed == pytest.approx(big * old.speed, rel=1e-12)
    geometric = [channel for channel in Channel if channel != Channel.GRAVITY]
    per_length = np.array([1.0, 1.0, 1.0 / big, 1.0 / big])
    assert new.response[:, :, geometric] == pytest.approx(
        old.response[:, :, geometric] * per_length, rel=1e-6, abs=1e-9
    )


def test_speed_and_time_follow_energy() -> None:
    # computed: energy under the curve = kinetic energy of arrow and virtual mass
    parameters = plausible(6)
    result = stroke(ROD, BOW, parameters)
    kinetic = 0.5 * (ROD.mass + parameters.virtual_mass) * result.speed**2
    assert kinetic == pytest.approx(parameters.force_factor * BOW.energy, rel=1e-12)
    assert np.all((result.time_on_string > 0.01) & (result.time_on_string < 0.03))


def _realistic(kind: str, seed: int) -> tuple[FloatArray, FloatArray]:
    """Release states of the everyday and of a fine setting, and of a far larger basis, for some realistic set-ups."""
    found, exact = [], []
    for index in range(3):
        rng = np.random.default_rng(seed + index)
        pounds, draw = rng.uniform(54, 70), rng.uniform(27, 30)
        moving = bow_in_motion(bow(pounds, draw, rng.uniform(6, 7.5), rng.uniform(28, 40)))
        masses = arrow(draw + rng.uniform(-0.3, 0.6), 0.36 - 0.004 * (pounds - 54), rng.uniform(90, 150))
        parameters = plausible(4, seed + index)
        if kind == "stiff rest that stays":
            parameters = replace(parameters, drops_after=np.full(4, HELD), rest_stiffness=np.full((4, 2), 5e4))
        reference = build_rod(masses, functions=26, modes=18, static_functions=60)
        fine = StrokeSettings(steps=400, reach=0.3)
        exact.append(stroke(reference, moving, parameters, fine).response)
        everyday = stroke(build_rod(masses), moving, parameters).response
        careful = stroke(
            build_rod(masses, functions=22, modes=13), moving, parameters, StrokeSettings(reach=0.4)
        ).response
        found.append(np.stack([everyday, careful]))
    return np.concatenate(found, axis=1), np.concatenate(exact)


@pytest.mark.parametrize("kind", ["rests that drop", "stiff rest that stays"])
def test_the_release_state_has_converged_in_step_and_basis(kind: str) -> None:
    (everyday, careful), exact = _realistic(kind, 40)
    assert np.median(release_error(everyday, exact)) < 1.2e-3
    assert release_error(everyday, exact).max() < 4e-3
    assert np.median(release_error(careful, exact)) < 1e-4
    assert release_error(careful, exact).max() < 3e-4


def test_steps_are_of_fourth_order() -> None:
    parameters = one(plausible(3, 4), 1)
    effects = [
        stroke_effects(ROD, BOW, parameter_rows(parameters), StrokeSettings(steps=n, reach=99.0))[0][..., :8, :]
        for n in (130, 260, 2600)
    ]
    coarse, finer = (release_error(found, effects[2]).max() for found in effects[:2])
    assert 10.0 < coarse / finer < 24.0


def test_a_stiffer_arrow_comes_closer_to_a_rigid_one() -> None:
    parameters = plausible(4)
    rigid = stroke(build_rod(replace(arrow(), EI=1e4), modes=1), BOW, parameters).response
    gaps = [
        np.abs(
            (stroke(build_rod(replace(arrow(), EI=stiffness)), BOW, parameters).response - rigid)[:, :, Channel.REST]
        ).max()
        for stiffness in (8.0, 30.0, 120.0)
    ]
    assert gaps[0] > gaps[1] > gaps[2]


def test_a_shaft_far_too_weak_gives_an_outcome_and_no_nonsense() -> None:
    result = stroke(build_rod(replace(arrow(), EI=0.02)), BOW, plausible(5))
    assert not result.solved.any()
    assert "without buckling" in result.reason
    assert not result.response.any()
    assert not result.speed.any()


def test_rows_that_cannot_be_are_named_and_leave_the_others_alone() -> None:
    parameters = plausible(4)
    alone = stroke(ROD, BOW, one(parameters, 0))
    broken = replace(parameters, virtual_mass=np.array([parameters.virtual_mass[0], np.nan, np.inf, -1.0]))
    result = stroke(ROD, BOW, broken)
    assert result.solved.tolist() == [True, False, False, False]
    assert result.reason.startswith("3 plausible bows")
    assert np.all(np.isfinite(result.response))
    assert result.speed[0] == pytest.approx(alone.speed[0])


def test_an_arrow_that_misses_the_rest_is_refused() -> None:
    with pytest.raises(SolveError, match="reach past the rest"):
        stroke(build_rod(arrow(inches=23.0)), BOW, plausible(1))
    with pytest.raises(SolveError, match="not finite"):
        motion(ROD, BOW, replace(plausible(1), damping=np.array([np.nan])), np.zeros((2, 8)))


def test_many_bows_are_the_same_as_each_alone() -> None:
    # the mean nock mass of a batch is in its modes, so a row feels its neighbours by less than the basis error
    parameters = plausible(40, 9)
    together = stroke(ROD, BOW, parameters, StrokeSettings()).response
    threaded = stroke(ROD, BOW, parameters, StrokeSettings(threads=1)).response
    assert np.array_equal(together, threaded)
    alone = np.concatenate([stroke(ROD, BOW, one(parameters, row), StrokeSettings()).response for row in range(3)])
    assert release_error(together[:3], alone).max() < 3e-3


def test_gravity_sags_and_the_rest_carries_it() -> None:
    # computed: moments about the nock throat; the rest carries m g balance / reach at the start
    parameters = one(plausible(1), 0)
    amplitudes = np.zeros((2, 8))
    amplitudes[1, Channel.GRAVITY] = 1.0
    seen = motion(ROD, BOW, parameters, amplitudes, MotionSettings(times=300))
    carried = 9.80665 * (ROD.mass + parameters.nock_mass[0]) * ROD.balance / BOW.rest_at_draw
    assert seen.on_rest[1, 0] == pytest.approx(carried, rel=0.2)
    assert seen.release[1, 1] < 0.0
    assert seen.release[0] == pytest.approx(np.zeros(4), abs=1e-15)
    assert seen.lowest_on_rest <= seen.on_rest[1, 0]
    assert seen.departs == pytest.approx(stroke(ROD, BOW, parameters).time_on_string[0])


def test_shape_and_release_of_a_motion_fit_together() -> None:
    parameters = one(plausible(3), 2)
    amplitudes = np.zeros((2, 8))
    amplitudes[0, Channel.REST] = 1e-3
    seen = motion(ROD, BOW, parameters, amplitudes)
    assert seen.shape[0, 0, 0] == pytest.approx(0.0, abs=1e-9)
    at_rest = np.interp(BOW.rest_at_draw, seen.s, seen.shape[0, 0])
    assert at_rest == pytest.approx(1e-3, rel=1e-6)
    straight = seen.release[0, 0] + seen.release[0, 2] * (0.0 - ROD.balance)
    assert seen.shape[0, -1, 0] - straight == pytest.approx(seen.bending_left[0], rel=1e-9)


def test_the_travel_and_the_rest_move_the_right_way() -> None:
    # the rest 1 mm to the left at full draw: the point starts to the left, so the arrow lies yawed left
    parameters = replace(one(plausible(1), 0), drops_after=np.array([0.0]))
    response = stroke(ROD, BOW, parameters).response[0, 0, Channel.REST]
    drawn = motion(ROD, BOW, parameters, np.eye(8)[[Channel.REST, Channel.REST]] * 1e-3)
    assert drawn.shape[0, 0, -1] > drawn.shape[0, 0, 0]
    assert np.all(np.isfinite(response))


def test_all_parameters_matter() -> None:
    parameters = plausible(2)
    plain = stroke(ROD, BOW, parameters).response
    for field in fields(StrokeParameters):
        changed = replace(parameters, **{field.name: 1.1 * getattr(parameters, field.name)})
        assert release_error(stroke(ROD, BOW, changed).response, plain).max() > 1e-5, field.name
    assert INCH == 0.0254
