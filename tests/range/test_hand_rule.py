"""The hand rule keeps to the facts of the trade ('common practice, no published source')."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from benchmarks.virtual_range.bench import Act, Bench, Choice
from benchmarks.virtual_range.hand_rule import HandRule
from benchmarks.virtual_range.reading import clean_angle, own_scatter, read_gap
from benchmarks.virtual_range.world import World, WorldKind, draw_world

from spinewright.evidence import BowCheck, ContactCheck, Impact, NockReading, NockSeries, TargetKind, Visit
from spinewright.units import INCH

pytestmark = pytest.mark.endurance

BOW, CLEAN = BowCheck(*(True,) * 10), ContactCheck(*(True,) * 4)


@pytest.fixture(scope="module")
def world() -> World:
    # A world whose bolts may be turned out, whose archer owns a lighter point, and whose shaft may be cut.
    for seed in range(200, 300):
        found = draw_world(seed, WorldKind.OPEN)
        bow = found.start.bow
        lighter = any(h.mass < found.start.build.head.mass for h in found.truth.heads)
        room = found.start.build.carbon_length - found.safe_length
        bolts = bow.weight_per_turn and bow.turns_allowed and bow.turns_out_now + 1 <= bow.turns_allowed
        if bolts and lighter and room > INCH and not found.truth.faults.paper:
            return found
    raise AssertionError


def walk(y: float, z: float, spread: float = 0.2, lean: float | None = None) -> Visit:
    """Three of each, bare about (y, z) [in] with ``spread`` [in]."""
    impacts: list[Impact] = []
    for k in range(3):
        dy, dz = spread * np.cos(2.1 * k), spread * np.sin(2.1 * k)
        impacts.append(Impact(1 + k, False, dy * INCH, dz * INCH))
        impacts.append(Impact(11 + k % 2, True, (y + dy) * INCH, (z + dz) * INCH, lean_y=lean, lean_z=lean))
    return Visit(18.288, TargetKind.FRESH_FOAM, tuple(impacts))


def at_bench(world: World, visits: Sequence[Visit]) -> Bench:
    bench = Bench.fresh(world)
    bench.history = replace(bench.history, seen=(), bow_check=BOW, contact_check=CLEAN)
    for visit in visits:
        bench.see(visit)
    return bench


def first(world: World, visits: Sequence[Visit]) -> Choice:
    return HandRule().choose(at_bench(world, visits))


def test_checks_come_first_and_a_fault_goes_to_a_technician(world: World) -> None:
    bench = at_bench(world, [])
    bench.history = replace(bench.history, bow_check=None)
    assert HandRule().choose(bench).act is Act.CHECK_BOW
    bench.history = replace(bench.history, bow_check=replace(BOW, cam_lean=False))
    assert HandRule().choose(bench).act is Act.TECHNICIAN


def test_shots_are_repeated_before_a_small_gap_is_believed(world: World) -> None:
    assert first(world, [walk(-0.5, 0.1)]).act is Act.SHOOT
    stop = first(world, [walk(-0.5, 0.1), walk(-0.4, 0.0)])
    assert (stop.act, stop.why) == (Act.STOP, "tuned")


def test_weak_and_large_tries_bolts_then_point_then_the_saw(world: World) -> None:
    rule, bench = HandRule(), at_bench(world, [walk(-4.5, -1.5)])
    done = []
    for _ in range(5):
        choice = rule.choose(bench)
        done.append(choice.why if choice.act is Act.CHANGE else str(choice.act))
        bench.act(choice)
        if choice.act is Act.CHANGE:
            bench.see(walk(-4.0 + 0.3 * len(done), -1.5))
        if choice.why == "cut":
            break
    assert done[:2] == ["bolts", "point"]
    assert done[-2:] == [str(Act.MARK), "cut"]
    before, after = bench.history.setups[-2:]
    assert before.build.carbon_length - after.build.carbon_length == pytest.approx(0.5 * INCH)


def test_a_stiff_arrow_is_never_cut(world: World) -> None:
    rule, bench = HandRule(), at_bench(world, [walk(4.5, 1.5)])
    for _ in range(25):
        choice = rule.choose(bench)
        assert choice.why != "cut"
        if choice.act is Act.STOP:
            break
        if choice.act is Act.CHANGE:
            bench.act(choice)
            bench.see(walk(4.4, 1.5))
        elif choice.act is Act.SHOOT:
            bench.see(walk(4.4, 1.5))
    assert bench.cuts == 0


def test_a_small_gap_trims_the_rest_toward_the_bare_hole(world: World) -> None:
    choice = first(world, [walk(-1.8, 0.2)] * 3)
    assert choice.why == "rest y"
    assert choice.after is not None
    assert choice.after.rest_y < 0.0


def test_standing_straight_turns_the_rest_rule_round(world: World) -> None:
    choice = first(world, [walk(-1.8, 0.2, lean=0.0)] * 3)
    assert choice.after is not None
    assert choice.after.rest_y > 0.0


def test_where_all_else_is_done_long_shafts_of_the_other_kind_are_taken_once() -> None:
    rich = next(w for w in (draw_world(seed, WorldKind.OPEN) for seed in range(200, 300)) if w.truth.shafts)
    for gap, stiffer in ((-4.5, True), (4.5, False)):
        rule, bench = HandRule(), at_bench(rich, [walk(gap, 0.3)])
        for _ in range(80):
            choice = rule.choose(bench)
            if choice.act is Act.STOP:
                break
            bench.act(choice)
            if choice.act is Act.CHANGE:
                bench.see(walk(gap, 0.3))
        assert choice.why == "out of reach"
        assert bench.other_shafts == 1
        taken = next(s for s in bench.history.setups if s.build.shaft != rich.start.build.shaft)
        assert (taken.build.shaft.static_spine < rich.start.build.shaft.static_spine) is stiffer
        assert taken == replace(rich.start, build=replace(rich.start.build, shaft=taken.build.shaft))
        assert bench.fresh_shafts == 3


def test_bare_low_raises_the_rest(world: World) -> None:
    choice = first(world, [walk(0.2, -1.8)] * 3)
    assert choice.why == "rest z"
    assert choice.after is not None
    assert choice.after.rest_z > 0.0


def test_a_move_that_made_it_worse_is_put_back_and_the_other_way_tried(world: World) -> None:
    rule, bench = HandRule(), at_bench(world, [walk(-1.8, 0.2)] * 3)
    start = bench.now
    bench.act(rule.choose(bench))
    bench.see(walk(-3.0, 0.2))
    back = rule.choose(bench)
    assert "put back" in back.why
    assert back.after == start
    bench.act(back)
    other = rule.choose(bench)
    assert other.after is not None
    assert other.after.rest_y > 0.0 or other.why == "rest z"


def test_an_overshoot_halves_the_step(world: World) -> None:
    rule, bench = HandRule(), at_bench(world, [walk(-1.8, 0.2)] * 3)
    bench.act(rule.choose(bench))
    bench.see(walk(1.2, 0.2))
    rule.choose(bench)
    assert rule.steps["rest y"] == pytest.approx(INCH / 128)


def test_wide_groups_show_the_archer(world: World) -> None:
    wide = walk(-2.0, 0.0, spread=3.5)
    assert first(world, [wide]).act is Act.SHOOT
    stop = first(world, [wide, wide])
    assert (stop.act, stop.why) == (Act.STOP, "archer")


def test_reading_by_hand() -> None:
    visits = [walk(-2.0, 1.0), walk(-2.0, 1.0)]
    scatter = own_scatter(visits)
    gap = read_gap(visits, scatter)
    assert gap is not None
    assert (gap.y / INCH, gap.z / INCH) == pytest.approx((-2.0, 1.0))
    # Computed: sd sqrt(1.69 / 6 + 1 / 6) of the archer's own.
    assert gap.doubt == pytest.approx(scatter * np.sqrt(1.69 / 6 + 1 / 6))
    assert read_gap([replace(visits[0], impacts=visits[0].impacts[::2])], scatter) is None


def test_the_cleanest_angle_is_found() -> None:
    angles = np.deg2rad(20.0 * np.arange(18))
    tails = tuple(NockReading(float(a), float(0.01 + 0.01 * np.cos(a - np.pi)), 0.0) for a in angles)
    angle, gain = clean_angle(NockSeries(11, True, 1.83, True, tails))
    assert abs(angle) < 0.1
    assert gain == pytest.approx(0.0)
