"""Turning the nock: first harmonic from crookedness, second from the stiff side, against strokes run at the angle."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.mechanics_samples import AMPLITUDES, arrow, bow_in_motion, one, plausible

from spinewright.mechanics import Channel, MotionSettings, build_rod, motion, nock_turn_effect

ROD, BOW = build_rod(arrow()), bow_in_motion()


@pytest.mark.parametrize("angle", [0.0, 0.6, 2.0])
def test_harmonics_give_the_stroke_at_the_angle(angle: float) -> None:
    parameters = one(plausible(2), 1)
    amplitudes = np.random.default_rng(3).normal(size=(1, 2, 8)) * AMPLITUDES
    amplitudes[:, :, Channel.BEND] = 0.0
    turn = nock_turn_effect(ROD, BOW, parameters, amplitudes)
    difference, crook = 0.004, 5e-5
    bent = amplitudes[0].copy()
    bent[:, Channel.BEND] = crook * np.array([np.cos(angle), np.sin(angle)])
    exact = motion(ROD, BOW, parameters, bent, MotionSettings(difference=difference, angle=angle)).release
    size = np.abs(turn.base[0]) + np.abs(difference * turn.stiff_cos[0])
    assert np.abs((turn.at(angle, crook, difference)[0] - exact) / size).max() < 0.02


def test_harmonics_repeat_after_a_turn_and_half_a_turn() -> None:
    parameters = plausible(3)
    amplitudes = np.tile(np.eye(2, 8), (3, 1, 1)) * 1e-3
    turn = nock_turn_effect(ROD, BOW, parameters, amplitudes)
    assert turn.at(0.4, 0.0, 0.02) == pytest.approx(turn.at(0.4 + np.pi, 0.0, 0.02))
    assert turn.at(0.4, 1e-4, 0.02) == pytest.approx(turn.at(0.4 + 2 * np.pi, 1e-4, 0.02))
    assert turn.at(0.4, 1e-4, 0.0) + turn.at(0.4 + np.pi, 1e-4, 0.0) == pytest.approx(2.0 * turn.base)
