"""Slowing, drift, trim and the turn of a fletched arrow, without integrating."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

import spinewright.flight
from spinewright.equipment.arrow import ArrowBuild, Component, Fletching, Head
from spinewright.equipment.masses import mass_model
from spinewright.equipment.shaft import Shaft
from spinewright.errors import EquipmentError, InputError
from spinewright.flight import (
    FlightBody,
    coast,
    drift,
    flight_body,
    fly,
    nominal_flight,
    trim_angle,
    turn_of_fletched,
)

# Invented.
BUILD = ArrowBuild(
    shaft=Shaft(8.6e-3, 0.0219, 0.0061, 0.0052),
    throat_length=0.721,
    carbon_length=0.709,
    nock=Component(0.6e-3, 0.02, -0.002),
    head=Head(7.2e-3, 0.023),
    fletching=Fletching(3, 0.41e-3, 0.054, 0.0113),
)


def body(build: ArrowBuild = BUILD, *, bare: bool = False) -> FlightBody:
    return flight_body(build, mass_model(build, bare=bare), bare=bare)


def test_public_names_are_exact() -> None:
    public = {name for name in dir(spinewright.flight) if not name.startswith("_")}
    modules = {"air", "along_wind", "body", "closed_forms", "crossflow", "drag", "kernel", "trajectory", "values"}
    assert public - modules == set(spinewright.flight.__all__)


def test_coasting_without_drag_is_distance_over_speed() -> None:
    assert coast(50.0, 80.0, 0.0) == (50.0 / 80.0, 80.0)


def test_coasting_solves_its_own_equation() -> None:
    # Computed: central differences of dv/dx = -k v and dt/dx = 1/v.
    before, after = coast(39.999, 80.0, 2e-3), coast(40.001, 80.0, 2e-3)
    _, speed = coast(40.0, 80.0, 2e-3)
    assert (after[1] - before[1]) / 0.002 == pytest.approx(-2e-3 * speed, rel=1e-6)
    assert (after[0] - before[0]) / 0.002 == pytest.approx(1.0 / speed, rel=1e-6)


def test_drift_is_nothing_without_lag_and_goes_with_the_wind() -> None:
    assert drift(4.0, 0.5, 40.0, 80.0) == 0.0
    assert drift(-4.0, 0.6, 40.0, 80.0) == pytest.approx(-0.4)


def test_a_fletched_arrow_trims_straight() -> None:
    assert trim_angle(body()) == 0.0


def test_trim_angle_balances_nose_and_shaft() -> None:
    # Computed: moments added up strip by strip.
    bare, speed = body(bare=True), 84.0
    angle = trim_angle(bare, speed=speed)
    cross = speed * angle
    friction = 4.0 * math.sqrt(1.81e-5 / (1.204 * cross * bare.diameter))
    place, length = np.array(bare.strip_places), np.array(bare.strip_lengths)
    shaft = 0.5 * 1.204 * bare.diameter * (1.0 + friction) * cross**2 * float(place @ length)
    nose = 0.5 * 1.204 * speed**2 * bare.lift_areas[0] * angle * bare.lift_places[0]
    assert nose + shaft == pytest.approx(0.0, abs=1e-12)
    assert angle < trim_angle(bare)


def test_a_shaft_balanced_behind_its_middle_has_no_trim() -> None:
    heavy_tail = replace(BUILD, nock=Component(9e-3, 0.02, 0.0))
    with pytest.raises(EquipmentError, match="behind the middle"):
        trim_angle(body(heavy_tail, bare=True))


def test_the_swing_of_a_fletched_arrow_is_the_one_that_is_flown() -> None:
    # Computed: returns through zero of a small flown yaw are half a wavelength apart; cross-flow is left out of the
    # closed form, so it is switched off.
    arrow, calm = body(), replace(nominal_flight(1), cross_factor=np.zeros(1), drag_factor=np.zeros(1))
    turn = turn_of_fletched(arrow)
    reach = np.linspace(1.0, 60.0, 1500)
    release = np.zeros((1, 2, 4))
    release[0, 0, 2] = 1e-3
    angle = fly(arrow, np.array([80.0]), release, calm, reach).angle[0, :, 0]
    crossings = reach[:-1][np.diff(np.sign(angle)) != 0]
    assert np.diff(crossings)[0] == pytest.approx(0.5 * turn.wavelength, rel=0.01)
    swings = [np.abs(angle[(reach > a) & (reach <= b)]).max() for a, b in itertools.pairwise(crossings)]
    assert swings[1] / swings[0] == pytest.approx(math.exp(-0.5 * turn.wavelength / turn.shed), rel=0.05)


def test_larger_vanes_swing_faster_and_shed_sooner() -> None:
    large = turn_of_fletched(body(replace(BUILD, fletching=replace(BUILD.fletching, height=0.017, length=0.08))))
    small = turn_of_fletched(body())
    assert large.wavelength < small.wavelength
    assert large.shed < small.shed


def test_a_bare_shaft_has_no_swing() -> None:
    with pytest.raises(InputError, match="turns this arrow back"):
        turn_of_fletched(body(bare=True))


def test_huge_vanes_shed_without_swinging() -> None:
    # Computed: far over-damped in air a hundred times as dense.
    turn = turn_of_fletched(body(), air_density=400.0)
    assert turn.wavelength == 0.0
    assert 0.0 < turn.shed < 10.0
