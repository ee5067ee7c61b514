"""What the belief conditions on: readings that share a doubt, walks with the sight moved, shafts set aside."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from spinewright.belief import GAP_DISTANCE, What, sightings_of
from spinewright.belief.evidence_rows import scatter_of
from spinewright.evidence import Impact, NockReading, NockSeries, Seen, SpeedShot, TargetKind, Tear, Visit
from tests.belief.benches import bench_setup

START = bench_setup()
FLETCHED = Visit(GAP_DISTANCE, TargetKind.BAG, tuple(Impact(n, False, 0.01 * n, 0.0) for n in (1, 2, 3)))
BARE = Visit(GAP_DISTANCE, TargetKind.BAG, (Impact(7, True, 0.05, 0.01), Impact(8, True, 0.2, -0.1)))


def _sd(seen: list[Seen]) -> float:
    (sighting,) = sightings_of(seen, [START])
    return math.sqrt(sighting.noise.fixed)


def test_readings_of_a_chronograph_are_one_sighting_with_a_doubt_that_stays() -> None:
    readings = [Seen(START, SpeedShot(82.0 + d, False), f"e{i}") for i, d in enumerate((-0.5, 0.5, 0.0, 0.0))]
    (sighting,) = sightings_of(readings, [START])
    assert sighting.output.what is What.FLETCHED_SPEED
    assert sighting.value[0] == pytest.approx(82.0)
    assert sighting.events == ("e0", "e1", "e2", "e3")
    # own 0.6 m/s, common 0.5 % (from memory, both stated in the product)
    assert sighting.noise.fixed == pytest.approx(0.6**2 / 4 + (0.005 * 82.0) ** 2)
    assert _sd([Seen(START, SpeedShot(82.0, False), "e")] * 1000) == pytest.approx(0.41, rel=0.01)


def test_a_surer_reading_weighs_more() -> None:
    sure, rough = SpeedShot(82.0, True, 0.2), SpeedShot(84.0, True, 2.0)
    (sighting,) = sightings_of([Seen(START, sure, "a"), Seen(START, rough, "b")], [START])
    # computed: weights 25 and 1/4
    assert sighting.value[0] == pytest.approx((25 * 82.0 + 0.25 * 84.0) / 25.25)


def test_bare_and_fletched_speeds_and_other_setups_stay_apart() -> None:
    other = replace(START, nock_z=0.001)
    seen = [
        Seen(START, SpeedShot(82.0, False), "a"),
        Seen(START, SpeedShot(83.0, True), "b"),
        Seen(other, SpeedShot(82.0, False), "c"),
    ]
    assert len(sightings_of(seen, [START, other])) == 3


def test_walks_are_not_joined_over_a_moved_sight() -> None:
    joined = sightings_of([Seen(START, FLETCHED, "a"), Seen(START, BARE, "b")], [START])
    assert [s.output.what for s in joined] == [What.GAP]
    assert joined[0].events == ("a", "b")
    moved = replace(BARE, sight=1)
    assert sightings_of([Seen(START, FLETCHED, "a"), Seen(START, moved, "b")], [START]) == []
    again = [Seen(START, FLETCHED, "a"), Seen(START, moved, "b"), Seen(START, replace(FLETCHED, sight=1), "c")]
    (gap,) = sightings_of(again, [START])
    assert gap.events == ("b", "c")


def test_a_shaft_set_aside_neither_moves_nor_widens_anything() -> None:
    aside = replace(BARE, impacts=tuple(replace(i, set_aside=i.shaft == 8) for i in BARE.impacts))
    without = replace(BARE, impacts=BARE.impacts[:1])
    found = [sightings_of([Seen(START, FLETCHED, "a"), Seen(START, bare, "b")], [START]) for bare in (aside, without)]
    assert found[0] == found[1]
    assert scatter_of([Seen(START, aside, "b")]) == []
    assert len(scatter_of([Seen(START, BARE, "b")])) == 1
    assert sightings_of([Seen(START, Tear(8, True, 2.0, 0.01, 0.0, set_aside=True), "a")], [START]) == []
    readings = tuple(NockReading(0.3 * n, 0.01, 0.0) for n in range(3))
    for paper in (True, False):
        series = NockSeries(8, True, 2.0, paper, readings, set_aside=True)
        assert sightings_of([Seen(START, series, "a")], [START]) == []
