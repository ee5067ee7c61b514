"""The arrow as the air sees it: places, surfaces, drag, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spinewright.equipment.arrow import ArrowBuild, Component, Fletching, Head, HeadKind
from spinewright.equipment.masses import mass_model
from spinewright.equipment.shaft import Shaft
from spinewright.errors import EquipmentError
from spinewright.flight import FlightBody, drag_coefficient, flight_body
from spinewright.flight.crossflow import FORM, FRICTION

# Invented.
BUILD = ArrowBuild(
    shaft=Shaft(8.6e-3, 0.0219, 0.0061, 0.0052),
    throat_length=0.721,
    carbon_length=0.709,
    nock=Component(0.6e-3, 0.02, -0.002),
    head=Head(7.2e-3, 0.023),
    fletching=Fletching(3, 0.41e-3, 0.054, 0.0113),
)
FIXED = Head(7.2e-3, 0.034, HeadKind.FIXED, 2.4e-4, 2, 0.029)
MECHANICAL = Head(7.2e-3, 0.040, HeadKind.MECHANICAL, 0.5e-4, 2, 0.038)


def body(build: ArrowBuild = BUILD, *, bare: bool = False, head: Head | None = None) -> FlightBody:
    return flight_body(build, mass_model(build, bare=bare), bare=bare, head=head)


@pytest.mark.parametrize("head", [FIXED, MECHANICAL])
def test_no_blades_ever_fly_on_a_bare_shaft(head: Head) -> None:
    hunting = replace(BUILD, head=head)
    for build, on_top in ((BUILD, head), (hunting, None), (hunting, head)):
        with pytest.raises(EquipmentError, match=f"a {head.kind.value} on an unfletched shaft is never flown"):
            body(build, bare=True, head=on_top)


def test_not_even_a_body_made_by_hand_has_blades_without_vanes() -> None:
    armed = body(head=FIXED)
    for change in ({"fletched": False}, {"lift_areas": (armed.lift_areas[0], 0.0, armed.lift_areas[2])}):
        with pytest.raises(EquipmentError, match="on an unfletched shaft is never flown"):
            replace(armed, **change)


def test_a_bare_build_drawn_with_blades_flies_bare_with_a_field_point_of_that_mass() -> None:
    hunting = replace(BUILD, head=FIXED)
    assert not flight_body(hunting, mass_model(hunting, bare=True), bare=True, head=BUILD.head).fletched


def test_a_head_of_another_mass_needs_its_own_build() -> None:
    with pytest.raises(EquipmentError, match=r"the head weighs 9.00 g and the one of the build 7.20 g"):
        body(head=Head(9.0e-3))


def test_places_count_from_the_balance_point() -> None:
    masses = mass_model(BUILD, bare=False)
    arrow = body()
    assert arrow.tip_place == pytest.approx(0.721 + 0.023 - masses.balance)
    assert arrow.nock_place == pytest.approx(-masses.balance)
    assert arrow.lift_places[1] < 0.0 < arrow.lift_places[0]
    assert arrow.mass == masses.total_mass
    assert arrow.inertia == masses.inertia


def test_strips_integrate_the_shaft_exactly() -> None:
    # Closed form: length, first and second moment of a line from throat to front shaft end.
    arrow = body()
    place, length = np.array(arrow.strip_places), np.array(arrow.strip_lengths)
    rear, front = arrow.nock_place, arrow.nock_place + 0.721
    for k in range(3):
        assert float(length @ place**k) == pytest.approx((front ** (k + 1) - rear ** (k + 1)) / (k + 1))


def test_nose_lift_is_two_per_radian_of_the_section() -> None:
    # Munk 1924, slender bodies.
    assert body().lift_areas[0] == pytest.approx(2.0 * math.pi * 0.0061**2 / 4.0)


def test_low_vanes_lift_as_slender_wings() -> None:
    # Jones 1946 (NACA Report 835): slope pi AR/2, which for a pair of spans h is lift area (pi/2) (2h)^2; half of
    # the fins act in a plane. The body between them adds r/(r + h) (Barrowman 1967).
    low = replace(BUILD, fletching=Fletching(4, 0.4e-3, 0.15, 0.002))
    expected = 0.5 * math.pi * (2 * 0.002) ** 2 * (1.0 + 0.00305 / 0.00505)
    assert body(low).lift_areas[1] == pytest.approx(expected, rel=0.03)


def test_larger_vanes_mean_more_drag_and_a_stronger_turn_back() -> None:
    # Miyazaki 2013 (Sports Eng 16:43), a qualitative result.
    large = body(replace(BUILD, fletching=replace(BUILD.fletching, height=0.016, length=0.07)))
    small = body()
    assert drag_coefficient(large, 1.2e4) > drag_coefficient(small, 1.2e4)
    assert large.lift_moments[:, 1].sum() < small.lift_moments[:, 1].sum() < 0.0


def test_blades_in_front_work_against_the_vanes_and_folded_ones_only_a_little() -> None:
    point, fixed, mechanical = (body(head=head).lift_moments[:, 1].sum() for head in (None, FIXED, MECHANICAL))
    unmeasured = body(head=replace(MECHANICAL, blade_area=0.0, blade_count=0)).lift_moments[:, 1].sum()
    assert point < mechanical < fixed < 0.0
    assert point < unmeasured < fixed
    assert (mechanical - point) < 0.25 * (fixed - point)


def test_a_bare_shaft_is_turned_further_by_its_nose() -> None:
    bare = body(bare=True)
    assert not bare.fletched
    assert bare.lift_moments[:, 1].sum() > 0.0


@given(st.floats(1e3, 1e5), st.floats(0.0, 0.1), st.booleans())
def test_drag_lies_between_laminar_and_turbulent(reynolds: float, incidence: float, bare: bool) -> None:
    arrow = body(bare=bare)
    laminar = arrow.drag.tail + arrow.drag.fins * reynolds**-0.2 + arrow.drag.laminar * reynolds**-0.5
    turbulent = drag_coefficient(arrow, reynolds, tripped=True)
    low, high = sorted((laminar, turbulent))
    assert low - 1e-12 <= drag_coefficient(arrow, reynolds, incidence=incidence) <= high + 1e-12


def test_incidence_of_more_than_a_degree_trips_the_layer_and_so_do_blades() -> None:
    # A published qualitative result (Miyazaki 2013): a streamlined point keeps the layer laminar.
    arrow = body()
    laminar, tripped = drag_coefficient(arrow, 1.2e4), drag_coefficient(arrow, 1.2e4, tripped=True)
    assert tripped > 1.2 * laminar
    assert drag_coefficient(arrow, 1.2e4, incidence=math.radians(0.7)) == laminar
    assert drag_coefficient(arrow, 1.2e4, incidence=-math.radians(1.3)) == pytest.approx(tripped)
    blades = body(head=FIXED)
    assert drag_coefficient(blades, 1.2e4) == drag_coefficient(blades, 1.2e4, tripped=True)


def test_crossflow_stays_near_the_fit_of_a_cylinder_across_the_stream() -> None:
    # White, Viscous Fluid Flow: Cd = 1 + 10 Re^(-2/3), from memory. The friction is in it, so it is not added again.
    reynolds = np.geomspace(40.0, 1e4, 50)
    ours = FORM + FRICTION / np.sqrt(reynolds)
    assert np.abs(ours / (1.0 + 10.0 * reynolds ** (-2.0 / 3.0)) - 1.0).max() < 0.12
