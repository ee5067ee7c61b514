"""Physics at its edges: random legal benches through stroke and flight; ``make soak`` has 100,000."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from soak.equipment_draws import HEAVIEST, LIGHTEST, draw_equipment
from soak.physics import STEP_CHANGE, Tally, physics, try_draw
from tests.unit.mechanics_samples import AMPLITUDES, arrow, bow, bow_in_motion, one, plausible

from spinewright.equipment import DrawCurve, mass_model
from spinewright.flight import FlightBody, flight_body, fly, nominal_flight
from spinewright.mechanics import StrokeSettings, bow_motion, build_rod, stroke
from spinewright.mechanics.forward import Forward, release_of, run_forward
from spinewright.mechanics.held_rod import rod_arrays
from spinewright.mechanics.release_energy import energy_across, free_release
from spinewright.mechanics.reweigh import reweighed
from spinewright.mechanics.stroke import fine_enough, hold_for, parameter_rows, stroke_effects
from spinewright.units import INCH, POUND_FORCE


@pytest.mark.slow
@pytest.mark.parametrize("draws", [40, pytest.param(300, marks=pytest.mark.endurance)])
def test_random_legal_equipment_gives_answers_that_hold_or_says_why(draws: int) -> None:
    # seeded; what is held, and to what, stands in soak/physics.py
    found = physics(draws, np.random.default_rng(20), thorough_every=25)
    assert found.faults == ()
    counts = {row[0]: int(row[1]) for row in found.rows if row[1]}
    assert counts["the mirrored flight is the exact mirror"] > draws
    assert counts["change of the release when steps are halved"] > draws // 30
    assert counts["energy at the release over that given, less one"] > draws * 2 // 3


def test_the_draws_reach_over_the_whole_range() -> None:
    rng = np.random.default_rng(1)
    setups = [draw_equipment(rng).setup for _ in range(300)]
    pounds = [setup.bow.peak_weight / POUND_FORCE for setup in setups]
    masses = [setup.build.total_mass(bare=False) for setup in setups]
    spines = [setup.build.shaft.static_spine / INCH for setup in setups]
    lengths = [setup.build.throat_length / INCH for setup in setups]
    for values, low, high in ((pounds, 8, 90), (spines, 0.15, 2.0), (lengths, 18.0, 34.0)):
        assert min(values) == pytest.approx(low, abs=1e-3)
        assert max(values) == pytest.approx(high, rel=1e-9)
    assert LIGHTEST <= min(masses) < 1.3 * LIGHTEST
    assert 0.9 * HEAVIEST < max(masses) <= HEAVIEST


def test_the_energy_counted_is_that_of_the_stroke_run_forward_by_itself() -> None:
    # computed: the array writing of the same equations, 250 steps; rest dropped, so the free arrow is what is left
    rod, moving, parameters = build_rod(arrow()), bow_in_motion(), one(plausible(3, 4, drops_after=0.08), 1)
    amplitudes = np.random.default_rng(5).normal(size=(1, 2, 8)) * AMPLITUDES
    rows, still = parameter_rows(parameters), np.zeros(1)
    held = hold_for(rod, moving, rows, StrokeSettings())
    run = Forward(held, moving, rows, amplitudes, still, still, steps=250)
    place, speed = run_forward(run)
    nock = np.concatenate([[held.body[0] ** -0.5, -held.body[1] * held.body[2] ** -0.5], held.table[0, 0, :7]])
    moves = 0.5 * float((speed**2).sum() - held.nock_mass * ((speed @ nock) ** 2).sum())
    bends = 0.5 * float((held.stiffness * rows[0, :2, None] * place[0, :, 2:] ** 2).sum())
    assert energy_across(held, moving, rows[0], amplitudes[0]) == pytest.approx((moves, bends), rel=2e-3)
    released = release_of(run, place, speed)[0]
    rigid = 0.5 * (rod.mass * (released[:, 1] ** 2).sum() + rod.inertia * (released[:, 3] ** 2).sum())
    assert rigid < moves


def test_the_shapes_left_are_those_of_strokes_run_forward_by_themselves() -> None:
    # computed: the array writing of the same equations, 800 steps, told in the free arrow's shapes; bows whose strings
    # and rests differ, of which one stands for all in the shapes
    rod, moving = build_rod(arrow(), modes=3), bow_in_motion()
    rows = parameter_rows(plausible(6, 4))
    amplitudes = np.random.default_rng(6).normal(size=(6, 2, 8)) * AMPLITUDES
    held, still = hold_for(rod, moving, rows, StrokeSettings()), np.zeros(6)
    assert np.ptp(rows[:, 7]) > 0.1 * held.nock_mass
    forward = run_forward(Forward(held, moving, rows, amplitudes, still, still, steps=800))
    _, turn = reweighed(rod_arrays(held), -held.nock_mass)
    nock = np.concatenate([[held.body[0] ** -0.5, -held.body[1] * held.body[2] ** -0.5], held.table[0, 0, :3]])
    over = turn - held.nock_mass * np.outer(nock, nock @ turn)
    for found, computed in zip(free_release(held, moving, rows, amplitudes), forward, strict=True):
        told = computed @ over
        assert (np.abs(found - told).max(axis=(0, 1)) < 0.01 * np.abs(told).max(axis=(0, 1))).all()


def test_a_tally_names_what_is_wrong() -> None:
    tally = Tally()
    tally.hold("energy", float("nan"), 0.1, 3)
    tally.hold("energy", 0.2, 0.1, 4)
    tally.hold("energy", 0.05, 0.1, 5)
    tally.demand("finite", False, 6)
    assert [fault.split(":")[0] for fault in tally.faults] == ["draw 3", "draw 4", "draw 6"]
    drawn = draw_equipment(np.random.default_rng(2))
    broken = replace(drawn, amplitudes=np.full((1, 2, 8), np.nan))
    try_draw(broken, 7, tally, thorough=False)
    assert any("release is finite" in fault for fault in tally.faults[3:])


@pytest.mark.parametrize(("spine", "drops_after"), [(0.33, None), (0.33, 9.0), (0.48, None)])
def test_steps_are_short_enough_unless_others_are_asked_for(spine: float, drops_after: float | None) -> None:
    # computed: the same stroke in steps half as long
    rod, moving, parameters = build_rod(arrow(30.0, spine)), bow_in_motion(bow(70.0)), plausible(12, 6, drops_after)
    usual = fine_enough(rod, moving, parameter_rows(parameters))
    halved = StrokeSettings(steps=2 * usual.steps, reach=0.5 * usual.reach)
    coarse, fine = (stroke(rod, moving, parameters, s) for s in (None, halved))
    assert coarse.solved.all()
    wrong, size = ((x * AMPLITUDES[:, None]) ** 2 for x in (coarse.response - fine.response, fine.response))
    change = np.sqrt((wrong.sum(axis=2) / size.sum(axis=2)).sum(axis=2) / 4.0)
    assert change.max() < STEP_CHANGE


def test_a_shaft_far_too_weak_is_no_answer_though_its_numbers_are_finite() -> None:
    # bending that takes more than a tenth of what the bow gave is outside the model: it is not taken off the speed
    moving, parameters = bow_in_motion(bow(90.0)), plausible(6, drops_after=9.0)
    weak = build_rod(arrow(33.0, 1.9))
    result = stroke(weak, moving, parameters)
    assert not result.solved.any()
    assert "of the bow's peak thrust without buckling" in result.reason
    effects, _, _ = stroke_effects(weak, moving, parameter_rows(parameters), StrokeSettings())
    assert np.abs(effects).max() < 1e6  # so it was the judgement that refused, not a number out of range


def test_a_shaft_that_plausible_disturbances_bend_too_far_is_no_answer() -> None:
    # computed: the array writing of the same equations; this random bench's shaft carries 0.61 of the thrust
    drawn = draw_equipment(np.random.default_rng(2394))
    moving = bow_motion(DrawCurve.of(drawn.setup.bow), drawn.setup.bow)
    rod, rows = build_rod(mass_model(drawn.setup.build, bare=False)), parameter_rows(drawn.stroke)
    held, still = hold_for(rod, moving, rows, StrokeSettings()), np.zeros(8)
    alone = np.einsum("kc,p->kpc", np.diag(AMPLITUDES), np.ones(2))
    run = Forward(held, moving, rows.repeat(8, axis=0), alone, still, still)
    bent = 0.5 * float((held.stiffness * rows[0, :2, None] * run_forward(run)[0][:, :, 2:] ** 2).sum())
    assert bent > 0.005 * rows[0, 2] * moving.energy
    result = stroke(rod, moving, drawn.stroke)
    assert not result.solved.any()
    assert "stiffer or shorter shaft" in result.reason
    build = drawn.setup.build
    stiffer = replace(build, shaft=replace(build.shaft, static_spine=0.8 * build.shaft.static_spine))
    assert stroke(build_rod(mass_model(stiffer, bare=False)), moving, drawn.stroke).solved.all()


def _body() -> FlightBody:
    build = draw_equipment(np.random.default_rng(4)).setup.build
    return flight_body(build, mass_model(build, bare=False), bare=False)


def test_a_release_with_too_much_energy_across_is_not_flown() -> None:
    release = np.zeros((2, 2, 4))
    release[1, 0, 1] = 25.0  # m/s to the left at 80 m/s: a tenth of the energy
    result = fly(_body(), np.full(2, 80.0), release, nominal_flight(2), np.array([18.288]))
    assert result.solved[1] == np.False_
    assert "energy across the shot" in result.reason
    assert not result.hole[1].any()


def test_every_draw_has_a_curve_that_stores_energy() -> None:
    rng = np.random.default_rng(8)
    for _ in range(60):
        found = draw_equipment(rng).setup.bow
        curve = DrawCurve.of(found)
        assert 0.0 < curve.stored_energy <= curve.peak * curve.stroke
        assert bow_motion(curve, found).energy == pytest.approx(curve.stored_energy, rel=1e-4)
