"""Strokes are computed once for the same bows and build, and never taken for those of others."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from spinewright.belief import GAP_DISTANCE, Output, What, draw_members, physics, run_physics
from spinewright.belief.memory import Memory
from spinewright.belief.physics import Strokes
from spinewright.equipment import Rest, RestKind, Setup
from spinewright.flight import FlightResult
from tests.belief.benches import BOW_CHECK, bench_setup, cut, moved_rest

START = bench_setup()


def test_the_same_bows_drawn_again_find_their_strokes() -> None:
    first, again = (draw_members(6, START, check, np.random.default_rng(31)) for check in (BOW_CHECK, None))
    known = Strokes(first).of(START, bare=True)
    # What the bow check says widens disturbances only; rest and nock point are linear: neither asks for new strokes.
    assert Strokes(again).of(moved_rest(START, 1 / 64), bare=True) is known
    with pytest.raises(ValueError, match="read-only"):
        known.response[:] = 0.0


def test_other_bows_builds_and_angles_get_strokes_of_their_own() -> None:
    bows = draw_members(6, START, BOW_CHECK, np.random.default_rng(32))
    stiffer = replace(bows, stroke=replace(bows.stroke, damping=1.5 * bows.stroke.damping))
    known = Strokes(bows).of(START, bare=True)
    others = (
        Strokes(bows).of(START, bare=False),
        Strokes(bows).of(cut(START, 0.5), bare=True),
        Strokes(bows).of(replace(START, nock_angle=0.5), bare=True),
        Strokes(stiffer).of(START, bare=True),
    )
    for other in others:
        assert not np.array_equal(other.response, known.response)


def test_strokes_side_by_side_give_the_answer_of_one_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("_STROKES", "_FLIGHTS"):  # so that everything is computed each time
        monkeypatch.setattr(physics, name, Memory(room=0))
    bows = draw_members(6, START, BOW_CHECK, np.random.default_rng(33))
    setups = [START, cut(START, 0.5), moved_rest(START, 1 / 64)]
    outputs = [Output(i, What.GAP, GAP_DISTANCE) for i in range(3)]
    told: list[float] = []
    together = run_physics(bows, setups, outputs, progress=told.append).values
    alone = [run_physics(bows, [s], [Output(0, What.GAP, GAP_DISTANCE)]).values for s in setups]
    assert np.array_equal(together, np.concatenate(alone, axis=1))
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_another_rest_drops_where_it_says() -> None:
    bows = draw_members(40, START, BOW_CHECK, np.random.default_rng(34))
    assert np.array_equal(bows.drops(START.bow), bows.stroke.drops_after)

    def with_rest(rest: Rest) -> Setup:
        return replace(START, bow=replace(START.bow, rest=rest))

    late = with_rest(Rest(RestKind.DROP_AWAY, ahead=START.bow.rest.ahead, drops_after=0.3))
    unsaid = with_rest(Rest(RestKind.DROP_AWAY, ahead=START.bow.rest.ahead))
    blade = with_rest(Rest(RestKind.BLADE, ahead=START.bow.rest.ahead))
    assert np.mean(bows.drops(late.bow)) == pytest.approx(0.3, abs=0.005)
    assert np.std(bows.drops(unsaid.bow)) > 2 * np.std(bows.drops(START.bow))
    assert np.all(bows.drops(blade.bow) > blade.bow.stroke)
    # bows whose start has that rest, drawn alike, shoot the same
    for setup in (late, unsaid, blade):
        own = draw_members(40, setup, BOW_CHECK, np.random.default_rng(34))
        changed, fresh = (run_physics(b, [setup], [Output(0, What.GAP, GAP_DISTANCE)]).values for b in (bows, own))
        assert changed == pytest.approx(fresh, abs=1e-12)
        assert not np.allclose(changed, run_physics(bows, [START], [Output(0, What.GAP, GAP_DISTANCE)]).values)


def test_flights_are_found_again_only_for_the_same_arrow_bows_and_air(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(physics, "_FLIGHTS", Memory[FlightResult](room=2**20))
    bows = draw_members(6, START, BOW_CHECK, np.random.default_rng(35))
    thick = replace(bows, flight=replace(bows.flight, air_density=1.1 * bows.flight.air_density))
    less = draw_members(6, START, None, np.random.default_rng(35))
    asked = [(bows, START), (bows, moved_rest(START, 1 / 64)), (bows, cut(START, 0.5)), (thick, START), (less, START)]
    outputs = [Output(0, What.GAP, GAP_DISTANCE)]
    first = [run_physics(b, [s], outputs).values for b, s in asked]
    again = [run_physics(b, [s], outputs).values for b, s in asked]
    monkeypatch.setattr(physics, "_FLIGHTS", Memory[FlightResult](room=0))
    fresh = [run_physics(b, [s], outputs).values for b, s in asked]
    assert np.array_equal(first, again)
    assert np.array_equal(first, fresh)
    assert len({values.tobytes() for values in first}) == len(asked)


def test_the_longest_unused_goes_first_when_there_is_no_more_room() -> None:
    @dataclass
    class Kept:
        values: np.ndarray

    memory, computed = Memory[Kept](room=3 * 80), []

    def ask(key: str) -> None:
        def compute() -> Kept:
            computed.append(key)
            return Kept(np.zeros(10))

        memory.of(key, compute)

    for key in ("a", "b", "c", "a", "d", "a", "c", "b"):
        ask(key)
    assert computed == ["a", "b", "c", "d", "b"]


def test_fewer_steps_miss_what_a_bow_shows_by_far_less_than_bows_differ(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(physics, "_FLIGHTS", Memory[FlightResult](room=0))
    bows = draw_members(100, START, BOW_CHECK, np.random.default_rng(36))
    near, far = (1.83, 6.0), (GAP_DISTANCE, 36.6)
    seen = {What.GAP: far, What.BARE_TEAR: near, What.FLETCHED_TEAR: near, What.LEAN: far}
    outputs = [Output(0, what, d) for what, distances in seen.items() for d in (*distances, GAP_DISTANCE)]
    usual = run_physics(bows, [START], outputs).values
    monkeypatch.setattr(physics, "_FEW_STEPS", 8.0)  # computed: steps 24 times as many
    exact = run_physics(bows, [START], outputs).values
    assert np.all(np.sqrt(np.mean((usual - exact) ** 2, axis=0)) < 2e-3 * exact.std(axis=0))
