"""The power stroke forward in time, both planes coupled, for N bows side by side in plain arrays.

A second writing of the equations that ``stroke_kernel`` solves backward: for pictures, forces and shafts whose stiff
side lies askew, and as a check of the kernel, which is far faster.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from spinewright.mechanics.bow_motion import BowMotion
from spinewright.mechanics.held_rod import HeldRod, rod_arrays
from spinewright.mechanics.reweigh import reweighed
from spinewright.mechanics.rod import GRID_CELLS
from spinewright.mechanics.stroke_moment import GRAVITY
from spinewright.mechanics.stroke_run import share_at_travel
from spinewright.mechanics.values import Channel, FloatArray

__all__ = ["Forward", "Instant", "Recorder", "Stretch", "drawn", "forces", "instant", "release_of", "run_forward"]

_NOCK, _RAMP, _BUMP, _REST = Channel.NOCK, Channel.RAMP, Channel.BUMP, Channel.REST
_HOLD, _KICK, _GRAVITY, _BEND = Channel.HOLD, Channel.KICK, Channel.GRAVITY, Channel.BEND


@dataclass(frozen=True, slots=True)
class Forward:
    """What is run: N bows, each with its disturbances.

    rows        (N, 12)   as ``stroke.parameter_rows``
    amplitudes  (N, 2, 8) of each channel in each plane
    difference  (N,) [1]  stiff-side difference e: EI (1 + e cos 2 angle) sideways, EI (1 - e cos 2 angle) up and down
    angle       (N,) [rad] from sideways to the stiff side, positive from left toward up
    steps                 steps over the time on the string
    """

    held: HeldRod
    motion: BowMotion
    rows: FloatArray
    amplitudes: FloatArray
    difference: FloatArray
    angle: FloatArray
    steps: int = 400
    stiffness: FloatArray = field(init=False)  # (N, 2) stiffness factors of the planes
    coupled: FloatArray = field(init=False)  # (N, 1, k) stiffness of the bending shapes between the planes
    squares: FloatArray = field(init=False)  # (N, 2, k) stiffness of the bending shapes in their planes
    nock: FloatArray = field(init=False)  # (n,) kept shapes at the nock

    def __post_init__(self) -> None:
        held, factors, mean = self.held, self.rows[:, :2], self.rows[:, :2].mean(axis=1)
        turn = self.difference * np.cos(2.0 * self.angle)
        stiffness = factors * np.stack([1.0 + turn, 1.0 - turn], axis=1)
        coupling = mean * self.difference * np.sin(2.0 * self.angle)
        object.__setattr__(self, "stiffness", stiffness)
        object.__setattr__(self, "coupled", (coupling[:, None] * held.stiffness)[:, None, :])
        object.__setattr__(self, "squares", held.stiffness * stiffness[..., None])
        object.__setattr__(self, "nock", _bare_nock(held))


_Ends = tuple[FloatArray, FloatArray]  # at the start and at the end


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of the stroke without a break: spans (N,) [s], shares of the string time, rest's place without it.

    fall     (N, n)        momentum of the arrow and its nock mass falling at 1 m/s
    lighten  (N, 1, 1)     what the nock mass that is not in the shapes takes off, along the nock's shapes
    damping  (N, 2, n, n)  of the held arrow's modes on the string, of the free arrow's own modes after it
    """

    span: FloatArray
    shares: _Ends
    rest: _Ends
    string: bool
    touching: bool
    count: int
    fall: FloatArray
    lighten: FloatArray
    damping: FloatArray


@dataclass(frozen=True, slots=True)
class Instant:
    """The equation of motion at one instant: contacts, thrust and what the disturbances push; see ``stroke_kernel``."""

    nock: FloatArray  # (N, 2, n)
    rest: FloatArray  # (N, 2, n)
    grip: FloatArray  # (N, 2, 3): S_nn, S_nr, S_rr
    target: FloatArray  # (N, 2, 2): where string and rest want nock and shaft
    thrust: FloatArray  # (N, n, n)
    push: FloatArray  # (N, 2, n): weight, and thrust on the crooked shaft


Recorder = Callable[[FloatArray, Stretch, Instant, FloatArray], None]


def _table_at(held: HeldRod, s: FloatArray) -> FloatArray:
    """Cubic Hermite rows of the held rod's table at ``s`` (N,)."""
    place = np.clip(s / held.body[3], 0.0, 1.0) * GRID_CELLS
    cell = np.minimum(place.astype(np.int64), GRID_CELLS - 1)
    b = (place - cell)[:, None]
    a = 1.0 - b
    low, high = held.table[cell], held.table[cell + 1]
    values = a * a * (1.0 + 2.0 * b) * low[:, 0] + b * b * (1.0 + 2.0 * a) * high[:, 0]
    return np.asarray(values + a * a * b * low[:, 1] - b * b * a * high[:, 1])


def instant(run: Forward, stretch: Stretch, done: float) -> Instant:
    """The equation at share ``done`` of ``stretch``."""
    held, motion, rows = run.held, run.motion, run.rows
    count, k = rows.shape[0], held.stiffness.size
    zero = np.zeros(count)
    travel, acceleration, pull = np.full(count, motion.stroke), zero, np.zeros((count, 2))
    s_rest = stretch.rest[0] * (1.0 - done) + stretch.rest[1] * done
    if stretch.string:
        bow = motion.at(stretch.shares[0] * (1.0 - done) + stretch.shares[1] * done)
        travel, residual = bow[:, 0], rows[:, 6] * bow[:, 4]
        acceleration = rows[:, 2] * bow[:, 1] / (held.free.mass + rows[:, 3])
        pull[:, 0] = rows[:, 4] * (rows[:, 2] * bow[:, 2] + residual)
        pull[:, 1] = rows[:, 5] * (rows[:, 2] * bow[:, 3] + residual + motion.synchronisation)
        s_rest = motion.rest_at_draw - travel
    mass, balance, inertia, length = held.body
    soft = acceleration[:, None] / run.stiffness  # (N, 2)
    end, here = np.broadcast_to(held.table[0, 0], (count, 2 * k + 4)), _table_at(held, s_rest)

    def shapes(table: FloatArray, s: FloatArray) -> FloatArray:
        out = np.empty((count, 2, k + 2))
        out[:, :, 0] = mass**-0.5
        out[:, :, 1] = ((s - balance) * inertia**-0.5)[:, None] + soft * table[:, None, k]
        out[:, :, 2:] = table[:, None, :k] + soft[:, :, None] * table[:, None, k + 1 : 2 * k + 1]
        return out

    push = rows[:, 8:10] * float(stretch.touching)
    r_nn, r_nr, r_rr = (table / run.stiffness for table in (end[:, -1:], here[:, -2:-1], here[:, -1:]))
    determinant = (1.0 + r_nn * pull) * (1.0 + r_rr * push) - r_nr**2 * pull * push
    grip = np.stack([pull * (1.0 + r_rr * push), -pull * r_nr * push, push * (1.0 + r_nn * pull)], axis=-1)
    softening = (acceleration * 2.0 / run.stiffness.sum(axis=1))[:, None, None]
    g = acceleration[:, None, None] * (held.thrust + softening * held.thrust_high)
    thrust = np.zeros((count, k + 2, k + 2))
    thrust[:, 1:, 1:] = g[:, :, :-1]
    amplitudes = run.amplitudes
    share = (travel / motion.stroke)[:, None]
    crook = 1.0 - (2.0 * s_rest / length - 1.0) ** 2
    line = (
        amplitudes[..., _NOCK] + amplitudes[..., _RAMP] * share + amplitudes[..., _BUMP] * 4.0 * share * (1.0 - share)
    )
    target = np.stack(
        [
            line - amplitudes[..., _BEND] * soft * end[:, None, 2 * k + 1],
            amplitudes[..., _REST] - amplitudes[..., _BEND] * (crook[:, None] + soft * here[:, None, 2 * k + 1]),
        ],
        axis=-1,
    )
    force = np.zeros((count, 2, k + 2))
    force[:, :, 1:] = amplitudes[..., _BEND, None] * g[:, None, :, -1]
    force -= GRAVITY * amplitudes[..., _GRAVITY, None] * stretch.fall[:, None, :]
    return Instant(shapes(end, zero), shapes(here, s_rest), grip / determinant[..., None], target, thrust, force)


def _bare_nock(held: HeldRod) -> FloatArray:
    """Kept shapes at the nock, (n,)."""
    mass, balance, inertia, _ = held.body
    return np.concatenate([[mass**-0.5, -balance * inertia**-0.5], held.table[0, 0, : held.stiffness.size]])


def forces(at: Instant, q: FloatArray) -> FloatArray:
    """Sideways and vertical forces [N] of string and rest on the arrow, (N, 2, 2) with the contact last."""
    gap_nock = at.target[..., 0] - np.einsum("npi,npi->np", at.nock, q)
    gap_rest = at.target[..., 1] - np.einsum("npi,npi->np", at.rest, q)
    on_nock = at.grip[..., 0] * gap_nock + at.grip[..., 1] * gap_rest
    on_rest = at.grip[..., 1] * gap_nock + at.grip[..., 2] * gap_rest
    return np.stack([on_nock, on_rest], axis=-1)


def _damping(run: Forward, string: bool) -> FloatArray:
    """(N, 2, n, n) damping force over velocity, with the string or after it; see :class:`Stretch`."""
    held, twice, roots = run.held, 2.0 * run.rows[:, 11, None, None], np.sqrt(run.rows[:, :2, None])
    if string:
        shapes = np.eye(run.nock.size)
        rates = np.concatenate([[0.0, 0.0], np.sqrt(held.stiffness)])
    else:
        _, turn = reweighed(rod_arrays(held), -held.nock_mass)
        shapes = turn - held.nock_mass * np.outer(run.nock, run.nock @ turn)
        rates = np.sqrt(np.einsum("ij,i->j", turn[2:] ** 2, held.stiffness))
    return np.asarray((shapes * (twice * roots * rates)[..., None, :]) @ shapes.T)


def _accelerate(run: Forward, stretch: Stretch, at: Instant, q: FloatArray, v: FloatArray) -> FloatArray:
    bending, contact = slice(2, None), forces(at, q)
    out = q @ at.thrust.swapaxes(1, 2) + at.push
    out += at.nock * contact[..., :1] + at.rest * contact[..., 1:]
    out[..., bending] -= run.squares * q[..., bending] + run.coupled * q[:, ::-1, bending]
    out -= (stretch.damping @ v[..., None])[..., 0]
    return np.asarray(out - stretch.lighten * (out @ run.nock)[..., None] * run.nock)


def _stretches(run: Forward) -> list[Stretch]:
    motion, rows = run.motion, run.rows
    unit = np.sqrt((run.held.free.mass + rows[:, 3]) / rows[:, 2])
    time = motion.duration * unit
    s0, stroke = motion.rest_at_draw, motion.stroke
    dropped = np.array([share_at_travel(motion.table, min(d, s0)) for d in rows[:, 10]])
    stays = (rows[:, 10] >= stroke) & (s0 > stroke)
    zero, one = np.zeros_like(time), np.ones_like(time)
    after = np.where(stays, (s0 - stroke) * unit / np.sqrt(2.0 * motion.energy), 0.0)

    def steps(span: FloatArray) -> int:
        return int(np.ceil(run.steps * np.max(span / time))) if np.any(span > 0.0) else 0

    spans = dropped * time, (1.0 - dropped) * time, after

    def stretch(span: FloatArray, shares: _Ends, rest: _Ends, *, string: bool, touching: bool) -> Stretch:
        extra = (rows[:, 7] if string else zero) - run.held.nock_mass
        fall = extra[:, None] * run.nock
        fall[:, 0] += run.held.body[0] ** 0.5
        lighten = (extra / (1.0 + extra * (run.nock @ run.nock)))[:, None, None]
        return Stretch(span, shares, rest, string, touching, steps(span), fall, lighten, _damping(run, string))

    return [
        stretch(spans[0], (zero, dropped), (zero, zero), string=True, touching=True),
        stretch(spans[1], (dropped, one), (zero, zero), string=True, touching=False),
        stretch(spans[2], (one, one), (one * (s0 - stroke), zero), string=False, touching=True),
    ]


def drawn(run: Forward) -> tuple[FloatArray, FloatArray]:
    """Place and velocity at full draw; see ``stroke_run`` for what each disturbance has done by then."""
    held, amplitudes, rows = run.held, run.amplitudes, run.rows
    mass, balance, inertia, length = held.body
    s0, k = run.motion.rest_at_draw, held.stiffness.size
    q, v = np.zeros((rows.shape[0], 2, k + 2)), np.zeros((rows.shape[0], 2, k + 2))

    def add_line(out: FloatArray, at_nock: FloatArray, at_rest: FloatArray) -> None:
        slope = (at_rest - at_nock) / s0
        out[..., 0] += mass**0.5 * (at_nock + slope * balance)
        out[..., 1] += inertia**0.5 * slope

    crook = 1.0 - (2.0 * s0 / length - 1.0) ** 2
    add_line(
        q,
        amplitudes[..., _NOCK] + amplitudes[..., _HOLD],
        amplitudes[..., _REST] - crook * amplitudes[..., _BEND],
    )
    add_line(v, amplitudes[..., _KICK], np.zeros_like(amplitudes[..., _KICK]))
    on_rest = mass * GRAVITY * balance / s0
    on_nock = mass * GRAVITY - on_rest
    end, here = held.table[0, 0], _table_at(held, np.array([s0]))[0]
    down = amplitudes[..., _GRAVITY]
    sag = (end[:k] * on_nock + here[:k] * on_rest) / (held.stiffness * run.stiffness[..., None])
    nock_up = sag @ end[:k] + (end[-1] * on_nock + here[-2] * on_rest) / run.stiffness
    rest_up = sag @ here[:k] + (here[-2] * on_nock + here[-1] * on_rest) / run.stiffness
    q[..., 2:] += down[..., None] * sag
    add_line(q, -down * nock_up, -down * (on_rest / rows[:, 8:10] + rest_up))
    return q, v


def run_forward(run: Forward, record: Recorder | None = None) -> tuple[FloatArray, FloatArray]:
    """Kutta-Nystroem steps of order 4 to the release; place and velocity there, (N, 2, n) each.

    ``record`` is told (time (N,), stretch, the equation there, place) at the start and after every step.
    """
    q, v = drawn(run)
    time = np.zeros(run.rows.shape[0])
    for stretch in _stretches(run):
        if stretch.count == 0:
            continue
        h = (stretch.span / stretch.count)[:, None, None]
        now = instant(run, stretch, 0.0)
        if record is not None:
            record(time, stretch, now, q)
        for step in range(stretch.count):
            middle = instant(run, stretch, (step + 0.5) / stretch.count)
            then = instant(run, stretch, (step + 1) / stretch.count)
            k1 = _accelerate(run, stretch, now, q, v)
            place = q + 0.5 * h * v + 0.125 * h * h * k1
            k2 = _accelerate(run, stretch, middle, place, v + 0.5 * h * k1)
            k3 = _accelerate(run, stretch, middle, place, v + 0.5 * h * k2)
            k4 = _accelerate(run, stretch, then, q + h * v + 0.5 * h * h * k3, v + h * k3)
            q = q + h * v + h * h / 6.0 * (k1 + k2 + k3)
            v = v + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
            now = then
            time = time + h[:, 0, 0]
            if record is not None:
                record(time, stretch, now, q)
    return q, v


def release_of(run: Forward, q: FloatArray, v: FloatArray) -> FloatArray:
    """Release columns (N, 2, 4) of place ``q`` and velocity ``v``: means over the mass of the arrow alone."""
    held, free, nock = run.held, run.held.free, run.nock
    mass, balance, inertia, _ = held.body
    fields = np.zeros((2, q.shape[-1]))  # rows: translation 1/m, rotation (s - b)/I
    fields[0, 0] = mass**0.5 / free.mass
    fields[1, 0], fields[1, 1] = mass**0.5 * (balance - free.balance) / free.inertia, inertia**0.5 / free.inertia
    weights = fields - held.nock_mass * np.outer(fields @ nock, nock)
    out = np.empty((*q.shape[:2], 4))
    out[..., 0::2] = q @ weights.T + run.amplitudes[..., _BEND, None] * held.crooked
    out[..., 1::2] = v @ weights.T
    return out
