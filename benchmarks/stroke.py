"""How long a power stroke takes, how exact it is, and how that compares with SciPy's solve_ivp and the hardware."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import count

import numpy as np
from numpy.typing import NDArray

from benchmarks.flight import BUILD
from benchmarks.stroke_setups import Case, cases, error, plausible
from benchmarks.stroke_solver import Solver
from benchmarks.timing import least
from spinewright.equipment import mass_model
from spinewright.flight import flight_body, fly, nominal_flight
from spinewright.mechanics import StrokeSettings, build_rod, stroke
from spinewright.mechanics.stroke import parameter_rows, steps_taken

__all__ = ["rows"]

FloatArray = NDArray[np.float64]
ONE_CORE = StrokeSettings(threads=1)
TARGET = 20 * 0.9144
# kept shapes, Legendre functions, largest step times highest frequency
EVERYDAY = ("everyday", 7, 14, ONE_CORE.reach)
TYPICAL = ("1e-4 in the middle of the range", 9, 18, 0.8)
WORST = ("1e-4 in the worst of the range", 10, 20, 0.7)


def _middle(calls: list[Callable[[], object]], repeats: int = 15) -> list[float]:
    """Median processor times of ``calls`` [s], taken in turns.

    Ratios need this: the least of a few short runs finds a quiet moment that the least of a few long runs cannot, which
    alone makes 200 builds look 3 % to 6 % slower than eight times 25.
    """
    times: list[list[float]] = [[] for _ in calls]
    for _ in range(repeats):
        for call, found in zip(calls, times, strict=True):
            begin = time.thread_time()
            call()
            found.append(time.thread_time() - begin)
    return [sorted(found)[len(found) // 2] for found in times]


def _errors(setups: list[Case], modes: int, functions: int, reach: float) -> FloatArray:
    settings = replace(ONE_CORE, reach=reach)
    return np.array(
        [
            error(
                stroke(
                    build_rod(case.masses, modes=modes, functions=functions), case.motion, case.parameters, settings
                ).response[0],
                case.exact,
            )
            for case in setups
        ]
    )


def _seconds_each(case: Case, modes: int, functions: int, reach: float, count: int = 200) -> float:
    """Per stroke on one core, both planes, all disturbances, in a batch."""
    rod, settings = build_rod(case.masses, modes=modes, functions=functions), replace(ONE_CORE, reach=reach)
    parameters = plausible(np.random.default_rng(3), count)
    return least(lambda: stroke(rod, case.motion, parameters, settings), 5) / count


def _solver_tolerance(setups: list[Case], modes: int, wanted: Callable[[FloatArray], float], bound: float) -> float:
    """The loosest tolerance at which DOP853 on the same kept shapes meets ``bound``."""
    for rtol in (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 1e-6):
        found = np.array([error(Solver(case, modes).stacked("compiled", rtol)[0], case.exact) for case in setups])
        if wanted(found) <= bound:
            return rtol
    return math.nan


def _against_solver(
    setups: list[Case], setting: tuple[str, int, int, float], wanted: Callable[[FloatArray], float]
) -> list[tuple[str, str]]:
    name, modes, functions, reach = setting
    own = _errors(setups, modes, functions, reach)
    each = float(np.mean([_seconds_each(case, modes, functions, reach) for case in setups[:3]]))
    rtol = _solver_tolerance(setups, modes, wanted, max(1e-4, wanted(own)))
    solvers = [Solver(case, modes) for case in setups[:3]]
    plain, compiled = (
        float(np.mean([min(s.stacked(kind, rtol)[1] for _ in range(2)) for s in solvers]))
        for kind in ("plain", "compiled")
    )
    alone = float(np.mean([s.one_by_one(rtol) for s in solvers]))
    return [
        (f"{name}: {modes} shapes, basis error in", f"middle {np.median(own):.1e}, worst {own.max():.1e}"),
        (f"{name}: a stroke, both planes, all disturbances", f"{1e6 * each:.0f} us on one core"),
        (
            f"{name}: DOP853 (rtol {rtol:.0e}), all disturbances stacked, array operations",
            f"{plain / each:.0f} x slower",
        ),
        (f"{name}: the same, right-hand side compiled", f"{compiled / each:.0f} x slower"),
        (f"{name}: DOP853, one disturbance at a time, array operations", f"{alone / each:.0f} x slower"),
    ]


def _one_build(case: Case) -> tuple[float, float]:
    """Seconds for one build, bare and fletched, from masses to holes at 20 yd: least and middle of many runs.

    Every run has another build, so that nothing kept of the one before could serve it.
    """
    parameters, air, reach = case.parameters, nominal_flight(1), np.array([TARGET])
    heads = (replace(BUILD.head, mass=BUILD.head.mass + 1e-6 * number) for number in count())

    def both() -> None:
        build = replace(BUILD, head=next(heads))
        for bare in (False, True):
            masses = mass_model(build, bare=bare)
            left = stroke(build_rod(masses), case.motion, parameters, ONE_CORE)
            fly(flight_body(build, masses, bare=bare), left.speed, 1e-3 * left.response[:, :, 3], air, reach)

    return least(both, 30), _middle([both], 60)[0]


def _floor(case: Case) -> tuple[float, float, float]:
    """Arithmetic of an everyday stroke [flop], what the core can do [flop/s], seconds of the stroke."""
    modes, functions, reach = EVERYDAY[1:]
    each = _seconds_each(case, modes, functions, reach)
    rod = build_rod(case.masses, modes=modes, functions=functions)
    steps = steps_taken(rod, case.motion, parameter_rows(plausible(np.random.default_rng(3), 200)), ONE_CORE).mean()
    n = modes + 2
    evaluation = 2 * 2 * 4 * (3 * n + 2 * n + n * (n - 1))
    moment = 6 * (modes + 1) * (modes + 2) + 8 * (2 * modes + 4) + 2 * 8 * n
    update = 2 * 4 * n * (6 + 6 + 20) + 3 * 2 * 4 * 24
    matrix = np.random.default_rng(1).normal(size=(512, 512))
    begin, repeats = time.process_time(), 20
    for _ in range(repeats):
        matrix = np.tanh(matrix @ matrix)
    peak = 2 * 512**3 * repeats / (time.process_time() - begin)
    return steps * (3 * evaluation + 2 * moment + update), peak, each


def rows() -> list[tuple[str, str]]:
    """The table of this benchmark: what was measured, and the number with its unit."""
    setups = cases(12)
    everyday = _errors(setups, *EVERYDAY[1:])
    case = setups[0]
    table = [
        ("everyday: error in step and basis", f"middle {np.median(everyday):.1e}, worst {everyday.max():.1e}"),
        (
            "everyday: a stroke, both planes, all disturbances, batch",
            f"{1e6 * _seconds_each(case, *EVERYDAY[1:]):.0f} us",
        ),
    ]
    table += _against_solver(setups, TYPICAL, lambda found: float(np.median(found)))
    table += _against_solver(setups, WORST, lambda found: float(found.max()))
    quickest, middle = _one_build(case)
    rod_time = least(lambda: build_rod(case.masses), 200)
    table += [
        ("building a rod", f"{1e6 * rod_time:.0f} us"),
        (
            "one build, bare and fletched, from masses to holes at 20 yd",
            f"least {1e3 * quickest:.2f} ms, middle {1e3 * middle:.2f} ms on one core",
        ),
    ]
    rod = build_rod(case.masses)
    few, many = (plausible(np.random.default_rng(5), n) for n in (250, 2000))
    small, large = _middle([lambda p=p: stroke(rod, case.motion, p, ONE_CORE) for p in (few, many)], 7)  # type: ignore[misc]
    table.append(("2000 plausible bows over 250 (8 = linear)", f"{large / small:.2f}"))
    one = plausible(np.random.default_rng(5), 1)

    def builds(count: int) -> None:
        for _ in range(count):
            stroke(build_rod(case.masses), case.motion, one, ONE_CORE)

    small, large = _middle([lambda: builds(25), lambda: builds(200)])
    table.append(("200 builds over 25 (8 = linear)", f"{large / small:.2f}"))
    flop, peak, each = _floor(case)
    table.append(
        (
            "arithmetic floor of an everyday stroke (a matrix product as the peak)",
            f"{flop / 1e6:.2f} Mflop at {peak / 1e9:.0f} Gflop/s = {1e6 * flop / peak:.0f} us; "
            f"distance {each * peak / flop:.1f} x",
        )
    )
    return table


if __name__ == "__main__":
    for what, number in rows():
        print(f"{what:80s} {number}")
