"""The width stated for the stiff side of a turned nock against what the mechanics makes of it, bow by bow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spinewright.belief import GAP_DISTANCE, Output, What, draw_members
from spinewright.belief.design import USUAL_DIFFERENCE, make_kernel, row_arrays, rows_for
from spinewright.belief.physics import Physics, Strokes, _drawn, _flown, standing
from spinewright.belief.response import TURN_SD
from spinewright.equipment import mass_model
from spinewright.flight import flight_body, fly
from spinewright.mechanics import nock_turn_effect
from tests.belief.benches import BOW_CHECK, bench_setup

START = bench_setup()


def test_the_stiff_side_gets_three_to_five_times_the_width_that_bending_gives_it() -> None:
    members = draw_members(60, START, BOW_CHECK, np.random.default_rng(3))
    gaps = []
    for part in ("stiff_cos", "stiff_sin"):
        gap = np.zeros((len(members), 2))
        for sign, bare in ((1.0, True), (-1.0, False)):
            turned = nock_turn_effect(*_drawn(members, START, bare=bare), standing(members, START), steps=100)
            # the difference counts from softest to stiffest, the effect from the mean to the stiffest
            effect = 0.5 * USUAL_DIFFERENCE * getattr(turned, part)
            masses = mass_model(_flown(START.build), bare=bare)
            body = flight_body(_flown(START.build), masses, bare=bare)
            speed, reach = Strokes(members).of(START, bare=bare).speed, np.array([GAP_DISTANCE])
            holes = [fly(body, speed, turned.base + e, members.flight, reach).hole[:, 0] for e in (effect, 0.0)]
            gap += sign * (holes[0] - holes[1])
        gaps.append(gap)
    computed = np.std(gaps, axis=1)
    # Computed over 150 bows of the prior: 0.04 to 0.05 in at 20 yd in either plane and harmonic.
    assert np.all(3.0 * computed < TURN_SD[1])
    assert np.all(5.0 * computed > TURN_SD[1])


def test_a_rounder_shaft_turns_less() -> None:
    outputs = (Output(0, What.GAP, GAP_DISTANCE),)
    values = np.random.default_rng(1).standard_normal((20, 1, 2))
    kernel = make_kernel(Physics(outputs, values, np.ones(20, dtype=bool), ""))
    shaft = START.build.shaft
    turned = []
    for difference in (0.01, 0.03):
        setup = replace(START, build=replace(START.build, shaft=replace(shaft, stiff_side_difference=difference)))
        turned.append(row_arrays(kernel, rows_for(kernel, [setup], setup, [(outputs[0], 0.7)])).turned)
    assert np.allclose(turned[0][:, :2], turned[1][:, :2])
    assert np.allclose(3.0 * turned[0][:, 2:], turned[1][:, 2:])
