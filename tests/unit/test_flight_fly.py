"""Flights: symmetries that must hold exactly, signs, and how a batch fails."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from spinewright.equipment.arrow import ArrowBuild, Component, Fletching, Head, HeadKind
from spinewright.equipment.masses import mass_model
from spinewright.equipment.shaft import Shaft
from spinewright.errors import InputError
from spinewright.flight import GRAVITY, FlightBody, FlightParameters, FlightResult, flight_body, fly, nominal_flight
from spinewright.flight.kernel import Row, slope

FloatArray = NDArray[np.float64]

GRAIN, INCH, YARD, FOOT = 6.479891e-5, 0.0254, 0.9144, 0.3048

# Invented.
BUILD = ArrowBuild(
    shaft=Shaft(0.335 * INCH, 8.7 * GRAIN / INCH, 0.0061, 0.0052),
    throat_length=0.713,
    carbon_length=0.702,
    nock=Component(9 * GRAIN, 0.02, -0.002),
    head=Head(115 * GRAIN, 0.024),
    fletching=Fletching(3, 6.3 * GRAIN, 0.052, 0.0118),
    insert=Component(14 * GRAIN, 0.022, 0.011),
)
FIXED = Head(115 * GRAIN, 0.032, HeadKind.FIXED, 2.6e-4, 3, 0.027)
PAPER, TWENTY, FIFTY = 6 * FOOT, 20 * YARD, 50 * YARD


def body(*, bare: bool = False, head: Head | None = None) -> FlightBody:
    return flight_body(BUILD, mass_model(BUILD, bare=bare), bare=bare, head=head)


def at_rest(rows: int = 1) -> FloatArray:
    return np.zeros((rows, 2, 4))


def yawed(angle: float, plane: int = 0) -> FloatArray:
    release = at_rest()
    release[0, plane, 2] = angle
    return release


def one(arrow: FlightBody, release: FloatArray, *distances: float, speed: float = 86.0) -> FlightResult:
    result = fly(arrow, np.full(len(release), speed), release, nominal_flight(len(release)), np.array(distances))
    assert result.solved.all()
    return result


def random_flights(seed: int, rows: int) -> tuple[FloatArray, FloatArray, FlightParameters]:
    rng = np.random.default_rng(seed)
    release = rng.normal(size=(rows, 2, 4)) * np.array([2e-3, 0.25, 0.015, 0.3])
    parameters = replace(
        nominal_flight(rows),
        wind_y=rng.normal(0.0, 2.0, rows),
        vane_factor=rng.uniform(0.7, 1.3, rows),
        cross_factor=rng.uniform(0.7, 1.3, rows),
    )
    return rng.uniform(60.0, 105.0, rows), release, parameters


# --- exact ------------------------------------------------------------------------------------------------------------


def test_vacuum_is_a_parabola_and_the_arrow_turns_at_its_own_rate() -> None:
    # Closed form: no air, no force but gravity.
    release = at_rest()
    release[0] = [[0.001, 0.4, 0.01, 0.2], [-0.002, 1.1, -0.02, -0.3]]
    arrow, speed = body(), 70.0
    reach = np.array([FIFTY, PAPER, TWENTY])
    result = fly(arrow, np.array([speed]), release, nominal_flight(1, air_density=0.0), reach)
    for place, time in ((arrow.tip_place, result.time[0]), (arrow.nock_place, (reach - arrow.nock_place) / speed)):
        expected = np.stack(
            [
                0.001 + 0.4 * time + place * (0.01 + 0.2 * time),
                -0.002 + 1.1 * time - 0.5 * GRAVITY * time**2 + place * (-0.02 - 0.3 * time),
            ],
            axis=1,
        )
        found = result.hole[0] if place > 0.0 else result.hole[0] + result.tail[0]
        np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-13)
    np.testing.assert_allclose(result.time[0], (reach - arrow.tip_place) / speed, rtol=1e-13)
    assert (result.speed == speed).all()


def test_uphill_in_vacuum_keeps_energy() -> None:
    # Closed form: u^2 = u0^2 - 2 g x sin(launch angle).
    arrow, angle = body(), math.radians(40.0)
    calm = nominal_flight(1, air_density=0.0)
    result = fly(arrow, np.array([70.0]), at_rest(), calm, np.array([FIFTY]), launch_angle=angle)
    climbed = (FIFTY - arrow.tip_place) * math.sin(angle)
    assert result.speed[0, 0] == pytest.approx(math.sqrt(70.0**2 - 2.0 * GRAVITY * climbed), rel=1e-10)
    time = result.time[0, 0]
    assert result.hole[0, 0, 1] == pytest.approx(-0.5 * GRAVITY * math.cos(angle) * time**2, rel=1e-8)


@pytest.mark.parametrize("bare", [False, True])
def test_a_straight_release_in_still_air_stays_exactly_on_the_line_sideways(bare: bool) -> None:
    result = one(body(bare=bare), at_rest(), PAPER, TWENTY, FIFTY)
    assert (result.hole[:, :, 0] == 0.0).all()
    assert (result.angle[:, :, 0] == 0.0).all()
    assert (result.tail[:, :, 0] == 0.0).all()
    assert (result.hole[:, :, 1] < 0.0).all()


@pytest.mark.parametrize("bare", [False, True])
def test_the_mirror_is_exact(bare: bool) -> None:
    speed, release, parameters = random_flights(11, 40)
    sides = np.array([-1.0, 1.0])
    reach = np.array([PAPER, TWENTY, FIFTY])
    result = fly(body(bare=bare), speed, release, parameters, reach)
    turned = release * sides[None, :, None]
    mirrored = fly(body(bare=bare), speed, turned, replace(parameters, wind_y=-parameters.wind_y), reach)
    for name in ("hole", "angle", "tail"):
        assert (getattr(mirrored, name) == getattr(result, name) * sides).all()
    for name in ("speed", "time", "solved"):
        assert (getattr(mirrored, name) == getattr(result, name)).all()


def test_a_flight_does_not_depend_on_its_batch_or_on_the_order_of_distances() -> None:
    speed, release, parameters = random_flights(12, 7)
    arrow, reach = body(bare=True), np.array([PAPER, TWENTY, FIFTY])
    together = fly(arrow, speed, release, parameters, reach)
    backward = fly(arrow, speed, release, parameters, reach[::-1])
    assert (together.hole == backward.hole[:, ::-1]).all()
    for n in range(7):
        own = FlightParameters(*(getattr(parameters, name)[n : n + 1] for name in parameters.__slots__))
        alone = fly(arrow, speed[n : n + 1], release[n : n + 1], own, reach)
        assert (alone.hole[0] == together.hole[n]).all()
        assert (alone.tail[0] == together.tail[n]).all()


@pytest.mark.parametrize("head", [None, FIXED])
def test_energy_never_grows_in_still_air(head: Head | None) -> None:
    # Work and energy: power of all air forces on the arrow, from the derivative itself, at random states.
    arrow = body(head=head)
    rng = np.random.default_rng(5)
    strips = np.array((arrow.strip_places, arrow.strip_lengths))
    moments = 0.5 * 1.2 * arrow.lift_moments.sum(axis=0)
    lift = [float(value) for value in moments]
    row = Row(arrow.mass, arrow.inertia, 2e-5, 400.0, lift[0], lift[1], lift[2], 4e-3, 7e-4, 0.0, GRAVITY, 0.0)
    change = np.empty(10)
    for _ in range(300):
        state = rng.normal(size=10) * np.array([0.0, 0.0] + [1e-3, 0.5, 0.05, 1.0] * 2)
        state[1] = rng.uniform(40.0, 110.0)
        slope(state, row, arrow.drag, strips, change)
        power = arrow.mass * (state[[1, 3, 7]] @ change[[1, 3, 7]]) + arrow.inertia * (state[[5, 9]] @ change[[5, 9]])
        power += arrow.mass * GRAVITY * change[6]
        assert power < 0.0


@pytest.mark.parametrize("kind", ["fletched", "bare", "blades", "large vanes"])
def test_shorter_steps_change_nothing_that_could_be_seen(kind: str) -> None:
    # Computed: against steps ten times finer, over how far each release moves the hole at 20 yd (two inches where the
    # disturbances happen to cancel to less); 300 flights.
    arrow = body(bare=kind == "bare", head=FIXED if kind == "blades" else None)
    if kind == "large vanes":
        large = replace(BUILD, fletching=Fletching(4, 9 * GRAIN, 0.075, 0.016))
        arrow = flight_body(large, mass_model(large, bare=False), bare=False)
    speed, release, parameters = random_flights(13, 300)
    reach = np.array([PAPER, TWENTY])
    usual, fine = (fly(arrow, speed, release, parameters, reach, finer=finer) for finer in (1, 10))
    straight = fly(arrow, speed, 0.0 * release, parameters, reach)
    scale = np.maximum(np.linalg.norm(fine.hole[:, 1] - straight.hole[:, 1], axis=1), 2.0 * INCH)[:, None]
    assert (np.linalg.norm(usual.hole - fine.hole, axis=2) < 1e-4 * scale).all()
    assert (np.linalg.norm(usual.tail - fine.tail, axis=2) < 1e-4 * scale).all()


# --- signs and sizes --------------------------------------------------------------------------------------------------


def test_point_left_at_release_tears_tail_right_and_sends_the_bare_shaft_left_of_the_fletched() -> None:
    # Common practice: the bare hole lies where the point leans; the tail tears the other way.
    bare = one(body(bare=True), yawed(math.radians(1.0)), PAPER, TWENTY)
    fletched = one(body(), yawed(math.radians(1.0)), PAPER, TWENTY)
    assert bare.tail[0, 0, 0] < 0.0
    assert bare.angle[0, 1, 0] > 0.0
    assert bare.hole[0, 1, 0] - fletched.hole[0, 1, 0] > 0.2 * INCH


def test_a_yaw_rate_steers_the_bare_shaft_the_way_it_turns() -> None:
    release = at_rest()
    release[0, 0, 3] = 0.3
    gap = one(body(bare=True), release, TWENTY).hole - one(body(), release, TWENTY).hole
    assert gap[0, 0, 0] > 0.2 * INCH


def test_a_fletched_arrow_swings_back_within_a_few_yards_and_a_bare_one_does_not() -> None:
    # Computed: the swing of these vanes is about 21 m long, so the first return is a quarter of it away.
    reach = [2.0, 4.0, 6.5, 10.5, TWENTY, FIFTY]
    fletched = one(body(), yawed(0.02), *reach).angle[0, :, 0]
    bare = one(body(bare=True), yawed(0.02), *reach).angle[0, :, 0]
    assert fletched[0] > fletched[1] > 0.0 > fletched[2]
    assert abs(fletched[-1]) < 0.2 * 0.02
    assert (bare > 0.2 * 0.02).all()


def test_a_bare_shaft_without_the_weight_and_drag_of_its_vanes_hits_high() -> None:
    # Computed independently: +0.3 in at 20 yd, +2.3 to +4.4 in at 50 yd, as an order of magnitude. Both arrows get the
    # same energy together with 80 gr of string and limbs (invented).
    both = []
    for bare in (False, True):
        masses = mass_model(BUILD, bare=bare)
        speed = math.sqrt(2.0 * 106.0 / (masses.total_mass + 80 * GRAIN))
        both.append(one(flight_body(BUILD, masses, bare=bare), at_rest(), TWENTY, FIFTY, speed=speed).hole[0, :, 1])
    gap = both[1] - both[0]
    assert 0.15 * INCH < gap[0] < 0.9 * INCH
    assert 1.5 * INCH < gap[1] < 7.0 * INCH


def test_tape_instead_of_vanes_brings_the_bare_shaft_down_but_not_all_the_way() -> None:
    taped = replace(BUILD, tape_mass=3 * 6.3 * GRAIN)
    masses = mass_model(taped, bare=True)
    fletched = one(body(), at_rest(), FIFTY).hole[0, 0, 1]
    balanced = one(flight_body(taped, masses, bare=True), at_rest(), FIFTY).hole[0, 0, 1]
    assert masses.total_mass == pytest.approx(body().mass)
    assert fletched < balanced < fletched + 6.0 * INCH


def test_blades_make_the_same_yaw_miss_further() -> None:
    # Common practice: fixed blades show a yaw that field points hide.
    release = yawed(math.radians(1.0))
    field, blades = (one(body(head=head), release, TWENTY, FIFTY).hole[0, :, 0] for head in (None, FIXED))
    assert (np.abs(blades) > 1.3 * np.abs(field)).all()


def test_wind_blows_the_arrow_the_way_it_blows() -> None:
    for bare in (False, True):
        result = fly(body(bare=bare), np.array([86.0]), at_rest(), nominal_flight(1, wind_y=4.0), np.array([FIFTY]))
        assert result.hole[0, 0, 0] > 0.5 * INCH


def test_crossflow_couples_the_planes_of_a_bare_shaft() -> None:
    release = yawed(math.radians(1.5))
    alone = one(body(bare=True), release, TWENTY).hole[0, 0, 0]
    release[0, 1, 2] = math.radians(2.5)
    assert abs(one(body(bare=True), release, TWENTY).hole[0, 0, 0] - alone) > 0.02 * INCH


def test_the_line_of_the_shot_may_point_up() -> None:
    calm, reach = nominal_flight(1), np.array([FIFTY])
    level = fly(body(), np.array([86.0]), at_rest(), calm, reach)
    steep = fly(body(), np.array([86.0]), at_rest(), calm, reach, launch_angle=math.radians(45.0))
    assert level.hole[0, 0, 1] < steep.hole[0, 0, 1] < 0.6 * level.hole[0, 0, 1]


# --- failing in the open ----------------------------------------------------------------------------------------------


def test_rows_that_cannot_be_flown_are_zero_and_say_why() -> None:
    arrow, reach = body(bare=True), np.array([PAPER, TWENTY])
    release = at_rest(5)
    release[1, 0, 0] = math.nan
    release[2, 1, 3] = 40.0  # it would turn end over end
    speed = np.array([86.0, 86.0, 86.0, 0.0, 86.0])
    result = fly(arrow, speed, release, nominal_flight(5), reach)
    assert result.solved.tolist() == [True, False, False, False, True]
    for name in ("hole", "angle", "tail", "speed", "time"):
        values = getattr(result, name)
        assert np.isfinite(values).all()
        assert (values[1:4] == 0.0).all()
        assert (values[0] == values[4]).all()
    assert "2 of 5 arrows lost too much speed or met a number that is not finite" in result.reason
    assert "1 of 5 arrows turned further than 20 degrees" in result.reason


def test_an_arrow_stopped_by_the_air_is_not_solved() -> None:
    thick = replace(nominal_flight(1), drag_factor=np.array([60.0]))
    result = fly(body(), np.array([40.0]), at_rest(), thick, np.array([FIFTY]))
    assert not result.solved[0]


def test_no_rows_give_no_rows() -> None:
    result = fly(body(), np.empty(0), at_rest(0), nominal_flight(0), np.array([TWENTY]))
    assert result.hole.shape == (0, 1, 2)
    assert result.reason == ""


def test_wrong_shapes_and_distances_are_refused_in_words() -> None:
    arrow, calm, far = body(), nominal_flight(1), np.array([TWENTY])
    speed = np.array([86.0])
    with pytest.raises(InputError, match=r"they must be \(N,\) and \(N, 2, 4\)"):
        fly(arrow, speed, np.zeros((1, 4, 2)), calm, far)
    with pytest.raises(InputError, match=r"they must be \(N,\)"):
        fly(arrow, np.ones((1, 1)), at_rest(), calm, far)
    with pytest.raises(InputError, match="flight parameter drag_factor"):
        fly(arrow, speed, at_rest(), nominal_flight(2), far)
    with pytest.raises(InputError, match="give at least one distance"):
        fly(arrow, speed, at_rest(), calm, np.array([]))
    with pytest.raises(InputError, match="reached before the arrow is free"):
        fly(arrow, speed, at_rest(), calm, np.array([0.2]))
