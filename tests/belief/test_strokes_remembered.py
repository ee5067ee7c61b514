"""Strokes are computed once for the same bows and build, and never taken for those of others."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from spinewright.belief import GAP_DISTANCE, Output, What, draw_members, physics, run_physics
from spinewright.belief.physics import Strokes
from spinewright.equipment import Rest, RestKind, Setup
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
    monkeypatch.setattr(physics, "_MEMORY", physics._Memory(room=0))  # so that every stroke is computed each time
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
