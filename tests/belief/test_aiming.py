"""Walks with one sight setting tell together where fletched arrows go; what that gains, and what it must not do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray

from spinewright.belief import GAP_DISTANCE, VISIT_SD, BeliefSettings, Ground, Sighting, break_ground
from spinewright.belief.aiming import BUILT_SD, SHIFT_SHARE, WALK_SD, Aim, aimed_kernel, likely_scatter, taken_together
from spinewright.belief.evidence_rows import BARE_SPREAD, Scatter, sightings_of
from spinewright.belief.physics import What, fletched_holes
from spinewright.belief.turned_holes import SIGHT_SD
from spinewright.equipment import Setup
from spinewright.evidence import History, Impact, Seen, TargetKind, Visit, noise
from tests.belief.benches import INCH, bench_archer, bench_setup, cut, fresh_history, moved_rest

FloatArray = NDArray[np.float64]
START = bench_setup()
ARCHER = bench_archer(0.3)
SETUPS = (START, moved_rest(START, 1 / 64), moved_rest(START, -1 / 32), cut(START, 0.5))
SCATTER = ARCHER.scatter
_ONE = (SCATTER * GAP_DISTANCE) ** 2 + noise.HOLE.sd**2  # variance of a single fletched hole


@pytest.fixture(scope="module")
def ground() -> Ground:
    """Every walk of these tests is at 20 yd, so one ground holds for all of them."""
    return break_ground(_history((START, _walk())), SETUPS, (), BeliefSettings(200, 300, 9))


def _walk(
    seed: int = 0,
    *,
    at: tuple[float, float] = (0.0, 0.0),
    gap: tuple[float, float] = (-2.0, -0.8),
    fletched: int = 3,
    sight: int = 0,
) -> Visit:
    """Three bare shafts at ``gap`` from ``fletched`` others, which are about ``at`` [in]; each shaft its own number."""
    rng = np.random.default_rng([61, seed])
    impacts = []
    for bare, count in ((False, fletched), (True, 3)):
        for k in range(count):
            spread = 0.3 * (BARE_SPREAD if bare else 1.0) * rng.standard_normal(2)
            y, z = (np.array(at) + (np.array(gap) if bare else 0.0) + spread) * INCH
            impacts.append(Impact(1 + 20 * seed + k + 10 * bare, bare, float(y), float(z)))
    return Visit(GAP_DISTANCE, TargetKind.BAG, tuple(impacts), sight=sight)


def _history(*walks: tuple[Setup, Visit]) -> History:
    seen = tuple(Seen(setup, what, f"e{k}") for k, (setup, what) in enumerate(walks))
    return replace(fresh_history(START), seen=seen, now=walks[-1][0])


def _told(ground: Ground, *walks: tuple[Setup, Visit]) -> tuple[list[Sighting], Aim]:
    apart = sightings_of(_history(*walks).seen, ground.setups)
    return taken_together(
        apart, (ground.members, ground.strokes), ground.setups, walks[-1][0], walks[-1][1].sight, SCATTER
    )


def _shift(ground: Ground, setup: Setup, present: Setup) -> tuple[FloatArray, float]:
    """Mean shift (2,) of the fletched hit over the plausible bows, and its sd as the module page states it."""
    (there, one), (here, two) = (
        fletched_holes(ground.members, ground.strokes, s, GAP_DISTANCE) for s in (setup, present)
    )
    by = (there - here)[one & two]
    built = BUILT_SD if setup.build != present.build else 0.0
    return by.mean(axis=0), hypot(*by.std(axis=0), SHIFT_SHARE * hypot(*by.mean(axis=0)), built)


def test_rows_say_what_the_whole_gaussian_says(ground: Ground) -> None:
    # Computed: sight, walks, fletched and bare centres as one dense Gaussian, conditioned by numpy alone
    walks = [(START, _walk(1)), (SETUPS[1], _walk(2, fletched=1, at=(0.8, 0.0))), (SETUPS[3], _walk(3, fletched=2))]
    told, _ = _told(ground, *walks)
    shifts = [_shift(ground, setup, walks[-1][0]) for setup, _ in walks]
    n, wide = len(walks), 50.0 * INCH  # what is not known of the gaps beforehand
    for plane in range(2):
        bare, fletched = (
            np.array([[s.centres.bare, s.centres.fletched][k][plane] for s in told if s.centres]) for k in (0, 1)
        )
        count = np.array([s.centres.fletched_shots for s in told if s.centres])
        off = np.diag([WALK_SD**2 + sd**2 for _, sd in shifts])
        aim = SIGHT_SD**2 * np.ones((n, n)) + off
        own = np.diag(
            ((SCATTER * GAP_DISTANCE) ** 2 * BARE_SPREAD**2 + noise.HOLE.sd**2) / 3 + VISIT_SD**2 * np.ones(n)
        )
        cov = np.block([[aim + wide**2 * np.eye(n) + own, aim], [aim, aim + np.diag(_ONE / count)]])
        middle = np.tile([by[plane] for by, _ in shifts], 2)
        gain = np.hstack([wide**2 * np.eye(n), np.zeros((n, n))]) @ np.linalg.inv(cov)
        expected = gain @ (np.concatenate([bare, fletched]) - middle)
        doubt = wide**2 * np.eye(n) - gain[:, :n] * wide**2
        common = np.array([s.aim for s in told])
        mine = np.diag([s.noise.fixed + s.noise.archer * SCATTER**2 for s in told]) + np.outer(common, common)
        # the same flat prior on the rows' side; it is wide, so it moves nothing beyond a thousandth
        assert np.array([s.value[plane] for s in told]) == pytest.approx(expected, rel=2e-3, abs=2e-5)
        assert mine == pytest.approx(doubt, rel=5e-3, abs=1e-9)


def test_a_walk_alone_is_read_as_it_was(ground: Ground) -> None:
    walks = [(START, _walk(1))]
    told, aim = _told(ground, *walks)
    assert told == sightings_of(_history(*walks).seen, ground.setups)
    exact = 1.0 / (1.0 / (_ONE / 3 + WALK_SD**2) + 1.0 / SIGHT_SD**2)
    assert aim.sd == pytest.approx(sqrt(exact + WALK_SD**2), rel=1e-9)


def test_one_fletched_arrow_tells_more_after_other_walks(ground: Ground) -> None:
    def doubt(told: Sequence[Sighting]) -> float:
        last = told[-1]
        return sqrt(last.noise.fixed + last.noise.archer * SCATTER**2 + last.aim**2)

    few = (START, _walk(3, fletched=1))
    alone, after = (_told(ground, *walks)[0] for walks in ((few,), ((START, _walk(1)), (START, _walk(2)), few)))
    many = _told(ground, (START, _walk(3, fletched=3)))[0]
    assert doubt(after) < 0.85 * doubt(alone)
    assert doubt(after) < 1.1 * doubt(many)  # with two arrows less


@pytest.mark.parametrize("moved", [{"sight": 1}, {"at": (6.0, 0.0)}], ids=["logged", "unlogged"])
def test_a_moved_sight_parts_the_walks(ground: Ground, moved: dict[str, object]) -> None:
    walks = [(START, _walk(1)), (START, _walk(2, **moved))]  # type: ignore[arg-type]
    told, aim = _told(ground, *walks)
    assert told == sightings_of(_history(*walks).seen, ground.setups)
    assert aim.sd > WALK_SD  # told by the last walk alone
    assert aim.sd == pytest.approx(_told(ground, walks[1])[1].sd)


def test_what_the_rest_moves_is_foretold(ground: Ground) -> None:
    # A sixty-fourth to the left takes fletched arrows along, by what the plausible bows say; that is no moved sight
    by, _ = _shift(ground, SETUPS[1], START)
    assert by[0] > 0.3 * INCH
    walks = [(START, _walk(1)), (SETUPS[1], _walk(2, at=(float(by[0]) / INCH, 0.0), fletched=1))]
    told, _ = _told(ground, *walks)
    assert all(s.run for s in told)
    assert told[1].value[0] == pytest.approx(-2.0 * INCH, abs=0.8 * INCH)


def test_scatter_follows_the_shots_once_there_are_many() -> None:
    # Computed: sums of squares over degrees of freedom, six of them what the archer is known for
    assert likely_scatter([], ARCHER) == pytest.approx(SCATTER)
    group = Scatter(600 * (2e-3 * 18.0 * BARE_SPREAD) ** 2, 600, 18.0, bare=True)
    assert likely_scatter([group], ARCHER) == pytest.approx(sqrt((6 * SCATTER**2 + 600 * 4e-6) / 606))


def test_stated_doubt_covers_where_walks_come_from_the_same_world(ground: Ground) -> None:
    """400 invented hunts of four walks: standardised errors of the gaps have the spread they should."""
    rng = np.random.default_rng(7)
    squares = []
    for _ in range(400):
        gaps, sight = rng.standard_normal((4, 2)) * 2 * INCH, rng.standard_normal(2) * 2 * INCH
        setups = [START, SETUPS[1], SETUPS[2], SETUPS[1]]
        shifts = {s: _shift(ground, s, setups[-1]) for s in set(setups)}
        out = {s: by + sd * rng.standard_normal(2) for s, (by, sd) in shifts.items()}
        walks = []
        for k, setup in enumerate(setups):
            centre = sight + out[setup] + WALK_SD * rng.standard_normal(2)
            walks.append((setup, _shot(rng, k, centre, gaps[k])))
        told, _ = _told(ground, *walks)
        for sighting, gap in zip(told, gaps, strict=True):
            variance = sighting.noise.fixed + sighting.noise.archer * SCATTER**2 + sighting.aim**2
            squares.append(float(np.mean((np.array(sighting.value) - gap) ** 2)) / variance)
    # 3,200 squares, those of a hunt a little alike; mean 1 with 4 sd of at most 0.14
    assert 0.86 < np.mean(squares) < 1.14


def _shot(rng: np.random.Generator, walk: int, centre: FloatArray, gap: FloatArray) -> Visit:
    impacts = []
    walking = VISIT_SD * rng.standard_normal(2)
    for bare, count in ((False, 1 if walk else 3), (True, 3)):
        for k in range(count):
            one = np.hypot(SCATTER * GAP_DISTANCE * (BARE_SPREAD if bare else 1.0), noise.HOLE.sd)
            hole = centre + one * rng.standard_normal(2) + (gap + walking if bare else 0.0)
            impacts.append(Impact(1 + 10 * walk + k + 50 * bare, bare, float(hole[0]), float(hole[1])))
    return Visit(GAP_DISTANCE, TargetKind.BAG, tuple(impacts))


def test_kernel_has_the_aim_as_a_coordinate_of_its_own(ground: Ground) -> None:
    told, _ = _told(ground, (START, _walk(1)), (START, _walk(2)))
    kernel, outputs = aimed_kernel(ground.kernel, told)
    m = ground.kernel.weight.shape[0]
    assert kernel.weight.shape[0] == m + 2
    for output, sighting in zip(outputs, told, strict=True):
        column, base = kernel.outputs.index(output), kernel.outputs.index(sighting.output)
        assert np.array_equal(kernel.weight[:m, column], kernel.weight[:m, base])
        assert np.allclose(np.abs(kernel.weight[m:, column]), sighting.aim * np.eye(2))
    assert aimed_kernel(ground.kernel, sightings_of([], ground.setups))[0] is ground.kernel
    assert {o.what for o in outputs} == {What.GAP}
