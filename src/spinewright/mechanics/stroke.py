"""The power stroke of many plausible bows at once: from full draw to the free arrow, for every disturbance."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
from numba import config
from numpy.typing import NDArray

from spinewright.errors import SolveError
from spinewright.mechanics.bow_motion import BowMotion, bow_arrays
from spinewright.mechanics.held_rod import HeldRod, hold, rod_arrays
from spinewright.mechanics.legendre import gauss_rule
from spinewright.mechanics.rod import Rod
from spinewright.mechanics.stroke_judged import BENDING_JUDGED, answerable, bent_too_far, usable_rows
from spinewright.mechanics.stroke_kernel import EFFECTS
from spinewright.mechanics.stroke_run import Outputs, Plan, run_strokes
from spinewright.mechanics.values import FloatArray, StrokeParameters, StrokeResult

__all__ = [
    "StrokeSettings",
    "checked_rows",
    "fine_enough",
    "hold_for",
    "parameter_rows",
    "steps_taken",
    "stroke",
    "stroke_effects",
    "usable_rows",
]

_SIDE_BY_SIDE = "SLP_VECTORIZE"  # numba fills its config at run time, so its names are unknown to a type checker
_SWING_NODES = 7  # enough for a shape that swings 6 rad in a step
_HARMLESS = np.array([1.0] * 11 + [0.01])
_WEAK = 0.6  # share of the thrust that a shaft carries, below which its bending grows fast enough to want short steps


@dataclass(frozen=True, slots=True)
class StrokeSettings:
    """How finely a stroke is computed; where none is asked for, :func:`fine_enough` chooses.

    steps    fewest steps over the time on the string
    reach    largest step times the highest frequency that the contacts can make, the arrow's own counting a fifth
    dropped  whether the static flexibility of the modes that the rod dropped is put back
    threads  worker threads for many rows
    """

    steps: int = 50
    reach: float = 0.8
    dropped: bool = True
    threads: int = 2


def fine_enough(rod: Rod, motion: BowMotion, rows: FloatArray) -> StrokeSettings:
    """Settings whose steps, halved, change no release state by more than 1e-3 of its size, for the worst of ``rows``.

    Shorter steps for rests that stay, which pass the nock at full speed, and the shortest for shafts far too weak for
    the bow, whose bending grows all the way. Computed over random legal equipment, 200 to 900 gr, 18 to 34 in.
    """
    if not rows.size:
        return StrokeSettings()
    if _carried(rod, motion, rows).min() < _WEAK:
        return StrokeSettings(steps=150, reach=0.3)
    return StrokeSettings(steps=75, reach=0.34 if np.any(rows[:, 10] >= motion.stroke) else 0.45)


def parameter_rows(parameters: StrokeParameters) -> FloatArray:
    """The parameters as rows (N, 12): stiffness factors y, z; force factor; virtual mass; string factors y, z;
    residual tension; nock mass; rest stiffnesses y, z; drop; damping."""
    count = np.asarray(parameters.force_factor).shape[0]
    rows = np.empty((count, 12))
    rows[:, 0:2] = parameters.stiffness_factor
    rows[:, 2] = parameters.force_factor
    rows[:, 3] = parameters.virtual_mass
    rows[:, 4:6] = parameters.string_factor
    rows[:, 6] = parameters.residual_tension
    rows[:, 7] = parameters.nock_mass
    rows[:, 8:10] = parameters.rest_stiffness
    rows[:, 10] = parameters.drops_after
    rows[:, 11] = parameters.damping
    return rows


@contextmanager
def _columns_side_by_side() -> Iterator[None]:
    """Let the compiler join the four columns' lines into vector instructions, should it have to compile now.

    numba leaves that pass (superword-level parallelism) off by default; the kernel is a third faster with it.
    """
    before = getattr(config, _SIDE_BY_SIDE)
    setattr(config, _SIDE_BY_SIDE, 1)
    try:
        yield
    finally:
        setattr(config, _SIDE_BY_SIDE, before)


def hold_for(rod: Rod, motion: BowMotion, rows: FloatArray, settings: StrokeSettings) -> HeldRod:
    """The arrow with the mean nock mass of ``rows``, reduced the way that suits how long their rests hold."""
    leaves = bool(np.any(rows[:, 10] >= motion.stroke))
    return hold(rod, float(rows[:, 7].mean()), leaves_string=leaves, dropped=settings.dropped)


def stroke_effects(
    rod: Rod, motion: BowMotion, rows: FloatArray, settings: StrokeSettings
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Effects (N, 2, 9, 4) of the eight channels and of a thrust line turned by 1 rad; speed (N,); time (N,).

    No row is judged here: what cannot be computed comes out as NaN or infinity.
    """
    held = hold_for(rod, motion, rows, settings)
    out = _run(held, motion, rows, settings)
    out.effects[:, :, 7, ::2] += held.crooked
    return out.effects, out.speed, out.time


def steps_taken(rod: Rod, motion: BowMotion, rows: FloatArray, settings: StrokeSettings) -> FloatArray:
    """How many steps each row's stroke takes, (N,)."""
    return _run(hold_for(rod, motion, rows, settings), motion, rows, settings).steps


def _run(held: HeldRod, motion: BowMotion, rows: FloatArray, settings: StrokeSettings) -> Outputs:
    count = rows.shape[0]
    out = Outputs(np.full((count, 2, EFFECTS, 4), np.nan), np.empty(count), np.empty(count), np.empty(count))
    arrays = rod_arrays(held), bow_arrays(motion)
    threads = min(settings.threads, max(count // 16, 1))
    edges = [count * i // threads for i in range(threads + 1)]
    rule = gauss_rule(_SWING_NODES)
    plans = [Plan(edges[i], edges[i + 1], settings.steps, settings.reach, *rule) for i in range(threads)]
    with _columns_side_by_side():
        if threads == 1:
            run_strokes(*arrays, rows, plans[0], out)
        else:
            with ThreadPoolExecutor(threads) as pool:
                list(pool.map(lambda plan: run_strokes(*arrays, rows, plan, out), plans))
    return out


def _check_reach(rod: Rod, motion: BowMotion) -> None:
    if motion.rest_at_draw > rod.length:
        raise SolveError(
            "the power stroke",
            f"at full draw the rest is {motion.rest_at_draw:.3f} m from the nock, the shaft ends at {rod.length:.3f} m",
            "the shaft must reach past the rest at full draw",
        )
    if motion.rest_at_draw <= 0.0:
        raise SolveError("the power stroke", "the rest is behind the nock at full draw", "check rest and draw length")


def checked_rows(rod: Rod, motion: BowMotion, parameters: StrokeParameters) -> FloatArray:
    """:func:`parameter_rows`, or SolveError when the shaft misses the rest or any parameter is out of range."""
    _check_reach(rod, motion)
    rows = parameter_rows(parameters)
    if not usable_rows(rows).all():
        raise SolveError("the power stroke", "a parameter is not finite or out of range", "check the plausible bows")
    return rows


def stroke(
    rod: Rod, motion: BowMotion, parameters: StrokeParameters, settings: StrokeSettings | None = None
) -> StrokeResult:
    """The release columns per unit of every disturbance, for N plausible bows that share a rod and a draw curve.

    Linear bending of the free arrow under the thrust, string and rest; see docs/model/mechanics.md for the equations
    and for what each channel starts from. A row is not solved whose answer is not finite or would take more of the
    bow's energy across the shot than linear bending can account for, nor one whose shaft is far too weak for the bow;
    for one that is nearly so the bending is counted too, forward in time.
    Without ``settings`` see :func:`fine_enough`. Raises SolveError when the shaft does not reach the rest at full draw.
    """
    _check_reach(rod, motion)
    rows = parameter_rows(parameters)
    usable = usable_rows(rows)
    stand_in = rows[int(np.argmax(usable))] if usable.any() else _HARMLESS
    safe = rows if usable.all() else np.where(usable[:, None], rows, stand_in)
    with np.errstate(all="ignore"):
        effects, speed, time = stroke_effects(rod, motion, safe, settings or fine_enough(rod, motion, safe))
    body, carried = np.array([rod.mass, rod.inertia]), _carried(rod, motion, safe)
    answered = answerable(effects, speed, time, safe[:, 2] * motion.energy, carried, body)
    weak = usable & answered & (carried < BENDING_JUDGED)
    if weak.any():
        held = hold_for(rod, motion, safe, settings or StrokeSettings())
        answered &= ~bent_too_far(held, motion, safe, np.where(weak, carried, np.inf))
    response = np.ascontiguousarray(effects[:, :, :8])
    solved = usable & answered
    if not solved.all():
        for values in (response, speed, time):
            values[~solved] = 0.0
    reason = "" if solved.all() else _reason(rod, motion, rows, usable, answered)
    return StrokeResult(response, speed, time, solved, reason)


def _carried(rod: Rod, motion: BowMotion, rows: FloatArray) -> FloatArray:
    """Share (N,) of the bow's peak thrust that would buckle the shaft in its softer plane if it were steady."""
    peak = rows[:, 2] * motion.peak_force / (rod.mass + rows[:, 3])
    return np.asarray(rod.critical_acceleration * rows[:, :2].min(axis=1) / peak)


def _reason(
    rod: Rod, motion: BowMotion, rows: FloatArray, usable: NDArray[np.bool_], answered: NDArray[np.bool_]
) -> str:
    parts = []
    if not usable.all():
        parts.append(f"{np.count_nonzero(~usable)} plausible bows have a parameter that is not finite or out of range")
    lost = usable & ~answered
    if lost.any():
        margin = float(_carried(rod, motion, rows[lost][:1])[0])
        parts.append(
            f"{np.count_nonzero(lost)} strokes gave no usable release: the shaft carries {margin:.2f} of the bow's peak"
            " thrust without buckling; a stiffer or shorter shaft is needed"
        )
    return "; ".join(parts)
