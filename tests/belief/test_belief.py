"""What the belief learns, what it keeps open, and that it says when its evidence or its sampling fails."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from spinewright.belief import (
    GAP_DISTANCE,
    BeliefSettings,
    Cause,
    Ground,
    Output,
    Recall,
    ResponsePrior,
    Theta,
    What,
    believe,
    break_ground,
    check_last,
    count_checkable,
    draw_members,
    members_from,
    run_physics,
    sightings_of,
    too_weak,
    weigh_causes,
)
from spinewright.belief.physics import Strokes, contributions
from spinewright.belief.response import misled
from spinewright.equipment import Head, HeadKind, Rest, RestKind
from spinewright.evidence import BowCheck, History, Impact, NockReading, NockSeries, Seen, TargetKind, Tear, Visit
from spinewright.mechanics import Channel
from tests.belief.benches import (
    BOW_CHECK,
    CONTACT_CHECK,
    INCH,
    bench_archer,
    bench_setup,
    bolts,
    cut,
    fresh_history,
    history_of,
    moved_rest,
)

START = bench_setup()
ARCHER = bench_archer()
SETUPS = (START, moved_rest(START, -1 / 64), cut(START, 0.5), bolts(START, -1.0))
SETTINGS = BeliefSettings(bows=200, particles=300, seed=5)


@pytest.fixture(scope="module")
def ground() -> Ground:
    return break_ground(_with_everything(), SETUPS, (), SETTINGS)


def _with_everything() -> History:
    """A history that names every kind of evidence, so that the ground holds its outputs."""
    seen = (
        Seen(START, _walk((-2.5, -1.0), lean=2.0), "e0"),
        Seen(START, Tear(11, True, 1.83, 0.4 * INCH, 0.0), "e1"),
        Seen(START, Tear(1, False, 1.83, 0.2 * INCH, 0.0), "e2"),
    )
    return replace(fresh_history(START), seen=seen)


def _walk(
    gap: tuple[float, float],
    *,
    lean: float | None = None,
    shots: int = 4,
    spread: float = 0.3,
    target: TargetKind = TargetKind.FRESH_FOAM,
) -> Visit:
    """Bare holes about ``gap`` [in], fletched about the middle, both scattered evenly by ``spread`` [in]."""
    impacts = []
    for k in range(shots):
        dy, dz = spread * np.cos(2.4 * k), spread * np.sin(2.4 * k)
        impacts.append(Impact(1 + k, False, dy * INCH, dz * INCH))
        leaning = None if lean is None else float(np.deg2rad(lean))
        y, z = (gap[0] + dy) * INCH, (gap[1] + dz) * INCH
        impacts.append(Impact(11 + k % 2, True, y, z, lean_y=leaning))
    return Visit(GAP_DISTANCE, target, tuple(impacts))


def test_same_seed_same_belief_and_other_seed_another(ground: Ground) -> None:
    history = history_of(START, [START], [_walk((-2.5, -1.0))])
    first, again = believe(ground, history, ARCHER), believe(ground, history, ARCHER)
    assert np.array_equal(first.gap(START), again.gap(START))
    other = replace(ground, settings=replace(SETTINGS, seed=6))
    assert not np.array_equal(first.gap(START), believe(other, history, ARCHER).gap(START))


def test_a_walk_pulls_the_gap_to_what_was_seen_and_narrows_it(ground: Ground) -> None:
    before = believe(ground, fresh_history(START), ARCHER).gap(START)
    after = believe(ground, history_of(START, [START], [_walk((-2.5, -1.0))]), ARCHER).gap(START)
    assert np.allclose(np.median(after, axis=0) / INCH, (-2.5, -1.0), atol=0.5)
    assert np.all(after.std(axis=0) < 0.4 * before.std(axis=0))


def test_a_slope_is_learnt_against_the_trade_when_the_shots_say_so(ground: Ground) -> None:
    # Computed from the prior: the rest moved right opens a gap on the left when r_y has the trade's sign.
    trade = history_of(START, SETUPS[:2], [_walk((-1.0, 0.0)), _walk((0.6, 0.0))])
    against = history_of(START, SETUPS[:2], [_walk((-1.0, 0.0)), _walk((-2.6, 0.0))])
    agrees = np.mean(believe(ground, trade, ARCHER).particles.theta[:, Theta.REST_Y] < 0)
    refutes = np.mean(believe(ground, against, ARCHER).particles.theta[:, Theta.REST_Y] < 0)
    assert agrees > 0.95
    assert refutes < 0.35


def test_a_weak_reading_says_weak_and_a_stiff_one_stiff(ground: Ground) -> None:
    weak = believe(ground, history_of(START, [START], [_walk((-3.5, -1.5))]), ARCHER)
    stiff = believe(ground, history_of(START, [START], [_walk((3.5, 1.5))]), ARCHER)
    assert np.mean(too_weak(weak, START) > 0) > 0.9
    assert np.mean(too_weak(stiff, START) > 0) < np.mean(too_weak(weak, START) > 0) - 0.1
    assert np.median(too_weak(weak, SETUPS[2])) == pytest.approx(np.median(too_weak(weak, START)) - 0.5 * INCH)


def test_a_heavier_insert_weakens_as_a_heavier_point_does(ground: Ground) -> None:
    belief = believe(ground, fresh_history(START), ARCHER)
    build = START.build
    assert build.insert is not None
    more = 2e-3
    insert = replace(START, build=replace(build, insert=replace(build.insert, mass=build.insert.mass + more)))
    point = replace(START, build=replace(build, head=replace(build.head, mass=build.head.mass + more)))
    weaker = too_weak(belief, insert) - too_weak(belief, START)
    assert np.all(weaker > 0)
    assert np.allclose(weaker, too_weak(belief, point) - too_weak(belief, START))


def test_a_gap_of_chance_keeps_chance_among_the_causes(ground: Ground) -> None:
    wide = bench_archer(2.0)
    belief = believe(ground, history_of(START, [START], [_walk((1.2, 0.0), shots=2, spread=2.0)]), wide)
    shares = {s.cause: s.probability for s in weigh_causes(belief, START, (1.2 * INCH, 0.0))}
    assert sum(shares.values()) == pytest.approx(1.0)
    assert shares[Cause.CHANCE] > 0.1
    sure = believe(ground, history_of(START, [START], [_walk((-4.0, -1.5), shots=8)]), ARCHER)
    shares = {s.cause: s.probability for s in weigh_causes(sure, START, (-4.0 * INCH, -1.5 * INCH))}
    assert shares[Cause.SPINE] == max(shares.values())


def test_contact_is_a_likely_cause_only_while_nobody_looked(ground: Ground) -> None:
    history = history_of(START, [START], [_walk((-2.5, 1.5))])
    looked = believe(ground, history, ARCHER)
    unlooked = believe(ground, replace(history, contact_check=None), ARCHER)
    found = believe(ground, replace(history, contact_check=replace(CONTACT_CHECK, vanes=False)), ARCHER)
    shares = [
        next(s.probability for s in weigh_causes(b, START, (-2.5 * INCH, 1.5 * INCH)) if s.cause is Cause.TOUCH)
        for b in (looked, unlooked, found)
    ]
    assert shares[0] < shares[1] < shares[2]


def test_a_tear_and_a_lean_inform_the_gap(ground: Ground) -> None:
    plain = believe(ground, fresh_history(START), ARCHER).gap(START)
    tear = Tear(11, True, 1.83, 1.5 * INCH, 0.0)
    torn = believe(ground, replace(fresh_history(START), seen=(Seen(START, tear, "e1"),)), ARCHER).gap(START)
    # Common practice: a tail that tears left goes with a bare hole on the right.
    assert np.median(torn[:, 0]) < np.median(plain[:, 0]) - 1.0 * INCH
    assert torn[:, 0].std() < plain[:, 0].std()


def test_lean_counts_in_foam_and_not_in_a_bag() -> None:
    foam = _walk((2.0, 0.0), lean=-2.0)
    bag = _walk((2.0, 0.0), lean=-2.0, target=TargetKind.BAG)
    whats = [[s.output.what for s in sightings_of([Seen(START, v, "e")], [START])] for v in (foam, bag)]
    assert whats == [[What.GAP, What.LEAN], [What.GAP]]


def test_a_lean_whose_height_nobody_looked_at_says_nothing_of_height(ground: Ground) -> None:
    walk = _walk((-2.5, -1.0), lean=2.0)
    seen = sightings_of([Seen(START, walk, "e")], [START])
    assert [s.sideways_only for s in seen] == [False, True]
    level = replace(walk, impacts=tuple(replace(i, lean_z=0.0 if i.bare else None) for i in walk.impacts))
    assert [s.sideways_only for s in sightings_of([Seen(START, level, "e")], [START])] == [False, False]
    looked, unlooked = (believe(ground, history_of(START, [START], [w]), ARCHER) for w in (level, walk))
    lean = Output(0, What.LEAN, GAP_DISTANCE)
    # Computed: an unseen height stays as open as the gap leaves it; one seen level does not, where leans tell anything.
    heard = [b.values(lean)[~misled(b.particles.theta), 1] for b in (unlooked, looked)]
    assert np.subtract(*np.quantile(heard[0], (0.9, 0.1))) > 1.1 * np.subtract(*np.quantile(heard[1], (0.9, 0.1)))


def test_a_nock_series_counts_its_angles_from_where_the_nock_stood() -> None:
    series = NockSeries(11, True, 1.83, True, tuple(NockReading(a, 0.0, 0.0) for a in (0.0, 0.5)))
    turned = replace(START, nock_angle=0.8)
    found = sightings_of([Seen(turned, series, "e")], [turned])
    assert [s.angle for s in found] == pytest.approx([0.8, 1.3])


def test_standing_straight_turns_the_rest_rule_round(ground: Ground) -> None:
    leaning = believe(ground, history_of(START, [START], [_walk((2.0, 0.0), lean=-3.0)]), ARCHER)
    straight = believe(ground, history_of(START, [START], [_walk((2.0, 0.0), lean=0.0)]), ARCHER)
    assert not leaning.straight
    assert straight.straight
    sign = [np.mean(b.particles.theta[:, Theta.REST_Y] < 0) for b in (leaning, straight)]
    assert sign[0] > sign[1] + 0.2


def test_called_bad_shots_and_heads_do_not_move_the_gap() -> None:
    walk = _walk((1.0, 0.0))
    plucked = Impact(11, True, 0.9, 0.9, called_bad=True)
    head = Impact(2, False, -0.9, 0.0, head=HeadKind.FIXED)
    more = replace(walk, impacts=(*walk.impacts, plucked, head))
    values = [sightings_of([Seen(START, v, "e")], [START])[0].value for v in (walk, more)]
    assert values[0] == values[1]


def test_bare_and_fletched_walked_apart_are_joined() -> None:
    walk = _walk((1.0, 0.5))
    bare = replace(walk, impacts=tuple(i for i in walk.impacts if i.bare))
    fletched = replace(walk, impacts=tuple(i for i in walk.impacts if not i.bare))
    apart = sightings_of([Seen(START, fletched, "a"), Seen(START, bare, "b")], [START])
    together = sightings_of([Seen(START, walk, "c")], [START])
    assert apart[0].value == pytest.approx(together[0].value)
    assert apart[0].events == ("a", "b")


def test_a_bow_weighed_anew_or_a_rest_moved_there_and_back_is_no_checked_prediction() -> None:
    walk = _walk((-2.5, -1.0))
    weighed = replace(START, bow=replace(START.bow, peak_weight=0.98 * START.bow.peak_weight))
    # Computed: moved by a 64th and a 128th and back by each, a sum of floats ends 5e-20 m from where it began.
    back = moved_rest(START, (INCH / 64 + INCH / 128 - INCH / 64 - INCH / 128) / INCH)
    assert back != START
    for after in (weighed, back):
        assert count_checkable(history_of(START, (START, after), [walk, walk])) == 0
    assert count_checkable(history_of(START, SETUPS[:2], [walk, walk])) == 1


def test_a_prediction_is_checked_once_the_change_was_shot(ground: Ground) -> None:
    once = history_of(START, SETUPS[:1], [_walk((-2.0, 0.0))])
    assert check_last(Recall(ground, once, ARCHER)) is None
    assert count_checkable(once) == 0
    twice = history_of(START, SETUPS[:2], [_walk((-2.0, 0.0)), _walk((-0.8, 0.0))])
    checked = check_last(Recall(ground, twice, ARCHER))
    assert checked is not None
    assert checked.came_true
    wild = history_of(START, SETUPS[:2], [_walk((-2.0, 0.0)), _walk((20.0, 20.0))])
    failed = check_last(Recall(ground, wild, ARCHER))
    assert failed is not None
    assert not failed.came_true


def test_evidence_that_contradicts_itself_is_reported_as_conflict(ground: Ground) -> None:
    seen = tuple(Seen(START, _walk((s, s), spread=0.1), f"e{k}") for k, s in enumerate((9.0, -9.0, 9.0, -9.0)))
    history = replace(fresh_history(START), seen=seen)
    assert believe(ground, history, ARCHER).health.conflicting
    calm = replace(history, seen=tuple(Seen(START, _walk((1.0, 0.5)), f"e{k}") for k in range(4)))
    assert not believe(ground, calm, ARCHER).health.conflicting


def test_scatter_is_learnt_from_the_groups(ground: Ground) -> None:
    tight = believe(ground, history_of(START, [START], [_walk((0.0, 0.0), shots=8, spread=0.3)]), ARCHER)
    wide = believe(ground, history_of(START, [START], [_walk((0.0, 0.0), shots=8, spread=2.5)]), ARCHER)
    medians = [np.median(b.scatter) * GAP_DISTANCE / INCH for b in (tight, wide)]
    assert medians[0] < 0.5
    assert medians[1] > 1.0


def test_surviving_bows_keep_what_was_not_seen_and_move_what_was(ground: Ground) -> None:
    belief = believe(ground, history_of(START, [START], [_walk((-2.5, -1.0), shots=8)]), ARCHER)
    bows = belief.bows()
    assert len(bows) == SETTINGS.particles
    outputs = [Output(0, What.GAP, GAP_DISTANCE)]
    physics = run_physics(bows, [START], outputs)
    assert np.all(physics.solved)
    carried = belief.carried(ground.members.xi)
    assert carried.shape == (SETTINGS.particles, ground.members.xi.shape[1])


@pytest.mark.parametrize(("kind", "missed"), [(RestKind.DROP_AWAY, 0.06), (RestKind.BLADE, 0.4)])
def test_contributions_add_up_to_the_gap(kind: RestKind, missed: float) -> None:
    start = replace(START, bow=replace(START.bow, rest=Rest(kind, ahead=START.bow.rest.ahead)))
    members = draw_members(60, start, BOW_CHECK, np.random.default_rng(3))
    groups = ((Channel.REST,), (Channel.RAMP, Channel.BUMP), (Channel.NOCK,), (Channel.HOLD, Channel.KICK))
    parts = contributions(members, Strokes(members), start, GAP_DISTANCE, groups).sum(axis=1)
    whole = run_physics(members, [start], [Output(0, What.GAP, GAP_DISTANCE)]).values[:, 0]
    # Computed: cross-flow makes the flight weakly nonlinear, so the parts miss the whole by a few percent of its
    # spread; a blade that only pushes lets go of the shaft at times, as no part does alone: they miss by a quarter.
    assert np.all(np.sqrt(np.mean((parts - whole) ** 2, axis=0)) < np.array([0.06, missed]) * whole.std(axis=0))


def test_with_blades_on_the_arrow_bare_and_fletched_are_compared_with_points() -> None:
    members = draw_members(20, START, BOW_CHECK, np.random.default_rng(4))
    head = Head(START.build.head.mass, START.build.head.length, HeadKind.FIXED, 2.5e-4, 3, 0.028)
    bladed = replace(START, build=replace(START.build, head=head))
    outputs = [Output(0, What.BARE_TEAR, 1.83), Output(0, What.GAP, GAP_DISTANCE)]
    values = [run_physics(members, [s], outputs).values for s in (START, bladed)]
    assert np.allclose(values[0], values[1])


def test_members_are_a_function_of_their_normals_and_widen_without_a_check() -> None:
    xi = np.random.default_rng(1).standard_normal((50, 27))
    checked, unchecked = members_from(xi, START, BOW_CHECK), members_from(xi, START, None)
    wrong = members_from(xi, START, replace(BOW_CHECK, cam_lean=False))
    ramps = [m.amplitudes[:, 0, Channel.RAMP].std() for m in (checked, unchecked, wrong)]
    assert ramps[0] < ramps[1] < ramps[2]
    assert isinstance(BOW_CHECK, BowCheck)


def test_the_slope_prior_draws_from_the_density_it_states() -> None:
    prior = ResponsePrior.of(ARCHER, BOW_CHECK, CONTACT_CHECK)
    draws = prior.draw(40_000, np.random.default_rng(2))[:, Theta.LENGTH_Y]
    edges = np.linspace(-6.0, 12.0, 37)
    middle = 0.5 * (edges[1:] + edges[:-1])
    share = np.histogram(draws, edges)[0] / len(draws)
    fine = np.linspace(edges[0], edges[-1], 36 * 40 + 1)
    density = np.exp(prior.slopes[0].log_density(0.5 * (fine[1:] + fine[:-1]))).reshape(36, 40)
    stated = density.mean(axis=1) * (edges[1] - edges[0])
    # Computed: 40,000 draws know a share to about 0.002.
    assert np.max(np.abs(share - stated)) < 0.01, middle[np.argmax(np.abs(share - stated))]


def test_a_nock_series_teaches_how_the_tear_turns() -> None:
    readings = tuple(
        NockReading(float(a), (0.3 + 0.5 * np.cos(a)) * INCH, 0.0) for a in np.arange(0, 2 * np.pi, np.pi / 6)
    )
    series = NockSeries(11, True, 1.83, True, readings)
    history = replace(fresh_history(START), seen=(Seen(START, series, "e0"),))
    ground = break_ground(history, (), (), BeliefSettings(bows=120, particles=200, seed=8))
    belief = believe(ground, history, ARCHER)
    output = Output(0, What.BARE_TEAR, 1.83)
    here, turned = (np.median(belief.values(output, a)[:, 0]) / INCH for a in (0.0, np.pi))
    assert here - turned > 0.2
