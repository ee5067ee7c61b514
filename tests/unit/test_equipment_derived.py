"""What follows from the equipment: masses, draw curve, virtual mass, limits, faces and scatter."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.unit.equipment_samples import READINGS, a_bow, a_build, a_setup

from spinewright.equipment import (
    FACES,
    Bow,
    CurveShape,
    DrawCurve,
    ForceReading,
    Head,
    HeadKind,
    LimitKind,
    LimitState,
    SpeedReading,
    doubt_of_group,
    doubt_of_score,
    expected_extent,
    expected_score,
    face_named,
    fit_virtual_mass,
    mass_model,
    safety_limits,
    scatter_from_group,
    scatter_from_score,
    zone_shares,
)
from spinewright.errors import EquipmentError
from spinewright.units import FOOT, GRAIN, INCH, POUND_FORCE, System


class TestMasses:
    def test_bare_shaft_is_lighter_by_its_vanes_and_balances_further_forward(self) -> None:
        build = a_build()
        fletched, bare = mass_model(build, bare=False), mass_model(build, bare=True)
        assert fletched.total_mass - bare.total_mass == pytest.approx(build.fletching.total_mass, rel=1e-12)
        assert bare.balance > fletched.balance
        assert bare.foc > fletched.foc
        assert [lump.name for lump in bare.lumps] == ["nock", "wrap", "insert", "head"]
        assert fletched.total_mass == pytest.approx(build.total_mass(bare=False), rel=1e-12)
        assert bare.total_mass == pytest.approx(build.total_mass(bare=True), rel=1e-12)

    def test_taped_bare_shaft_balances_as_the_fletched_one(self) -> None:
        build = a_build(tape_mass=a_build().fletching.total_mass)
        fletched, bare = mass_model(build, bare=False), mass_model(build, bare=True)
        assert build.balanced
        assert not a_build().balanced
        assert (bare.total_mass, bare.balance, bare.inertia) == (
            fletched.total_mass,
            fletched.balance,
            fletched.inertia,
        )

    def test_places(self) -> None:
        build = a_build()
        model = mass_model(build, bare=False)
        places = {lump.name: lump.position for lump in model.lumps}
        assert model.carbon_start == pytest.approx(0.6 * INCH)
        assert places["nock"] == pytest.approx(model.carbon_start)
        assert places["wrap"] == pytest.approx(model.carbon_start + 0.05)
        assert places["vanes"] == pytest.approx(0.029 + 0.0515 / 2)
        assert places["insert"] == pytest.approx(model.length - 0.0235 / 2)
        assert 0.0 < places["head"] - model.length < 0.024 / 2
        assert build.shaft.bending_stiffness == model.EI

    @given(st.floats(60.0, 200.0), st.floats(1.0, 60.0))
    def test_more_point_weight_moves_the_balance_forward(self, point: float, more: float) -> None:
        light = mass_model(a_build(head=Head(point * GRAIN)), bare=False)
        heavy = mass_model(a_build(head=Head((point + more) * GRAIN)), bare=False)
        assert heavy.foc > light.foc
        assert heavy.inertia > light.inertia

    def test_a_long_head_carries_its_mass_further_forward(self) -> None:
        head = Head(0.0065, 0.05, HeadKind.FIXED, 2e-4, 3, 0.028)
        assert mass_model(a_build(head=head), bare=False).foc > mass_model(a_build(head=Head(0.0065)), bare=False).foc

    def test_lumps_are_read_only(self) -> None:
        with pytest.raises(ValueError, match="read-only"):
            mass_model(a_build(), bare=True).masses[0] = 1.0


class TestDrawCurve:
    def test_goes_through_the_readings_and_never_overshoots(self) -> None:
        bow = a_bow(curve=READINGS)
        curve = DrawCurve.of(bow)
        for reading in READINGS:
            assert float(curve.force(reading.draw - bow.brace_height)) == pytest.approx(reading.force, rel=1e-9)
        _, force = curve.table(2001)
        assert force.max() <= curve.peak * (1 + 1e-12)
        assert force.min() >= 0.0
        assert curve.scaled_by == pytest.approx(1.0)
        assert curve.stated == "through 12 readings of the scale"

    def test_is_scaled_to_the_weight_measured_last_and_says_so(self) -> None:
        bow = a_bow(curve=READINGS)
        curve = DrawCurve.of(bow, 0.9 * bow.peak_weight)
        assert curve.peak == pytest.approx(0.9 * bow.peak_weight)
        assert curve.stored_energy == pytest.approx(0.9 * DrawCurve.of(bow).stored_energy)
        assert "multiplied by 0.900" in curve.stated

    def test_readings_a_little_outside_the_stroke_are_roundings_of_its_ends(self) -> None:
        bow = a_bow(curve=READINGS)
        last = READINGS[-1]
        around = (
            ForceReading(bow.brace_height - 0.002, 0.5),
            ForceReading(bow.brace_height - 0.001, 1.0),
            *READINGS[:-1],
            ForceReading(bow.nock_to_pivot + 0.001, last.force + 2.0),
            ForceReading(bow.nock_to_pivot + 0.0015, last.force + 1.0),
            ForceReading(bow.nock_to_pivot + 0.002, last.force),
        )
        curve = DrawCurve.of(replace(bow, curve=around))
        assert float(curve.force(0.0)) == pytest.approx(1.0, rel=1e-9)  # the last of those at brace
        assert curve.holding == pytest.approx(last.force, rel=1e-9)
        assert curve.stroke == bow.stroke
        assert curve.knots.size == len(around) - 3

    def test_ends_at_holding_weight_when_the_last_reading_is_short(self) -> None:
        bow = a_bow(curve=READINGS[:-1])
        curve = DrawCurve.of(bow)
        assert curve.stroke == pytest.approx(bow.stroke)
        assert curve.holding == pytest.approx(bow.holding_weight)

    @pytest.mark.parametrize("shape", list(CurveShape))
    def test_named_shapes(self, shape: CurveShape) -> None:
        bow = a_bow(curve=shape)
        curve = DrawCurve.of(bow)
        distance, force = curve.table(501)
        assert (distance[0], distance[-1]) == (0.0, bow.stroke)
        assert force[0] == 0.0
        assert force.max() == pytest.approx(bow.peak_weight)
        assert force[-1] == pytest.approx(bow.holding_weight)
        top = int(force.argmax())
        assert (np.diff(force[: top + 1]) >= -1e-9).all()
        assert (np.diff(force[np.flatnonzero(force >= force.max() - 1e-9)[-1] :]) <= 1e-9).all()
        assert "not measured" in curve.stated
        assert curve.energy_doubt > DrawCurve.of(a_bow(curve=READINGS)).energy_doubt

    def test_shapes_store_what_their_note_says(self) -> None:
        shares = []
        for shape in CurveShape:
            curve = DrawCurve.of(a_bow(curve=shape, let_off=0.8))
            shares.append(round(curve.stored_energy / (curve.peak * curve.stroke), 2))
        assert shares == [0.64, 0.75, 0.84]

    def test_energy_is_the_integral_of_the_force(self) -> None:
        curve = DrawCurve.of(a_bow(curve=READINGS))
        distance, force = curve.table(20001)
        assert curve.stored_energy == pytest.approx(float(np.trapezoid(force, distance)), rel=1e-6)
        assert float(curve.energy(0.0)) == 0.0

    def test_beyond_the_ends_the_force_stays(self) -> None:
        curve = DrawCurve.of(a_bow())
        assert float(curve.force(-0.1)) == 0.0
        assert float(curve.force(9.0)) == pytest.approx(curve.holding)

    def test_a_reading_at_brace_is_taken(self) -> None:
        at_brace = ForceReading(6.4 * INCH, 0.0)
        curve = DrawCurve.of(a_bow(curve=(at_brace, *READINGS)))
        assert float(curve.force(0.0)) == 0.0

    @given(st.floats(0.01, 0.06), st.floats(1.01, 3.0))
    def test_time_grows_with_the_root_of_the_mass(self, mass: float, more: float) -> None:
        curve = DrawCurve.of(a_bow())
        assert curve.time(mass * more) / curve.time(mass) == pytest.approx(math.sqrt(more), rel=1e-12)


class TestVirtualMass:
    def bow_and_curve(self) -> tuple[Bow, DrawCurve]:
        bow = a_bow(curve=READINGS)
        return bow, DrawCurve.of(bow)

    def test_no_reading_is_the_prior(self) -> None:
        _, curve = self.bow_and_curve()
        fit = fit_virtual_mass(curve)
        assert (fit.readings, fit.conflict) == (0, "")
        assert fit.mass == pytest.approx(5e-3)
        assert fit.mass_sd == pytest.approx(0.35 * 5e-3)
        assert fit.energy_factor == pytest.approx(0.94)
        assert fit.correlation == pytest.approx(0.0, abs=1e-12)

    def test_one_reading_ties_the_two_and_is_met(self) -> None:
        _, curve = self.bow_and_curve()
        fit = fit_virtual_mass(curve, (SpeedReading(420 * GRAIN, 270 * FOOT, 0.6),))
        assert fit.speed(420 * GRAIN) == pytest.approx(270 * FOOT, abs=0.3)
        # its own doubt and half a percent that all readings share (from memory, stated in the product)
        assert fit.speed_sd(420 * GRAIN) < math.hypot(0.6, 0.005 * 270 * FOOT)
        near, far = (fit.speed_sd(grains * GRAIN) / fit.speed(grains * GRAIN) for grains in (420, 800))
        assert near < far
        assert fit.correlation > 0.5

    def test_more_readings_do_not_average_out_what_the_chronograph_is_off_by(self) -> None:
        _, curve = self.bow_and_curve()
        once = SpeedReading(420 * GRAIN, 270 * FOOT, 0.6)
        doubts = [fit_virtual_mass(curve, (once,) * n).speed_sd(420 * GRAIN) for n in (1, 10, 1000)]
        assert doubts == sorted(doubts, reverse=True)
        # the prior knows the speed to a little over 2 %, so it takes hardly anything off the half percent
        assert doubts[-1] == pytest.approx(0.005 * 270 * FOOT, rel=0.05)

    def test_two_weights_determine_both_and_more_sharply(self) -> None:
        _, curve = self.bow_and_curve()
        truth, factor = 4.2e-3, 0.92

        def reading(grains: float) -> SpeedReading:
            return SpeedReading(
                grains * GRAIN, math.sqrt(2 * factor * curve.stored_energy / (grains * GRAIN + truth)), 0.1
            )

        one = fit_virtual_mass(curve, (reading(350),))
        two = fit_virtual_mass(curve, (reading(350), reading(650)))
        assert two.mass_sd < 0.4 * one.mass_sd
        assert abs(two.mass - truth) < 2.5 * two.mass_sd
        assert abs(two.energy_factor - factor) < 2.5 * two.energy_factor_sd

    def test_posterior_covers_seeded_truths(self) -> None:
        # computed: 400 bows drawn from the prior, read twice with noise; 80 % intervals of ln m_v (binomial, 4 sds)
        _, curve = self.bow_and_curve()
        rng = np.random.default_rng(271)
        hits = 0
        for _ in range(400):
            mass = 5e-3 * math.exp(0.35 * rng.standard_normal())
            factor = 0.94 * math.exp(math.hypot(0.05, curve.energy_doubt) * rng.standard_normal())
            readings = tuple(
                SpeedReading(m, math.sqrt(2 * factor * curve.stored_energy / (m + mass)) + 0.6 * rng.standard_normal())
                for m in (0.022, 0.032)
            )
            fit = fit_virtual_mass(curve, readings)
            hits += abs(math.log(mass / fit.mass)) < 1.2816 * fit.mass_sd / fit.mass
        assert abs(hits - 320) < 4 * math.sqrt(400 * 0.8 * 0.2)

    @pytest.mark.parametrize("heavy", [225.0, 315.0])
    def test_two_readings_that_cannot_be_one_bow(self, heavy: float) -> None:
        _, curve = self.bow_and_curve()
        readings = (SpeedReading(350 * GRAIN, 295 * FOOT, 0.4), SpeedReading(520 * GRAIN, heavy * FOOT, 0.4))
        with pytest.raises(EquipmentError, match="cannot both come from one bow"):
            fit_virtual_mass(curve, readings)

    def test_a_slightly_negative_mass_within_doubt_is_only_scatter(self) -> None:
        _, curve = self.bow_and_curve()
        readings = (SpeedReading(400 * GRAIN, 280 * FOOT, 0.8), SpeedReading(430 * GRAIN, 269.5 * FOOT, 0.8))
        assert fit_virtual_mass(curve, readings).mass > 0.0

    def test_conflicts_are_said(self) -> None:
        _, curve = self.bow_and_curve()
        fast = fit_virtual_mass(curve, (SpeedReading(420 * GRAIN, 350 * FOOT),))
        assert "times the energy of the draw curve" in fast.conflict
        twice = (SpeedReading(420 * GRAIN, 270 * FOOT, 0.3), SpeedReading(420 * GRAIN, 285 * FOOT, 0.3))
        assert "do not agree with one another" in fit_virtual_mass(curve, twice).conflict

    def test_launch_adds_up(self) -> None:
        bow, curve = self.bow_and_curve()
        launch = fit_virtual_mass(curve, (SpeedReading(420 * GRAIN, 270 * FOOT),)).launch(420 * GRAIN)
        assert launch.energy == pytest.approx(launch.momentum * launch.speed / 2)
        assert launch.mass_per_force == pytest.approx(420 * GRAIN / bow.peak_weight)
        assert 0.5 < launch.efficiency < 1.0
        assert launch.time_on_string > 2 * curve.stroke / launch.speed * 0.5


class TestLimits:
    def state(self, kind: LimitKind, **changes: object) -> LimitState:
        setup = a_setup(**changes)
        return next(limit.state for limit in safety_limits(setup) if limit.what is kind)

    def test_the_stricter_arrow_mass_counts(self) -> None:
        setup = a_setup(bow=a_bow(lightest_arrow=360 * GRAIN))
        limit = safety_limits(setup)[0]
        assert limit.bound == pytest.approx(360 * GRAIN)
        assert "maker" in limit.because
        assert safety_limits(a_setup())[0].bound == pytest.approx(5 * 61.5 * GRAIN)

    def test_a_bare_shaft_may_be_too_light_alone(self) -> None:
        between = (a_build().total_mass(bare=True) + a_build().total_mass(bare=False)) / 2
        setup = a_setup(bow=a_bow(lightest_arrow=between))
        assert safety_limits(setup)[0].state is LimitState.KEPT
        limit = safety_limits(setup, bare=True)[0]
        assert limit.state is LimitState.BROKEN
        assert limit.sentence(System.INCH).endswith("do not shoot this.")

    def test_bolts_turned_in_raise_the_lightest_arrow(self) -> None:
        setup = a_setup(bolt_turns=2.0, bolts_since_weighed=2.0)
        assert setup.present_peak_weight == pytest.approx((61.5 + 5.4) * POUND_FORCE)
        assert safety_limits(setup)[0].bound == pytest.approx(5 * 66.9 * GRAIN)

    def test_weak_spine(self) -> None:
        assert self.state(LimitKind.WEAKEST_SPINE) is LimitState.UNKNOWN
        assert self.state(LimitKind.WEAKEST_SPINE, bow=a_bow(weakest_spine=0.372 * INCH)) is LimitState.KEPT
        assert self.state(LimitKind.WEAKEST_SPINE, bow=a_bow(weakest_spine=0.340 * INCH)) is LimitState.BROKEN

    def test_short_arrow_is_a_warning(self) -> None:
        setup = a_setup(build=a_build(throat_length=27.4 * INCH, carbon_length=26.8 * INCH))
        limit = next(limit for limit in safety_limits(setup) if limit.what is LimitKind.SHORTEST_LENGTH)
        assert setup.rest_reach == pytest.approx(27.0 * INCH)
        assert limit.state is LimitState.BROKEN
        assert limit.warning_only
        assert "facing a backstop and with a helper" in limit.sentence(System.METRIC)

    def test_bolts(self) -> None:
        bow = a_bow(turns_allowed=6.0, turns_out_now=2.0)
        assert self.state(LimitKind.BOLT_TURNS) is LimitState.UNKNOWN
        assert self.state(LimitKind.BOLT_TURNS, bow=bow, bolt_turns=-4.0) is LimitState.KEPT
        assert self.state(LimitKind.BOLT_TURNS, bow=bow, bolt_turns=-4.5) is LimitState.BROKEN

    def test_every_limit_has_a_sentence(self) -> None:
        for limit in safety_limits(a_setup(bow=a_bow(turns_allowed=6.0, weakest_spine=0.4 * INCH))):
            for system in System:
                assert limit.sentence(system).startswith(limit.what.capitalize())
                assert limit.sentence(system).endswith(".")


class TestFacesAndScatter:
    @pytest.mark.parametrize("face", FACES, ids=lambda face: face.name)
    def test_shares_add_up_and_radii_grow(self, face: object) -> None:
        assert face in FACES
        known = next(one for one in FACES if one == face)
        radii = [radius for _, radius in known.rings]
        assert radii == sorted(radii)
        for offset in ((0.0, 0.0), (0.03, -0.05)):
            assert sum(zone_shares(known, 0.06, offset, 0.006).values()) == pytest.approx(1.0)

    def test_inner_ten_scores_less(self) -> None:
        assert expected_score(face_named("40 cm, inner ten"), 0.015) < expected_score(face_named("40 cm"), 0.015)
        assert face_named("60 CM  triple, inner ten").rings[0] == (10, 0.015)

    def test_unknown_face(self) -> None:
        with pytest.raises(EquipmentError, match="no face is called '50 cm'; choose one of 122 cm"):
            face_named("50 cm", field="archer.score_face")

    @given(st.floats(5e-4, 6e-3), st.sampled_from(FACES[:4]), st.sampled_from([18.0, 50.0]))
    def test_a_score_gives_its_scatter_back(self, scatter: float, face: object, distance: float) -> None:
        known = next(one for one in FACES if one == face)
        score = 60 * expected_score(known, scatter * distance, shaft_diameter=0.006)
        if not 60.0 < score < 598.0:
            return
        found = scatter_from_score(score, 600, 60, known, distance, shaft_diameter=0.006)
        assert found == pytest.approx(scatter, rel=1e-6)

    @given(st.floats(0.02, 0.2), st.integers(2, 200))
    def test_a_group_gives_its_scatter(self, extent: float, shots: int) -> None:
        assert scatter_from_group(extent, shots, 18.0) * 18.0 * expected_extent(shots)[0] == pytest.approx(extent)

    def test_between_rows_of_the_table(self) -> None:
        means = [expected_extent(n)[0] for n in range(2, 201)]
        spreads = [expected_extent(n)[1] for n in range(2, 201)]
        assert means == sorted(means)
        assert spreads == sorted(spreads, reverse=True)

    def test_doubt_shrinks_with_more_shots_and_never_below_day_to_day(self) -> None:
        assert doubt_of_group(3) > doubt_of_group(6) > doubt_of_group(6, groups=10) > 0.10
        face = face_named("40 cm")
        assert doubt_of_score(1.2e-3, 30, face, 18.0) > doubt_of_score(1.2e-3, 120, face, 18.0) > 0.10

    @pytest.mark.parametrize(
        ("score", "maximum", "arrows", "sentence"),
        [
            (720.0, 720.0, 72, "a full score does not say how small the group is"),
            (0.0, 720.0, 72, "0 cannot be scored"),
            (800.0, 720.0, 72, "800 cannot be scored"),
            (600.0, 700.0, 72, "72 arrows on a 122 cm face make 720, not 700"),
            (math.nan, 720.0, 72, "cannot be scored"),
            (600.0, 720.0, 0, "number of arrows in the round"),
        ],
    )
    def test_impossible_rounds(self, score: float, maximum: float, arrows: int, sentence: str) -> None:
        with pytest.raises(EquipmentError, match=sentence):
            scatter_from_score(score, maximum, arrows, face_named("122 cm"), 70.0)

    @pytest.mark.parametrize(("extent", "shots", "distance"), [(0.05, 1, 18.0), (0.0, 5, 18.0), (0.05, 5, 0.0)])
    def test_impossible_groups(self, extent: float, shots: int, distance: float) -> None:
        with pytest.raises(EquipmentError):
            scatter_from_group(extent, shots, distance)


def test_naming_equipment_loads_no_heavy_library() -> None:
    code = (
        "import sys, spinewright.equipment; print({'numpy', 'scipy', 'numba', 'pint', 'matplotlib'} & {*sys.modules})"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)  # noqa: S603 - our own interpreter
    assert run.stdout.strip() == "set()"


def test_replacing_keeps_values_frozen() -> None:
    bow = a_bow()
    with pytest.raises(AttributeError):
        bow.peak_weight = 1.0  # type: ignore[misc] # that is the point
    assert replace(bow) == bow
    assert hash(replace(bow)) == hash(bow)
