"""One stroke in full, for pictures and checks: the arrow's shape in time, contact forces, what is left at release."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spinewright.errors import SolveError
from spinewright.mechanics.bow_motion import BowMotion
from spinewright.mechanics.forward import Forward, Instant, Stretch, forces, release_of, run_forward
from spinewright.mechanics.held_rod import HeldRod
from spinewright.mechanics.rod import Rod
from spinewright.mechanics.stroke import StrokeSettings, checked_rows, hold_for
from spinewright.mechanics.values import FloatArray, StrokeParameters

__all__ = ["Motion", "MotionSettings", "motion"]

_FINE = 400  # steps over the time on the string where steps are cheap and pictures are wanted


@dataclass(frozen=True, slots=True)
class MotionSettings:
    """What is wanted of a motion.

    times       number of even times from full draw to the free arrow
    stations    number of even places along the shaft, nock throat first
    difference  [1]   stiff-side difference e: EI (1 + e cos 2 angle) sideways, EI (1 - e cos 2 angle) up and down
    angle       [rad] of the stiff side, 0 sideways, positive from left toward up
    """

    times: int = 60
    stations: int = 41
    difference: float = 0.0
    angle: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """One stroke of one bow. Planes: 0 sideways (left positive), 1 height (up positive).

    time     (T,) [s] from the string's let-go;  s (S,) [m] places along the arrow from the nock throat
    shape    (2, T, S) [m]  place of the arrow's axis across the shot
    on_nock, on_rest (2, T) [N]  sideways and vertical force of string and rest ON the arrow. The rest is a spring that
             can also pull: where the vertical ``on_rest`` is below zero a real arrow would lift off
    departs  [s] when the string has gone
    release  (2, 4) release columns of the free arrow
    bending_left (2,) [m]  how far the nock stands off the released arrow's straight line, from bending that goes on
    lowest_on_rest [N]  smallest vertical force of the rest while it touches
    """

    time: FloatArray
    s: FloatArray
    shape: FloatArray
    on_nock: FloatArray
    on_rest: FloatArray
    departs: float
    release: FloatArray
    bending_left: FloatArray
    lowest_on_rest: float


def _fields_along(held: HeldRod, s: FloatArray) -> FloatArray:
    """Kept shapes at ``s``, (len(s), n); bending linear between the table's places, a hundredth of the shaft apart."""
    mass, balance, inertia, length = held.body
    places = np.linspace(0.0, length, held.table.shape[0])
    bending = [np.interp(s, places, held.table[:, 0, i]) for i in range(held.stiffness.size)]
    return np.stack([np.full(s.size, mass**-0.5), (s - balance) * inertia**-0.5, *bending], axis=1)


def motion(
    rod: Rod,
    bow_motion: BowMotion,
    row: StrokeParameters,
    amplitudes: FloatArray,
    settings: MotionSettings | None = None,
) -> Motion:
    """The stroke of one plausible bow (``row``: parameters with one row) with ``amplitudes`` (2, 8) of every channel.

    Same equations as :func:`spinewright.mechanics.stroke`, forward in time. Raises SolveError when the arrow does not
    reach the rest, a parameter is out of range, or nothing finite comes out.
    """
    settings = settings or MotionSettings()
    rows = checked_rows(rod, bow_motion, row)[:1]
    run = Forward(
        held=hold_for(rod, bow_motion, rows, StrokeSettings()),
        motion=bow_motion,
        rows=rows,
        amplitudes=np.asarray(amplitudes, dtype=np.float64)[None],
        difference=np.array([settings.difference]),
        angle=np.array([settings.angle]),
        steps=_FINE,
    )
    log: list[tuple[float, FloatArray, FloatArray, Stretch]] = []

    def record(time: FloatArray, stretch: Stretch, at: Instant, q: FloatArray) -> None:
        log.append((float(time[0]), q[0], forces(at, q)[0], stretch))

    with np.errstate(all="ignore"):
        q, v = run_forward(run, record)
    if not np.all(np.isfinite(q)):
        raise SolveError("the motion of the arrow", "it grew without bound", "a stiffer or shorter shaft is needed")
    return _as_motion(run, log, release_of(run, q, v)[0], settings)


def _as_motion(
    run: Forward,
    log: list[tuple[float, FloatArray, FloatArray, Stretch]],
    release: FloatArray,
    settings: MotionSettings,
) -> Motion:
    held, crook = run.held, run.amplitudes[0, :, 7]
    instants = np.array([entry[0] for entry in log])
    places, contact = np.stack([entry[1] for entry in log]), np.stack([entry[2] for entry in log])
    times = np.linspace(0.0, instants[-1], settings.times)
    s = np.linspace(0.0, held.body[3], settings.stations)

    def at_times(values: FloatArray) -> FloatArray:
        return np.interp(times, instants, values)

    rows = np.stack([[at_times(places[:, p, i]) for i in range(places.shape[2])] for p in range(2)])  # (2, n, T)
    shape = np.einsum("pit,si->pts", rows, _fields_along(held, s))
    shape += crook[:, None, None] * (1.0 - (2.0 * s / held.body[3] - 1.0) ** 2)
    straight = release[:, 0] - release[:, 2] * held.free.balance
    touching = np.array([entry[3].touching for entry in log])
    return Motion(
        time=times,
        s=s,
        shape=shape,
        on_nock=np.stack([at_times(contact[:, p, 0]) for p in range(2)]),
        on_rest=np.stack([at_times(contact[:, p, 1]) for p in range(2)]),
        departs=max(entry[0] for entry in log if entry[3].string),
        release=release,
        bending_left=shape[:, -1, 0] - straight,
        lowest_on_rest=float(contact[touching, 1, 1].min()) if touching.any() else 0.0,
    )
