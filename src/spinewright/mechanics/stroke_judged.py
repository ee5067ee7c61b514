"""Which rows of strokes may be answered: what linear bending can account for, of shafts that the bow does not crush."""

from __future__ import annotations

from math import isfinite

import numpy as np
from numba import njit
from numpy.typing import NDArray

from spinewright.mechanics.bow_motion import BowMotion
from spinewright.mechanics.held_rod import HeldRod
from spinewright.mechanics.release_energy import energy_across
from spinewright.mechanics.values import FloatArray

__all__ = ["BENDING_JUDGED", "answerable", "bent_too_far", "usable_rows"]

_ABSURD = 1e6  # release columns this large per unit are no answer (m, m/s, rad, rad/s per unit of any disturbance)
# The bow's energy is spent along the shot in full; what goes across is not taken off it. So no answer may put more than
# this share of it across, each channel at a plausible size, nor come from a shaft that carries less than a share of the
# thrust: below it the bending alone came to hold a third of the stored energy and more (computed, random benches).
_MOST_ACROSS, _FAR_TOO_WEAK = 0.005, 0.5
#: Shafts that carry less than BENDING_JUDGED of the thrust are judged by their bending too: with it plausible
#: disturbances may put this share across. Of random ones one in two hundred bends further (computed, 12,000 benches).
BENDING_JUDGED, _MOST_WITH_BENDING = 0.7, 0.01
_PLAUSIBLE = np.array([1e-3, 1e-3, 1e-3, 1e-3, 1e-3, 0.1, 1.0, 1e-4])
_ONE_BY_ONE = np.einsum("kc,p->kpc", np.diag(_PLAUSIBLE), np.ones(2))  # (8, 2, 8) each channel in both planes
_MAY_BE_ZERO = np.isin(np.arange(12), [3, 4, 5, 6, 7, 10, 11])  # columns of parameter_rows
_DROP, _DAMPING = 10, 11


@njit(cache=True, error_model="numpy")
def usable_rows(rows: FloatArray) -> NDArray[np.bool_]:
    """Rows whose parameters can be: finite (the drop may be infinite), damping below critical, stiffnesses, forces and
    rests above zero, nothing negative; (N,)."""
    usable = np.empty(rows.shape[0], dtype=np.bool_)
    for n in range(rows.shape[0]):
        fine = rows[n, _DAMPING] < 1.0
        for k in range(rows.shape[1]):
            value = rows[n, k]
            fine = fine and (value > 0.0 or (value == 0.0 and _MAY_BE_ZERO[k])) and (isfinite(value) or k == _DROP)
        usable[n] = fine
    return usable


@njit(cache=True, error_model="numpy")
def answerable(
    effects: FloatArray, speed: FloatArray, time: FloatArray, stored: FloatArray, carried: FloatArray, body: FloatArray
) -> NDArray[np.bool_]:
    """Rows (N,) whose ``effects`` (N, 2, >= 8, 4), ``speed`` and ``time`` are an answer.

    ``stored`` (N,) [J] what the bow gives, ``carried`` (N,) the share of its peak thrust that would buckle the shaft,
    ``body`` (2,) mass [kg] and inertia [kg m2]. Everything must be finite and no channel absurd; the energy with which
    the arrow moves and turns across the shot, every channel at a plausible size, a small share of what is stored.
    """
    fine = np.empty(effects.shape[0], dtype=np.bool_)
    for n in range(effects.shape[0]):
        across, sound = 0.0, isfinite(speed[n]) and isfinite(time[n])
        for plane in range(2):
            for channel in range(8):
                for column in range(4):
                    value = effects[n, plane, channel, column]
                    sound = sound and abs(value) < _ABSURD  # not so for what is not a number
                    if column % 2 == 1:
                        across += 0.5 * body[column // 2] * (value * _PLAUSIBLE[channel]) ** 2
        fine[n] = sound and across <= _MOST_ACROSS * stored[n] and carried[n] >= _FAR_TOO_WEAK
    return fine


def bent_too_far(held: HeldRod, motion: BowMotion, rows: FloatArray, carried: FloatArray) -> NDArray[np.bool_]:
    """Rows (N,) that plausible disturbances bend too far for linear bending to be believed.

    ``carried`` (N,) as for :func:`answerable`, infinite for rows that need no judging. The weakest stands for its
    fellows: where it does not bend too far, none does.
    """
    far = np.zeros(rows.shape[0], dtype=np.bool_)
    for n in np.argsort(carried, kind="stable"):
        if carried[n] >= BENDING_JUDGED:
            break
        across = sum(sum(energy_across(held, motion, rows[n], one)) for one in _ONE_BY_ONE)
        far[n] = not across <= _MOST_WITH_BENDING * rows[n, 2] * motion.energy
        if not far.any():
            break
    return far
