"""The figures of a build sheet, and a spine hidden by the rest."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.unit.outlook_samples import ARCHER, DISTANCE, bench, history

from spinewright.belief import Belief, BeliefSettings, believe, break_ground
from spinewright.equipment import Head, HeadKind, LimitState, mass_model
from spinewright.outlook import Line, build_figures, hidden_spine, hidden_spine_words, rest_back, sheet_cautions
from spinewright.units import FOOT, GRAIN, INCH, Hand, System

LINE = Line.of(ARCHER, DISTANCE)


def test_figures_agree_with_one_another() -> None:
    figures = build_figures(bench())
    for arrow, bare in ((figures.fletched, False), (figures.bare, True)):
        masses = mass_model(bench().build, bare=bare)
        assert arrow.masses.total_mass == masses.total_mass
        launch = arrow.launch
        assert launch.energy == pytest.approx(0.5 * masses.total_mass * launch.speed**2)
        assert launch.momentum == pytest.approx(masses.total_mass * launch.speed)
        assert [len(nodes) for nodes in arrow.nodes] == [2, 3, 4]  # a free rod's mode k stands still at k + 1 places
        assert list(arrow.frequencies) == sorted(arrow.frequencies)


def test_the_bare_shaft_is_lighter_faster_and_further_forward() -> None:
    figures = build_figures(bench())
    assert figures.bare.launch.speed > figures.fletched.launch.speed
    assert figures.bare.masses.foc > figures.fletched.masses.foc


def test_the_speed_goes_with_the_chronograph() -> None:
    # the invented reading is 259 ft/s for 412 gr, the arrow here weighs nearly that
    figures = build_figures(bench())
    assert figures.fletched.masses.total_mass == pytest.approx(412 * GRAIN, rel=0.02)
    assert figures.fletched.launch.speed == pytest.approx(259 * FOOT, rel=0.02)


def test_turned_bolts_store_more() -> None:
    turned = replace(bench(), bolt_turns=1.0, bolts_since_weighed=1.0)
    before, after = build_figures(bench()), build_figures(turned)
    ratio = turned.present_peak_weight / bench().present_peak_weight
    assert after.bow_fit.curve.stored_energy == pytest.approx(ratio * before.bow_fit.curve.stored_energy)
    assert after.bow_fit.mass == pytest.approx(before.bow_fit.mass)


def test_cautions_begin_with_what_is_broken_and_name_what_is_unknown() -> None:
    weak = replace(bench(), bow=replace(bench().bow, weakest_spine=0.330 * INCH))
    figures = build_figures(weak)
    assert [one.state for one in figures.broken] == [LimitState.BROKEN]
    cautions = sheet_cautions(figures, System.INCH)
    assert "do not shoot this" in cautions[0]
    assert any("not known" in caution for caution in cautions)


def test_heads_bring_their_caution() -> None:
    head = Head(118 * GRAIN, 0.033, HeadKind.FIXED, 2e-4, 3, 0.028)
    headed = replace(bench(), build=replace(bench().build, head=head))
    assert any("Never a broadhead" in one for one in sheet_cautions(build_figures(headed), System.INCH))
    assert not any("Never a broadhead" in one for one in sheet_cautions(build_figures(bench()), System.INCH))


def _belief(rest_y: float) -> Belief:
    now = replace(bench(), rest_y=rest_y)
    told = history(now, start=bench())
    ground = break_ground(told, (rest_back(now, bench()),), (), BeliefSettings(bows=60, particles=150))
    return believe(ground, told, ARCHER)


def test_a_rest_that_never_moved_hides_nothing() -> None:
    value = hidden_spine(_belief(0.0), bench(), LINE, bows=16)
    assert not value.rest_moved
    assert not value.hiding
    assert hidden_spine_words(value, Hand.RIGHT, System.INCH) == (
        "The rest stands where it started, so it hides nothing.",
    )


def test_a_moved_rest_costs_no_more_mistakes() -> None:
    # the archer's own miss does not know where the rest stands (computed); the gap does
    now = replace(bench(), rest_y=-0.7e-3)
    value = hidden_spine(_belief(-0.7e-3), now, LINE, bows=24)
    assert value.rest_moved
    assert value.own_now.middle == pytest.approx(value.own_back.middle, rel=0.03)
    assert value.gap_now.middle != value.gap_back.middle
    assert 0.0 <= value.chance <= 1.0
    words = hidden_spine_words(value, Hand.RIGHT, System.INCH)
    assert "right 0.028 in" in words[0]
    assert "the same either way" in words[2]
    assert "left 0.028 in" in hidden_spine_words(value, Hand.LEFT, System.INCH)[0]


def test_a_small_trim_after_a_small_gap_is_not_called_hiding() -> None:
    now = replace(bench(), rest_y=-0.1e-3)
    told = history(now, start=bench(), gap=(-0.004, 0.0))
    ground = break_ground(told, (rest_back(now, bench()),), (), BeliefSettings(bows=60, particles=150))
    assert not hidden_spine(believe(ground, told, ARCHER), now, LINE, bows=16).hiding
