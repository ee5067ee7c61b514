"""How long a flight takes: to 20 yd, alone and in a batch, and against SciPy's solve_ivp on the same derivative."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from benchmarks.timing import least
from spinewright.equipment.arrow import ArrowBuild, Component, Fletching, Head
from spinewright.equipment.masses import mass_model
from spinewright.equipment.shaft import Shaft
from spinewright.flight import AIR_DENSITY, AIR_VISCOSITY, GRAVITY, FlightBody, flight_body, fly, nominal_flight
from spinewright.flight.crossflow import FORM, FRICTION
from spinewright.flight.kernel import Row, slope

__all__ = ["rows"]

FloatArray = NDArray[np.float64]

PAPER, TARGET = 6 * 0.3048, 20 * 0.9144
# Invented.
BUILD = ArrowBuild(
    shaft=Shaft(8.5e-3, 0.0222, 0.0061, 0.0052),
    throat_length=0.713,
    carbon_length=0.702,
    nock=Component(0.6e-3, 0.02, -0.002),
    head=Head(7.45e-3, 0.024),
    fletching=Fletching(3, 0.41e-3, 0.052, 0.0118),
)


def _releases(count: int) -> FloatArray:
    spread = np.array([2e-3, 0.25, 0.015, 0.3])
    return np.asarray(np.random.default_rng(7).normal(size=(count, 2, 4)) * spread)


def _batch(body: FlightBody, count: int) -> Callable[[], object]:
    speed, release, parameters = np.full(count, 86.0), _releases(count), nominal_flight(count)
    reach = np.array([PAPER, TARGET])
    return lambda: fly(body, speed, release, parameters, reach)


def _constants(body: FlightBody) -> Row:
    rho, d = AIR_DENSITY, body.diameter
    lift = [float(value) for value in 0.5 * rho * body.lift_moments.sum(axis=0)]
    friction = 0.5 * FRICTION * math.sqrt(rho * AIR_VISCOSITY * d)
    axial, form = 0.5 * rho * body.section, 0.5 * rho * d * FORM
    air = (axial, rho * d / AIR_VISCOSITY, lift[0], lift[1], lift[2], form, friction)
    return Row(body.mass, body.inertia, *air, 0.0, GRAVITY, 0.0)


def _against_solver(body: FlightBody, count: int = 40) -> tuple[float, float]:
    """Seconds a flight by DOP853 at the loosest tolerance that meets 1e-4 of the response, and the error it makes.

    The derivative is the compiled one of the kernel, which favours the solver: all it pays is its own stepping.
    """
    row, strips = _constants(body), np.array((body.strip_places, body.strip_lengths))
    releases, end = _releases(count), TARGET - body.tip_place

    def derivative(_x: float, state: FloatArray) -> FloatArray:
        out = np.empty(10)
        slope(state, row, body.drag, strips, out)
        return out

    def all_holes(rtol: float) -> FloatArray:
        found = np.empty((count, 2))
        for n in range(count):
            start = np.concatenate(([0.0, 86.0], releases[n].ravel()))
            flown = solve_ivp(derivative, (0.0, end), start, method="DOP853", rtol=rtol, atol=rtol * 1e-2)
            found[n] = flown.y[[2, 6], -1] + body.tip_place * flown.y[[4, 8], -1]
        return found

    exact = all_holes(1e-11)
    drop = fly(body, np.array([86.0]), np.zeros((1, 2, 4)), nominal_flight(1), np.array([TARGET])).hole[0, 0]
    scale = np.linalg.norm(exact - drop, axis=1)
    for rtol in (1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8):
        error = float((np.linalg.norm(all_holes(rtol) - exact, axis=1) / scale).max())
        if error < 1e-4:
            return least(lambda rtol=rtol: all_holes(rtol), 2, time.perf_counter) / count, error  # type: ignore[misc]
    return math.nan, math.nan


def _own_error(body: FlightBody, count: int = 40) -> float:
    """Largest error of the kernel's own steps in the hole at 20 yd, over the response, against steps 20 times finer."""
    releases, calm, speed = _releases(count), nominal_flight(count), np.full(count, 86.0)
    reach = np.array([TARGET])
    found, exact = (fly(body, speed, releases, calm, reach, finer=finer).hole[:, 0] for finer in (1, 20))
    straight = fly(body, speed, 0.0 * releases, calm, reach).hole[:, 0]
    return float((np.linalg.norm(found - exact, axis=1) / np.linalg.norm(exact - straight, axis=1)).max())


def rows() -> list[tuple[str, str]]:
    """The table of this benchmark: what was measured, and the number with its unit."""
    table: list[tuple[str, str]] = []
    for name, bare in (("fletched", False), ("bare", True)):
        body = flight_body(BUILD, mass_model(BUILD, bare=bare), bare=bare)
        alone, small, large = (least(_batch(body, n), 7, time.perf_counter) for n in (1, 500, 4000))
        solver, error = _against_solver(body)
        each = small / 500
        table += [
            (f"flight to 20 yd, {name}, batch of 500", f"{1e6 * each:.1f} us each on one core"),
            (f"flight to 20 yd, {name}, alone", f"{1e6 * alone:.0f} us, calling included"),
            (f"flight, {name}: 4000 over 500 (8 = linear)", f"{large / small:.2f}"),
            (f"flight, {name}: largest error at 20 yd over the response", f"{_own_error(body):.1e}"),
            (f"flight, {name}: DOP853 on the same compiled derivative", f"{solver / each:.0f} x slower at {error:.0e}"),
        ]
    return table


if __name__ == "__main__":
    for what, number in rows():
        print(f"{what:60s} {number}")
