"""The power stroke against SciPy's solve_ivp on the same equations, written a second time over all modes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.linalg import eigh
from tests.unit.mechanics_samples import GRAIN, INCH, POUND, arrow, bow, bow_in_motion, one, plausible, release_error

from spinewright.equipment import DrawCurve
from spinewright.mechanics import (
    BowMotion,
    Rod,
    StrokeParameters,
    StrokeSettings,
    bow_motion,
    build_rod,
    height_on_pushing_rest,
    stroke,
)
from spinewright.mechanics.held_rod import hold
from spinewright.mechanics.rod import rod_of_parts

FloatArray = NDArray[np.float64]
G = 9.80665


class WholeStroke:
    """One plane of one bow: every mode of the basis with the nock mass in it, eight channels as eight columns."""

    def __init__(self, free: Rod, motion: BowMotion, row: StrokeParameters, plane: int) -> None:
        self.free, self.motion, self.plane = free, motion, plane
        self.row = {name: np.asarray(getattr(row, name))[0] for name in row.__slots__}
        self.rod = rod_of_parts(free.parts, free.length, free.EI, free.modes, float(self.row["nock_mass"]))
        self.factor = self.row["stiffness_factor"][plane]
        self.push = self.row["rest_stiffness"][plane]
        squares = self.factor * self.rod.omega_squared
        self.squares = np.concatenate([[0.0, 0.0], squares])
        self.drag = 2.0 * self.row["damping"] * np.sqrt(self.squares)
        self.unit = float(np.sqrt((free.mass + self.row["virtual_mass"]) / self.row["force_factor"]))
        self.speed = np.sqrt(2.0 * motion.energy) / self.unit
        self.nock = self.rod.evaluate(0.0)[0]
        n = self.squares.size
        self.thrust, self.crook = np.zeros((n, n)), np.zeros(n)
        self.thrust[1:, 1:] = self.rod.thrust[:, :-1]
        self.crook[1:] = self.rod.thrust[:, -1]

    def line(self, at_nock: float, at_rest: float) -> FloatArray:
        slope = (at_rest - at_nock) / self.motion.rest_at_draw
        out = np.zeros(self.squares.size)
        out[0] = np.sqrt(self.rod.mass) * (at_nock + slope * self.rod.balance)
        out[1] = np.sqrt(self.rod.inertia) * slope
        return out

    def parabola(self, s: float) -> float:
        return 1.0 - (2.0 * s / self.rod.length - 1.0) ** 2

    def start(self) -> FloatArray:
        s0, rod = self.motion.rest_at_draw, self.rod
        state = np.zeros((2, 8, self.squares.size))
        state[0, 0] = state[0, 4] = self.line(1.0, 0.0)
        state[0, 3] = self.line(0.0, 1.0)
        state[1, 5] = self.line(1.0, 0.0)
        state[0, 7] = self.line(0.0, -self.parabola(s0))
        here = rod.evaluate(s0)[0]
        on_rest = rod.mass * G * rod.balance / s0
        sag = (self.nock * (rod.mass * G - on_rest) + here * on_rest) / np.where(self.squares > 0, self.squares, np.inf)
        state[0, 6] = sag + self.line(-(self.nock @ sag), -on_rest / self.push - here @ sag)
        return state

    def contact(self, kind: str, t: float) -> tuple[float, float, float, float]:
        """Acceleration, string stiffness, rest's coordinate, share of the stroke done."""
        motion, row = self.motion, self.row
        if kind == "free":
            return 0.0, 0.0, motion.rest_at_draw - motion.stroke - self.speed * (t - motion.duration * self.unit), 1.0
        travel, force, sideways, height, residual = motion.at(np.array([t / (motion.duration * self.unit)]))[0]
        pull = row["force_factor"] * (height if self.plane else sideways) + row["residual_tension"] * residual
        pull += motion.synchronisation if self.plane else 0.0
        thrust = row["force_factor"] * force / (self.free.mass + row["virtual_mass"])
        return thrust, row["string_factor"][self.plane] * pull, motion.rest_at_draw - travel, travel / motion.stroke

    def press(self, depth: FloatArray) -> FloatArray:
        """Force of the rest on shafts pressed into it by ``depth`` (8,)."""
        return np.asarray(self.push * depth)

    def slope(self, kind: str) -> Callable[[float, FloatArray], FloatArray]:
        extra = -self.row["nock_mass"] if kind == "free" else 0.0
        lighten = extra / (1.0 + extra * (self.nock @ self.nock))
        damping = np.diag(self.drag)
        if kind == "free":  # after the string the damping is that of the free arrow's own modes
            mass = np.eye(self.nock.size) + extra * np.outer(self.nock, self.nock)
            squares, modes = eigh(np.diag(self.squares), mass)
            over = mass @ modes
            damping = 2.0 * self.row["damping"] * (over * np.sqrt(np.maximum(squares, 0.0))) @ over.T

        def rate(t: float, flat: FloatArray) -> FloatArray:
            q, v = flat.reshape(2, 8, -1)
            thrust, pull, s_rest, share = self.contact(kind, t)
            force = -self.squares * q - v @ damping + thrust * (q @ self.thrust)
            force[7] += thrust * self.crook
            force[6, 0] -= G * np.sqrt(self.rod.mass)
            force[6] -= G * extra * self.nock
            wanted = np.array([1.0, share, 4.0 * share * (1.0 - share), 0.0, 0.0, 0.0, 0.0, 0.0])
            force += np.outer(pull * (wanted - q @ self.nock), self.nock)
            if kind != "string":
                here = self.rod.evaluate(s_rest)[0]
                at_rest = np.array([0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, -self.parabola(s_rest)])
                force += np.outer(self.press(at_rest - q @ here), here)
            force -= lighten * np.outer(force @ self.nock, self.nock)
            return np.concatenate([v.ravel(), force.ravel()])

        return rate

    def release(self, rtol: float) -> FloatArray:
        """Release columns (8, 4)."""
        motion, drop = self.motion, self.row["drops_after"]
        time = motion.duration * self.unit
        ends: list[tuple[str, float]] = [("both", time)]
        if drop < motion.stroke:
            shares = np.linspace(0.0, time, motion.table.shape[0])
            ends = [("both", float(np.interp(drop, motion.table[:, 0], shares))), ("string", time)]
        else:
            ends.append(("free", time + (motion.rest_at_draw - motion.stroke) / self.speed))
        state, begin = self.start().ravel(), 0.0
        for kind, end in ends:
            state = solve_ivp(self.slope(kind), (begin, end), state, method="DOP853", rtol=rtol, atol=rtol * 1e-3).y[
                :, -1
            ]
            begin = end
        q, v = state.reshape(2, 8, -1)
        weights = np.zeros((2, self.squares.size))  # means over the arrow without the nock mass
        weights[0, 0] = np.sqrt(self.rod.mass) / self.free.mass
        weights[1, 0] = np.sqrt(self.rod.mass) * (self.rod.balance - self.free.balance) / self.free.inertia
        weights[1, 1] = np.sqrt(self.rod.inertia) / self.free.inertia
        weights -= self.row["nock_mass"] * np.outer(weights @ self.nock, self.nock)
        out = np.stack([q @ weights[0], v @ weights[0], q @ weights[1], v @ weights[1]], axis=1)
        out[7, ::2] += hold(self.free, 0.0).crooked
        return np.asarray(out)


@pytest.mark.slow
@pytest.mark.parametrize(("drops_after", "plane"), [pytest.param(0.11, 0, marks=pytest.mark.endurance), (9.0, 1)])
def test_every_disturbance_against_solve_ivp(drops_after: float, plane: int) -> None:
    # same basis, nothing dropped: what is left is the kernel's step and its table of shapes
    free, moving = build_rod(arrow(), functions=8, modes=6, static_functions=8), bow_in_motion()
    row = one(plausible(2, 6, drops_after), 1)
    exact = WholeStroke(free, moving, row, plane).release(1e-7)
    found = stroke(free, moving, row, StrokeSettings(steps=600, reach=0.2)).response[0, plane]
    assert release_error(found[None, None], exact[None, None]).max() < 3e-5


class OnPushingRest(WholeStroke):
    """The same with a rest that pushes only: all columns touch it while ``load`` (8,) of them together press it."""

    def __init__(self, free: Rod, motion: BowMotion, row: StrokeParameters, load: FloatArray) -> None:
        super().__init__(free, motion, row, 1)
        self.load = load
        self.pressed: list[bool] = []

    def press(self, depth: FloatArray) -> FloatArray:
        self.pressed.append(bool(self.load @ depth > 0.0))
        return super().press(depth) if self.pressed[-1] else np.zeros_like(depth)


@pytest.mark.slow
@pytest.mark.parametrize(("drops_after", "lift"), [(0.11, 1.0), pytest.param(9.0, -1.0, marks=pytest.mark.endurance)])
def test_a_rest_that_only_pushes_against_solve_ivp(drops_after: float, lift: float) -> None:
    free, moving = build_rod(arrow(), functions=8, modes=6, static_functions=8), bow_in_motion()
    row = one(plausible(2, 6, drops_after), 1)
    load = np.array([0.8e-3, -0.6e-3, 0.5e-3, 0.4e-3 * lift, 0.5e-3 * lift, 0.1 * lift, 1.0, 1e-4])
    whole = OnPushingRest(free, moving, row, load)
    exact = load @ whole.release(1e-6)
    assert 0.05 < np.mean(whole.pressed) < 0.95  # it leaves the rest, and is on it otherwise
    found = height_on_pushing_rest(free, moving, row, load[None], StrokeSettings(steps=2000, reach=0.1))[0]
    pulled = load @ stroke(free, moving, row, StrokeSettings(steps=600, reach=0.2)).response[0, 1]
    # same basis, nothing dropped: what is left is the step
    assert np.allclose(found, exact, rtol=1e-4, atol=0.0)
    everyday = height_on_pushing_rest(free, moving, row, load[None])[0]
    assert np.max(np.abs(everyday - exact) / np.abs(exact)) < 0.35
    assert np.max(np.abs(pulled - exact) / np.abs(exact)) > 1.0  # a rest that also pulls is something else


@pytest.mark.parametrize(
    ("grains", "feet_a_second", "milliseconds"), [(350, 320.0, 14.33), (400, 302.9, 15.14), (450, 288.2, 15.91)]
)
def test_trapezoid_draw_curve(grains: float, feet_a_second: float, milliseconds: float) -> None:
    # computed: stroke 21.25 in, 0 to 70 lb over 5 in, flat to 16.25 in, down to 14 lb; virtual mass 79.80 gr
    curve = DrawCurve.through(
        np.array([0.0, 5.0, 16.25, 21.25]) * INCH, np.array([0.0, 70.0, 70.0, 14.0]) * POUND, straight=True
    )

    moving = bow_motion(curve, bow())
    moving_mass = (grains + 79.80) * GRAIN
    assert moving.energy == pytest.approx(132.475, abs=1e-3)
    assert np.sqrt(2 * moving.energy / moving_mass) / 0.3048 == pytest.approx(feet_a_second, abs=0.06)
    assert 1e3 * moving.duration * np.sqrt(moving_mass) == pytest.approx(milliseconds, abs=0.006)
