"""The same power stroke by SciPy's solve_ivp: same equations, same kept shapes, forward in time.

What favours the solver: shapes, contacts and thrust at an instant come from the kernel's own compiled code; the stroke
is broken where the rest drops; tolerances are loosened until its error just meets the one asked for.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from benchmarks.stroke_setups import Case
from spinewright.mechanics import StrokeSettings, build_rod
from spinewright.mechanics.bow_motion import bow_arrays
from spinewright.mechanics.forward import Forward, drawn, release_of
from spinewright.mechanics.held_rod import rod_arrays
from spinewright.mechanics.stroke import hold_for, parameter_rows
from spinewright.mechanics.stroke_moment import GRAVITY, Moment, fill_moment, new_moment
from spinewright.mechanics.stroke_run import share_at_travel

__all__ = ["Solver"]

FloatArray = NDArray[np.float64]


@njit(cache=True)
def _targets(m: Moment) -> FloatArray:
    """Where each channel wants nock and rest, (2, 8, 2)."""
    out, share = np.zeros((2, 8, 2)), m.scalars[0]
    for plane in range(2):
        out[plane, 0, 0] = 1.0
        out[plane, 1, 0] = share
        out[plane, 2, 0] = 4.0 * share * (1.0 - share)
        out[plane, 3, 1] = 1.0
        out[plane, 7, 0] = -m.hold[plane, 3]
        out[plane, 7, 1] = -m.hold[plane, 4]
    return out


@njit(cache=True)
def _push(m: Moment, q: FloatArray, v: FloatArray, drags: FloatArray, squares: FloatArray, fall: float) -> FloatArray:
    """Accelerations (2, 8, n); column c is channel c."""
    out, wanted = np.empty_like(q), _targets(m)
    n = q.shape[2]
    for plane in range(2):
        for column in range(8):
            at_nock, at_rest = wanted[plane, column, 0], wanted[plane, column, 1]
            for i in range(n):
                at_nock -= m.nock[plane, i] * q[plane, column, i]
                at_rest -= m.rest[plane, i] * q[plane, column, i]
            pull = m.hold[plane, 0] * at_nock + m.hold[plane, 1] * at_rest
            push = m.hold[plane, 1] * at_nock + m.hold[plane, 2] * at_rest
            for i in range(n):
                total = m.nock[plane, i] * pull + m.rest[plane, i] * push
                total -= squares[plane, i] * q[plane, column, i] + drags[plane, i] * v[plane, column, i]
                if i > 0:
                    for j in range(1, n):
                        total += m.thrust[i - 1, j - 1] * q[plane, column, j]
                out[plane, column, i] = total
        out[plane, 6, 0] -= fall
        for i in range(1, n):
            out[plane, 7, i] += m.thrust[i - 1, n - 1]
    return out


class Solver:
    """One case with ``modes`` kept shapes, solved by DOP853 with ``columns`` of the eight channels in one system."""

    def __init__(self, case: Case, modes: int) -> None:
        rows = parameter_rows(case.parameters)
        rod = build_rod(case.masses, modes=modes, functions=max(18, modes + 9))
        self.held = hold_for(rod, case.motion, rows, StrokeSettings())
        self.row, self.arrays = rows[0], (rod_arrays(self.held), bow_arrays(case.motion))
        self.run = Forward(
            held=self.held,
            motion=case.motion,
            rows=np.repeat(rows, 8, axis=0),
            amplitudes=np.repeat(np.eye(8)[:, None], 2, axis=1),
            difference=np.zeros(8),
            angle=np.zeros(8),
        )
        self.first = np.stack([part.transpose(1, 0, 2) for part in drawn(self.run)])  # (2, planes, channels, n)
        n = self.first.shape[-1]
        self.squares = np.concatenate([np.zeros((2, 2)), rows[0, :2, None] * self.held.stiffness], axis=1)
        self.drags = 2.0 * rows[0, 11] * np.sqrt(self.squares)
        self.fall = GRAVITY * np.sqrt(self.held.body[0])
        self.moment, self.shape = new_moment(n), np.zeros(self.held.table.shape[2])
        unit = np.sqrt((rod.mass + rows[0, 3]) / rows[0, 2])
        self.time = case.motion.duration * unit
        self.drop = share_at_travel(case.motion.table, rows[0, 10]) * self.time

    def compiled(self, channels: slice, touching: float) -> Callable[[float, FloatArray], FloatArray]:
        """Right-hand side in one piece of compiled code; all channels or nothing."""
        shape = self.first[:, :, channels].shape

        def rate(t: float, flat: FloatArray) -> FloatArray:
            fill_moment(*self.arrays, self.row, (t / self.time, 0.0, touching), self.moment, self.shape)
            state = flat.reshape(shape)
            return np.concatenate(
                [state[1].ravel(), _push(self.moment, state[0], state[1], self.drags, self.squares, self.fall).ravel()]
            )

        return rate

    def plain(self, channels: slice, touching: float) -> Callable[[float, FloatArray], FloatArray]:
        """Right-hand side in array operations: one stiffness matrix a plane, then one product."""
        shape, m = self.first[:, :, channels].shape, self.moment
        n = shape[-1]
        diagonal = self.squares[:, :, None] * np.eye(n)
        damping = self.drags[:, None, :]

        def rate(t: float, flat: FloatArray) -> FloatArray:
            fill_moment(*self.arrays, self.row, (t / self.time, 0.0, touching), m, self.shape)
            state = flat.reshape(shape)
            ends = np.stack([m.nock, m.rest], axis=1)  # (2, 2, n)
            grip = m.hold[:, [[0, 1], [1, 2]]] @ ends
            stiffness = diagonal + ends.transpose(0, 2, 1) @ grip
            stiffness[:, 1:, 1:] -= m.thrust[:, :-1]
            push = _targets(m)[:, channels] @ grip - state[0] @ stiffness - damping * state[1]
            for column in range(*channels.indices(8)):
                if column == 6:
                    push[:, column - channels.start, 0] -= self.fall
                elif column == 7:
                    push[:, column - channels.start, 1:] += m.thrust[:, -1]
            return np.concatenate([state[1].ravel(), push.ravel()])

        return rate

    def solve(self, kind: str, rtol: float, channels: slice) -> FloatArray:
        """Release columns (2, channels, 4)."""
        right_hand_side = {"plain": self.plain, "compiled": self.compiled}[kind]
        first = self.first[:, :, channels]
        scale = np.sqrt(self.held.body[0]) * np.array([1.0, 1000.0])
        atol = np.broadcast_to((rtol * 0.1 * scale)[:, None, None, None], first.shape).ravel()
        flat = first.ravel()
        for begin, end, touching in ((0.0, self.drop, 1.0), (self.drop, self.time, 0.0)):
            rate = right_hand_side(channels, touching)
            flat = solve_ivp(rate, (begin, end), flat, method="DOP853", rtol=rtol, atol=atol).y[:, -1]
        place, speed = np.zeros_like(self.first)
        place[:, channels], speed[:, channels] = flat.reshape(first.shape)
        released = release_of(self.run, place.transpose(1, 0, 2), speed.transpose(1, 0, 2))
        return np.asarray(released.transpose(1, 0, 2)[:, channels])

    def stacked(self, kind: str, rtol: float) -> tuple[FloatArray, float]:
        """All disturbances in one system: release columns (2, 8, 4) and seconds."""
        begin = time.thread_time()
        released = self.solve(kind, rtol, slice(0, 8))
        return released, time.thread_time() - begin

    def one_by_one(self, rtol: float) -> float:
        """Seconds for one disturbance at a time, array operations."""
        begin = time.thread_time()
        for channel in range(8):
            self.solve("plain", rtol, slice(channel, channel + 1))
        return time.thread_time() - begin
