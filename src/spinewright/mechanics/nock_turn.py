"""What turning the nock on the shaft does: its crookedness and its stiff side come to lie in another direction."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spinewright.mechanics.bow_motion import BowMotion
from spinewright.mechanics.forward import Forward, release_of, run_forward
from spinewright.mechanics.rod import Rod
from spinewright.mechanics.stroke import StrokeSettings, checked_rows, hold_for, stroke
from spinewright.mechanics.values import Channel, FloatArray, StrokeParameters

__all__ = ["NockTurn", "nock_turn_effect"]

_STEP = 0.02  # stiff-side difference for the central difference; the effect is linear in it to about its square


@dataclass(frozen=True, slots=True, eq=False)
class NockTurn:
    """Release columns (N, 2, 4) against the angle a [rad] of the nock, positive from left toward up:

    ``base + crook (cos a crook_cos + sin a crook_sin) + e (cos 2a stiff_cos + sin 2a stiff_sin)``

    for a shaft whose middle stands ``crook`` [m] off, to the left at a = 0, and whose stiff side, with
    stiff-side difference e = (stiffest - softest) / 2 over the mean EI, lies sideways at a = 0.
    """

    base: FloatArray
    crook_cos: FloatArray
    crook_sin: FloatArray
    stiff_cos: FloatArray
    stiff_sin: FloatArray

    def at(self, angle: float, crook: float, difference: float, stiff_from: float = 0.0) -> FloatArray:
        """Release columns (N, 2, 4) with the nock turned by ``angle``; the stiff side lies ``stiff_from`` [rad] on."""
        twice = 2.0 * (angle + stiff_from)
        bent = crook * (np.cos(angle) * self.crook_cos + np.sin(angle) * self.crook_sin)
        return np.asarray(
            self.base + bent + difference * (np.cos(twice) * self.stiff_cos + np.sin(twice) * self.stiff_sin)
        )


def nock_turn_effect(
    rod: Rod, bow_motion: BowMotion, parameters: StrokeParameters, amplitudes: FloatArray, steps: int = 160
) -> NockTurn:
    """Harmonics of the release columns in the nock's angle, for N bows with standing ``amplitudes`` (N, 2, 8).

    First harmonic: linear in the crook, from channel BEND. Second: by central differences, cos 2a from strokes with
    the planes' stiffness changed against each other, sin 2a from coupled strokes with the stiff side at 45 degrees.
    Rows that cannot be solved come out as zero. Raises SolveError as :func:`spinewright.mechanics.stroke`.
    """
    rows = checked_rows(rod, bow_motion, parameters)
    plain = stroke(rod, bow_motion, parameters)

    def released(response: FloatArray) -> FloatArray:
        return np.asarray(np.einsum("npc,npcr->npr", amplitudes, response))

    tilt = _STEP * np.array([1.0, -1.0])
    stiffer, softer = (
        stroke(rod, bow_motion, replace(parameters, stiffness_factor=parameters.stiffness_factor * (1.0 + sign * tilt)))
        for sign in (1.0, -1.0)
    )
    count = rows.shape[0]
    doubled = Forward(
        held=hold_for(rod, bow_motion, rows, StrokeSettings()),
        motion=bow_motion,
        rows=np.concatenate([rows, rows]),
        amplitudes=np.concatenate([amplitudes, amplitudes]),
        difference=np.repeat([_STEP, -_STEP], count),
        angle=np.full(2 * count, 0.25 * np.pi),
        steps=steps,
    )
    with np.errstate(all="ignore"):
        askew = release_of(doubled, *run_forward(doubled))
    solved = (plain.solved & stiffer.solved & softer.solved & np.isfinite(askew[:count]).all(axis=(1, 2)))[
        :, None, None
    ]
    bend = plain.response[:, :, Channel.BEND]
    sideways, upright = np.array([[1.0], [0.0]]), np.array([[0.0], [1.0]])
    return NockTurn(
        base=np.where(solved, released(plain.response), 0.0),
        crook_cos=np.where(solved, bend * sideways, 0.0),
        crook_sin=np.where(solved, bend * upright, 0.0),
        stiff_cos=np.where(solved, (released(stiffer.response) - released(softer.response)) / (2.0 * _STEP), 0.0),
        stiff_sin=np.where(solved, (askew[:count] - askew[count:]) / (2.0 * _STEP), 0.0),
    )
