"""How the arrow leaves, and that the bounds on it keep a weak shaft from being called the better one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.outlook_samples import ARCHER, DISTANCE, bench, members, still

from spinewright.belief import Members, standing
from spinewright.equipment import Setup, mass_model
from spinewright.flight import flight_body, fly
from spinewright.mechanics import Channel, build_rod, motion
from spinewright.outlook import (
    FLAT,
    MOST_BEND,
    MOST_TURN,
    Leaving,
    Line,
    MapGrid,
    MapSettings,
    Range,
    broken_bounds,
    flat_sentence,
    flatness,
    forgiveness_map,
)
from spinewright.outlook.leaving import bending_left, passing, swing_past
from spinewright.outlook.own_mistakes import miss_draws
from spinewright.outlook.runs import Change, bow_in, parameters_of, release_states, released
from spinewright.units import INCH, System


def _spined(spine: float) -> Setup:
    """The bench with a shaft of another static ``spine`` [in] and no word of its maker's about the weakest."""
    now = bench()
    return replace(now, build=replace(now.build, shaft=replace(now.build.shaft, static_spine=spine * INCH)))


def _one(bows: Members, row: int) -> Members:
    return bows.rows(np.array([row], dtype=np.intp))


def _leaves(bows: Members, setup: Setup) -> Leaving:
    straight, bent = passing(bows, setup, released(bows, setup)), bending_left(bows, setup)
    assert bent.solved.all()
    return Leaving(Range.of(straight.turn), Range.of(bent.angle), Range.of(swing_past(straight, bent.beside)))


def test_an_arrow_that_nothing_disturbs_leaves_straight_and_unbent() -> None:
    bows = still(16)
    straight, bent = passing(bows, bench(), released(bows, bench())), bending_left(bows, bench())
    assert straight.turn == pytest.approx(0.0, abs=1e-12)
    assert bent.angle == pytest.approx(0.0, abs=1e-12)
    assert swing_past(straight, bent.beside) == pytest.approx(0.0, abs=1e-12)


def test_bending_left_covers_the_shape_of_the_arrow_as_it_leaves() -> None:
    # computed a second way: the shape that a whole motion of seven bending shapes shows at the release. What its nock
    # end stands askew then is one moment of a swing, so it never exceeds the widest and often comes near it.
    bows, now = members(8), bench()
    widest = bending_left(bows, now).angle
    rod, bow = build_rod(mass_model(now.build, bare=False)), bow_in(now.bow, 0.0)
    shown = []
    for row in range(len(bows)):
        one = _one(bows, row)
        whole = motion(rod, bow, parameters_of(one, now, Change()), standing(one, now)[0])
        slope = (whole.shape[:, -1, 1] - whole.shape[:, -1, 0]) / (whole.s[1] - whole.s[0])
        shown.append(float(np.hypot(*(slope - whole.release[:, 2]))))
    share = np.array(shown) / widest
    assert share.max() < 1.03
    assert np.median(share) > 0.5


def test_bending_grows_with_what_bends_and_with_a_weaker_shaft() -> None:
    bows = members(16)
    twice = replace(bows, amplitudes=2.0 * bows.amplitudes)  # the release is linear in what disturbs it (computed)
    assert bending_left(twice, bench()).angle == pytest.approx(2.0 * bending_left(bows, bench()).angle, rel=1e-9)
    middles = [float(np.median(bending_left(bows, _spined(spine)).angle)) for spine in (0.25, 0.35, 0.5, 0.7)]
    assert middles == sorted(middles)
    assert middles[-1] > 3.0 * middles[0]


def test_the_angle_in_flight_is_the_one_said_at_release() -> None:
    # computed a second way: the flight itself, place against distance giving the drift; cross-flow and the vanes'
    # damping, left out at the release, take some of the first swing away
    bows, now = members(16), bench()
    strokes = released(bows, now)
    release = release_states(strokes, standing(bows, now))
    release[:, 1] = 0.0  # sideways only, so that the fall of the arrow is not in it
    flat = replace(bows, amplitudes=bows.amplitudes * np.array([1.0, 0.0])[None, :, None])
    body, at = flight_body(now.build, mass_model(now.build, bare=False), bare=False), np.linspace(0.4, 12.0, 240)
    flown = fly(body, strokes.speed, release, bows.flight, at)
    centre = flown.hole[:, :, 0] - body.tip_place * flown.angle[:, :, 0]
    to_air = flown.angle[:, :, 0] - np.gradient(centre, at, axis=1)
    share = np.abs(to_air).max(axis=1) / passing(flat, now, strokes).turn
    assert np.median(share) == pytest.approx(0.85, abs=0.15)
    assert share.max() < 1.15


def test_bounds_at_release_have_reasons_of_their_own() -> None:
    fine = Range(0.0, 0.0, 0.0)
    askew, bent = (Range(1.2 * most, 0.0, 2.0 * most) for most in (MOST_TURN, MOST_BEND))
    assert broken_bounds(bench(), Leaving(fine, fine, fine)) == ()
    (turn,) = broken_bounds(bench(), Leaving(askew, fine, fine))
    (bend,) = broken_bounds(bench(), Leaving(fine, bent, fine))
    assert turn.sentence(System.INCH).startswith("Angle at release: 2.4 deg, and at most 2.0 deg is allowed")
    assert bend.sentence(System.METRIC).startswith("Bending at release: 1.2 deg, and at most 1.0 deg is allowed")
    likely = Range(0.9 * MOST_BEND, 0.0, 2.0 * MOST_BEND)  # a bow nobody knows yet forbids no arrow by its doubt alone
    assert broken_bounds(bench(), Leaving(fine, likely, fine)) == ()


def test_a_bound_just_broken_does_not_read_as_kept() -> None:
    hair = Range(1.001 * MOST_TURN, 0.0, MOST_TURN)
    none = Range(0.0, 0.0, 0.0)
    (turn,) = broken_bounds(bench(), Leaving(hair, none, none))
    assert "2.002 deg, and at most 2.000 deg" in turn.sentence(System.INCH)


def test_a_weak_shaft_misses_less_but_is_refused() -> None:
    # a weaker shaft soaks up more of the archer's mistakes (computed); without the bounds the least miss of all these
    # spines, none refused by its maker, would be a far too weak one's
    spines, bows, line = (0.25, 0.347, 0.45, 0.6, 0.7, 0.8), members(24), Line.of(ARCHER, DISTANCE)
    own = [float(np.median(miss_draws(bows, _spined(spine), line).combined)) for spine in spines]
    reasons = [{str(one.what) for one in broken_bounds(_spined(s), _leaves(bows, _spined(s)))} for s in spines]
    assert spines[int(np.argmin(own))] >= 0.6
    for spine, why in zip(spines, reasons, strict=True):
        assert ("bending at release" in why) == (spine >= 0.6), (spine, why)
    kept = [miss for miss, why in zip(own, reasons, strict=True) if not why]
    assert max(kept) - min(kept) < FLAT  # what is left to choose from differs by less than anyone sees


def test_no_map_rewards_a_weak_shaft() -> None:
    bows, line = members(16), Line.of(ARCHER, DISTANCE)
    spines = (0.3, 0.347, 0.7)
    # a map over spine instead of point mass: 'length' and 'point' only number the builds here
    grid = MapGrid(
        np.array([0.0, 1.0]),
        np.arange(3.0),
        (True,) * 3,
        tuple((_spined(spine), _spined(spine + 0.005)) for spine in spines),
        (1.0, 0.0),
    )
    chart = forgiveness_map(bows, grid, line, settings=MapSettings(bows=16))
    assert chart.safe[:2].all()
    assert not chart.safe[2:].any()
    for draws in (chart.own, chart.apart):
        found = flatness(draws, chart.safe)
        assert found is not None
        assert found.best[0] < 2
    assert "keeps the bounds" in flat_sentence(chart, own=True, system=System.INCH)


def test_a_kick_alone_bends_in_the_plane_it_acts_in() -> None:
    bows = still(16)
    kicked = bows.amplitudes.copy()
    kicked[:, 0, Channel.KICK] = 0.1
    beside = bending_left(replace(bows, amplitudes=kicked), bench()).beside
    assert np.abs(beside[..., 0]).max() > 0.0
    assert beside[..., 1] == pytest.approx(0.0, abs=1e-12)
