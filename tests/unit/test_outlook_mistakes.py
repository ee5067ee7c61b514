"""The stated mistakes, and how far they move the hit."""

from __future__ import annotations

from dataclasses import astuple, fields, replace
from math import atan2, cos, sin, tan

import numpy as np
import pytest
from tests.unit.outlook_samples import ARCHER, DISTANCE, bench, members, still

from spinewright.equipment import DrawCurve, RestKind, face_named
from spinewright.errors import SolveError
from spinewright.mechanics import Channel
from spinewright.outlook import (
    AMOUNTS,
    Line,
    Mistake,
    MistakeAmounts,
    Skill,
    mistake_rows,
    own_mistakes,
    sizes_sentence,
    skill_of,
    whose_words,
)
from spinewright.outlook import runs as runs_module
from spinewright.outlook.mistakes import disturbance, sight_shift
from spinewright.outlook.own_mistakes import miss_draws
from spinewright.outlook.runs import Change, released
from spinewright.units import System
from spinewright.workflow.mistake_sizes import SIZES, said_mistakes

LINE = Line.of(ARCHER, DISTANCE, face_named("40 cm"))
ORDER = list(Mistake)


def test_the_less_skilled_the_larger_every_mistake() -> None:
    novice, club, expert = (astuple(AMOUNTS[skill]) for skill in (Skill.NOVICE, Skill.CLUB, Skill.EXPERT))
    assert all(a > b > c > 0.0 for a, b, c in zip(novice, club, expert, strict=True))


@pytest.mark.parametrize(("scatter", "skill"), [(3e-4, Skill.EXPERT), (1.5e-3, Skill.CLUB), (4e-3, Skill.NOVICE)])
def test_skill_follows_from_scatter(scatter: float, skill: Skill) -> None:
    assert skill_of(scatter) is skill


def test_sizes_that_are_given_stand_in_for_those_of_the_level() -> None:
    chosen = Line.of(ARCHER, DISTANCE, skill=Skill.EXPERT).with_sizes({"creep": 4e-3, "torque": 0.0})
    assert chosen.amounts == replace(AMOUNTS[Skill.EXPERT], creep=4e-3, torque=0.0)
    assert chosen.own == (Mistake.CREEP, Mistake.TORQUE)
    assert whose_words(chosen) == "those of an expert, your own for creeping forward before release, hand torque"
    own = own_mistakes(members(), bench(), chosen)
    told = sizes_sentence(own)
    assert "typical for an expert, as chosen. Given by you: creeping forward before release, hand torque." in told
    assert own.effects[ORDER.index(Mistake.TORQUE)].miss.high == pytest.approx(0.0, abs=1e-9)
    assert whose_words(LINE.with_sizes({})) == whose_words(LINE)


def test_every_mistake_can_be_given_a_size() -> None:
    assert [field.what for field in SIZES.values()] == [str(one) for one in Mistake]
    assert list(SIZES) == [one.name for one in fields(MistakeAmounts)]
    assert said_mistakes(["expert", "nock height: 0.01 in"]) == ("expert", {"nock_height": "0.01 in"})
    novice = astuple(AMOUNTS[Skill.NOVICE])
    assert [field.most for field in SIZES.values()] == pytest.approx([10 * amount for amount in novice])


def test_torque_turns_the_string_plane_and_never_the_rest() -> None:
    added = disturbance(Mistake.TORQUE, LINE.amounts, bench().bow)
    assert added[0, Channel.HOLD] == pytest.approx(bench().bow.nock_to_pivot * LINE.amounts.torque)
    assert not added[:, Channel.REST].any()
    assert np.count_nonzero(added) == 1


def test_creep_disturbs_nothing_across_the_shot() -> None:
    assert not disturbance(Mistake.CREEP, LINE.amounts, bench().bow).any()


def test_sight_line_of_a_turned_bow() -> None:
    # computed: archer's frame, pivot at 0, peep at (-D, 0), pin on the turned riser; then into the bow's axes
    bow, angle, ahead = bench().bow, 1e-4, 0.2
    back = bow.nock_to_pivot
    pin = np.array([ahead * cos(angle), ahead * sin(angle)])
    line = atan2(pin[1], pin[0] + back)
    peep = np.array([[cos(angle), sin(angle)], [-sin(angle), cos(angle)]]) @ [-back, 0.0]
    aim = peep[1] + tan(line - angle) * (DISTANCE - peep[0])
    assert sight_shift(angle, bow, DISTANCE, ahead) == pytest.approx(aim, rel=1e-4)


def test_torque_is_partly_undone_by_the_sight() -> None:
    # computed with this model: the nock off the string plane throws the arrow the way the turned sight has gone
    setup, bows = bench(), members()
    held = miss_draws(bows, setup, LINE).effect[ORDER.index(Mistake.TORQUE), :, 0]
    shift = sight_shift(LINE.amounts.torque, setup.bow, DISTANCE)
    assert shift < 0.0
    assert np.mean(np.abs(held) < abs(shift)) > 0.8


def test_torque_adds_up_on_a_rest_that_holds_to_the_end() -> None:
    # computed with this model: the nock swings past the string plane about a rest that has come close to it
    bow = bench().bow
    setup = replace(bench(), bow=replace(bow, rest=replace(bow.rest, kind=RestKind.BLADE, drops_after=None)))
    held = miss_draws(members(setup=setup), setup, LINE).effect[ORDER.index(Mistake.TORQUE), :, 0]
    assert np.mean(held > abs(sight_shift(LINE.amounts.torque, bow, DISTANCE))) > 0.5


def test_creep_lands_low_by_the_drop_of_a_slower_arrow() -> None:
    # computed: speed from the energy of the shortened draw, drop g t^2 / 2 over a flight of nearly constant speed
    setup = bench()
    creep = 5e-3
    line = replace(LINE, amounts=replace(LINE.amounts, creep=creep))
    bows = still()
    effect = miss_draws(bows, setup, line).effect[ORDER.index(Mistake.CREEP)]
    curve = DrawCurve.of(setup.bow)
    slower = np.sqrt(curve.energy(curve.stroke - creep) / curve.stored_energy)
    speed = released(bows, setup).speed
    drop = 0.5 * 9.80665 * (DISTANCE / speed) ** 2 * (1.0 / slower**2 - 1.0)
    assert effect[:, 0] == pytest.approx(0.0, abs=1e-9)
    assert -effect[:, 1] == pytest.approx(drop, rel=0.08)


def test_creep_of_more_than_the_last_reading_allows() -> None:
    # a bow whose curve was read to full draw must not refuse the shorter draw
    assert released(members(16), bench(), Change(creep=6e-3)).solved.all()


def test_mistakes_add_in_proportion() -> None:
    # flight is only weakly nonlinear (computed)
    double = MistakeAmounts(*(2.0 * one for one in astuple(LINE.amounts)))
    once, twice = (miss_draws(members(), bench(), replace(LINE, amounts=a)).combined for a in (LINE.amounts, double))
    assert twice == pytest.approx(2.0 * once, rel=0.03)


def test_mistakes_cost_the_same_wherever_the_rest_stands() -> None:
    # release is linear in what disturbs it, so an error acts the same whatever stands already (computed)
    bows = members()
    here, there = (miss_draws(bows, replace(bench(), rest_y=y), LINE).combined for y in (0.0, 0.6e-3))
    assert np.median(there) == pytest.approx(np.median(here), rel=0.03)


def test_a_mirrored_bow_misses_as_far() -> None:
    bows, setup = members(), bench()
    amplitudes = bows.amplitudes.copy()
    amplitudes[:, 0] *= -1.0
    mirrored = miss_draws(replace(bows, amplitudes=amplitudes), setup, LINE)
    plain = miss_draws(bows, setup, LINE)
    kick = ORDER.index(Mistake.CREEP)  # the one effect that depends on what stands already
    assert mirrored.effect[kick, :, 0] == pytest.approx(-plain.effect[kick, :, 0], abs=1e-9)
    assert mirrored.effect[kick, :, 1] == pytest.approx(plain.effect[kick, :, 1], abs=1e-9)


def test_stiff_enough_to_stand_for_rigid(monkeypatch: pytest.MonkeyPatch) -> None:
    ours = miss_draws(members(), bench(), LINE, rigid=True).combined
    monkeypatch.setattr(runs_module, "RIGID", 3000.0)
    assert miss_draws(members(), bench(), LINE, rigid=True).combined == pytest.approx(ours, rel=0.02)


def test_points_are_lost_in_the_order_of_misses() -> None:
    own = own_mistakes(members(), bench(), LINE)
    assert own.points is not None
    assert 0.0 < own.points < 10.0
    largest = max(own.effects, key=lambda effect: effect.miss.middle)
    assert largest.points == max(effect.points or 0.0 for effect in own.effects)
    assert own.miss.low < own.miss.middle < own.miss.high


def test_no_face_no_points() -> None:
    own = own_mistakes(members(), bench(), replace(LINE, face=None))
    assert own.points is None
    assert all(effect.points is None for effect in own.effects)


def test_rows_name_every_mistake_in_the_archers_units() -> None:
    rows = mistake_rows(own_mistakes(members(), bench(), LINE), System.METRIC)
    assert [row[0] for row in rows] == [*map(str, Mistake), "all of them together"]
    assert all("mm" in row[2] for row in rows)


def test_bows_without_an_answer_are_said() -> None:
    bows = members()
    broken = replace(bows, stroke=replace(bows.stroke, damping=np.full(len(bows), np.nan)))
    with pytest.raises(SolveError, match="own mistakes"):
        own_mistakes(broken, bench(), LINE)
