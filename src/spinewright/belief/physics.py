"""Every plausible bow run through the full model: what each would have shown with each setup."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from hashlib import blake2b

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.memory import Memory
from spinewright.belief.prior import Members
from spinewright.equipment import ArrowBuild, Bow, DrawCurve, Head, HeadKind, RestKind, Setup, mass_model
from spinewright.flight import FlightResult, flight_body, fly
from spinewright.mechanics import (
    BowMotion,
    Channel,
    Rod,
    StrokeParameters,
    StrokeResult,
    StrokeSettings,
    bow_motion,
    build_rod,
    height_on_pushing_rest,
    stroke,
)

__all__ = [
    "Output",
    "Physics",
    "Strokes",
    "What",
    "contributions",
    "fletched_holes",
    "forget_physics",
    "run_physics",
    "standing",
]

FloatArray = NDArray[np.float64]


class What(StrEnum):
    """What can be seen of a setup."""

    GAP = "gap"  # bare hole minus fletched hole [m]
    BARE_TEAR = "bare tear"  # tail from the point's hole [m]
    FLETCHED_TEAR = "fletched tear"
    LEAN = "lean"  # lean of a bare shaft's nock [rad], left and up positive
    BARE_SPEED = "bare speed"  # [m/s] in the first column
    FLETCHED_SPEED = "fletched speed"


@dataclass(frozen=True, slots=True)
class Output:
    """One thing seen or to be predicted: ``setup`` is an index into the list of setups, ``distance`` in m."""

    setup: int
    what: What
    distance: float


@dataclass(frozen=True, slots=True)
class Physics:
    """What N plausible bows would show.

    values (N, Q, 2)  one row a bow, one column an output, sideways and height
    solved (N,)       bows for which every stroke and flight gave a finite answer; the others' rows are zero
    reason            '' or what went wrong in the bows left out
    """

    outputs: tuple[Output, ...]
    values: FloatArray
    solved: NDArray[np.bool_]
    reason: str


@dataclass(frozen=True, slots=True)
class _StrokeKey:
    """What a power stroke depends on; rest and nock offsets are linear and need no new stroke."""

    build: ArrowBuild
    bow: Bow
    peak_weight: float
    nock_angle: float
    bare: bool


# After the next walk most builds and all plausible bows are as before. The keys hold everything that strokes and
# flights depend on, so what is found here is exact.
_STROKES: Memory[StrokeResult] = Memory(room=64 * 2**20)
_FLIGHTS: Memory[FlightResult] = Memory(room=64 * 2**20)


def forget_physics() -> None:
    """Drop all strokes and flights that are remembered, as in a program just started."""
    _STROKES.forget()
    _FLIGHTS.forget()


class Strokes:
    """The power strokes of some plausible bows, each computed once."""

    def __init__(self, members: Members) -> None:
        self._members = members
        self.mark = _mark(members)  # tells these bows' strokes from any others'
        self._done: dict[_StrokeKey, StrokeResult] = {}

    def of(self, setup: Setup, *, bare: bool) -> StrokeResult:
        """The strokes of all the bows with one setup; rest and nock point do not matter to them."""
        key = _key(setup, bare=bare)
        if key not in self._done:
            self._done[key] = _STROKES.of((self.mark, key), lambda: _stroke(self._members, setup, bare=bare))
        return self._done[key]

    def prepare(self, wanted: Iterable[tuple[Setup, bool]], told: Callable[[float], None]) -> None:
        """Compute what is missing of ``wanted`` (setup, bare), two side by side; ``told`` the share done."""
        missing = list({_key(setup, bare=bare): (setup, bare) for setup, bare in wanted}.values())
        # The compiled strokes let go of the interpreter, so two threads work side by side.
        with ThreadPoolExecutor(2) as pool:
            for done, _ in enumerate(pool.map(lambda job: self.of(job[0], bare=job[1]), missing)):
                told((done + 1) / len(missing))


def _key(setup: Setup, *, bare: bool) -> _StrokeKey:
    return _StrokeKey(setup.build, setup.bow, setup.present_peak_weight, setup.nock_angle, bare)


def _mark(members: Members) -> bytes:
    """What tells these bows' strokes from those of any others: a digest of everything a stroke takes from them."""
    return _digest(members.xi, *(getattr(members.stroke, name) for name in members.stroke.__slots__))


def _digest(*arrays: FloatArray) -> bytes:
    digest = blake2b(digest_size=16)
    for values in arrays:
        digest.update(np.ascontiguousarray(values).tobytes())
    return digest.digest()


def run_physics(
    members: Members,
    setups: Sequence[Setup],
    outputs: Sequence[Output],
    *,
    strokes: Strokes | None = None,
    progress: Callable[[float], None] | None = None,
) -> Physics:
    """Run ``members`` through every stroke and flight that ``outputs`` of ``setups`` need.

    ``strokes`` of the same members are used again and added to. ``progress`` is called with the share done.
    """
    strokes = strokes or Strokes(members)
    told = progress or _untold
    jobs = _flight_jobs(setups, outputs)
    strokes.prepare(((setups[index], bare) for index, bare in jobs), lambda share: told(0.7 * share))

    def flight(job: tuple[int, bool]) -> FlightResult:
        setup, bare = setups[job[0]], job[1]
        return _fly(members, setup, strokes, jobs[job], bare=bare, amplitudes=standing(members, setup))

    # The flight kernel lets go of the interpreter, so two threads fly side by side; results come in order.
    with ThreadPoolExecutor(2) as pool:
        flights = list(pool.map(flight, jobs))
    values = np.zeros((len(members), len(outputs), 2))
    solved = np.ones(len(members), dtype=np.bool_)
    reasons: dict[str, None] = {}
    for (index, bare), flown in zip(jobs, flights, strict=True):
        for result in (strokes.of(setups[index], bare=bare), flown):
            solved &= result.solved
            reasons[result.reason] = None
        _write(values, outputs, index, flown, jobs[(index, bare)], bare=bare)
    told(1.0)
    values[~solved] = 0.0
    return Physics(tuple(outputs), values, solved, "; ".join(r for r in reasons if r))


def _untold(_share: float) -> None:
    """Nobody asked how far it is."""


def _flight_jobs(setups: Sequence[Setup], outputs: Sequence[Output]) -> dict[tuple[int, bool], tuple[float, ...]]:
    """Which (setup, bare) must fly, and past which distances, sorted."""
    wanted: dict[tuple[int, bool], set[float]] = {}
    for output in outputs:
        if not 0 <= output.setup < len(setups):
            raise IndexError(f"output asks for setup {output.setup} of {len(setups)}")
        for bare in _flies(output.what):
            wanted.setdefault((output.setup, bare), set()).add(output.distance)
    return {key: tuple(sorted(distances)) for key, distances in wanted.items()}


def _flies(what: What) -> tuple[bool, ...]:
    if what is What.GAP:
        return (True, False)
    return (what in (What.BARE_TEAR, What.LEAN, What.BARE_SPEED),)


def _stroke(members: Members, setup: Setup, *, bare: bool) -> StrokeResult:
    return stroke(*_drawn(members, setup, bare=bare), _QUICK)


def _drawn(members: Members, setup: Setup, *, bare: bool) -> tuple[Rod, BowMotion, StrokeParameters]:
    """The arrow at full draw: what a stroke of it takes."""
    parameters = members.stroke
    bow = setup.bow
    weight = setup.present_peak_weight / bow.peak_weight
    parameters = replace(
        parameters,
        force_factor=parameters.force_factor * weight,
        stiffness_factor=members.stiffness_turned(setup.build.shaft.stiff_side_difference, setup.nock_angle),
        drops_after=members.drops(bow),
    )
    # Four bending modes, the static flexibility of the others and thirty steps are within 0.4 % of the release state of
    # ten modes in fine steps (computed, 300 bows of the prior); what is not known of a bow is far larger.
    rod = build_rod(mass_model(_flown(setup.build), bare=bare), modes=4)
    return rod, _motion(bow), parameters


_QUICK = StrokeSettings(steps=30, reach=1.2, threads=1)  # whole strokes go side by side, see Strokes.prepare


@lru_cache(maxsize=16)
def _motion(bow: Bow) -> BowMotion:
    return bow_motion(DrawCurve.of(bow), bow)


def _flown(build: ArrowBuild) -> ArrowBuild:
    """What is shot when bare and fletched are compared: field points of the head's mass, never blades."""
    if build.head.kind is HeadKind.FIELD:
        return build
    return replace(build, head=Head(build.head.mass, build.head.length))


def _fly(
    members: Members,
    setup: Setup,
    strokes: Strokes,
    distances: tuple[float, ...],
    *,
    bare: bool,
    amplitudes: FloatArray,
) -> FlightResult:
    def flown() -> FlightResult:
        stroked = strokes.of(setup, bare=bare)
        release = np.einsum("npc,npcr->npr", amplitudes, stroked.response)
        if setup.bow.rest.kind is RestKind.BLADE:
            # A blade stays under the shaft and only pushes: a spring that also pulls is off by more than the gap's own
            # spread. A rest that drops is left before that matters: by an eighth of it (tests hold both).
            height = height_on_pushing_rest(*_drawn(members, setup, bare=bare), amplitudes[:, 1], _QUICK)
            release[:, 1] = np.where(stroked.solved[:, None], height, 0.0)
        build = _flown(setup.build)
        body = flight_body(build, mass_model(build, bare=bare), bare=bare)
        return fly(body, stroked.speed, release, members.flight, np.asarray(distances), finer=_FEW_STEPS)

    air = (getattr(members.flight, name) for name in members.flight.__slots__)
    return _FLIGHTS.of((strokes.mark, _digest(amplitudes, *air), _key(setup, bare=bare), distances), flown)


# Steps three times as long miss a gap, tear or lean by less than 0.2 % of its spread over the bows (a test holds this);
# the strokes before them are good to 0.4 %.
_FEW_STEPS = 1.0 / 3.0


def contributions(
    members: Members, strokes: Strokes, setup: Setup, distance: float, groups: Sequence[tuple[Channel, ...]]
) -> FloatArray:
    """What each group of channels adds to the gap at ``distance`` [m]: (N, G + 1, 2), the last with gravity alone.

    Flight is weakly nonlinear and a blade lets go of the shaft at times, so what a group adds depends on what else is
    there: the mean of what it adds to gravity alone and of what it adds to everything else.
    """
    amplitudes = standing(members, setup)
    everything = [Channel.GRAVITY, *(channel for group in groups for channel in group)]

    def gap(channels: Sequence[Channel]) -> FloatArray:
        kept = np.zeros_like(amplitudes)
        kept[:, :, channels] = amplitudes[:, :, channels]
        bare, fletched = (
            _fly(members, setup, strokes, (distance,), bare=b, amplitudes=kept).hole[:, 0] for b in (True, False)
        )
        return np.asarray(bare - fletched)

    alone, whole = gap([Channel.GRAVITY]), gap(everything)
    parts = [
        0.5 * (gap([Channel.GRAVITY, *group]) - alone + whole - gap([c for c in everything if c not in group]))
        for group in groups
    ]
    return np.stack([*parts, alone], axis=1)


def fletched_holes(
    members: Members, strokes: Strokes, setup: Setup, distance: float
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Where fletched arrows of a setup land at ``distance`` [m] from the line of the shot, (N, 2), and which could."""
    flown = _fly(members, setup, strokes, (distance,), bare=False, amplitudes=standing(members, setup))
    return flown.hole[:, 0], flown.solved & strokes.of(setup, bare=False).solved


def standing(members: Members, setup: Setup) -> FloatArray:
    """Standing disturbances (N, 2, 8) with the rest and nock point where ``setup`` has them."""
    amplitudes = members.amplitudes.copy()
    amplitudes[:, 0, Channel.REST] += setup.rest_y
    amplitudes[:, 1, Channel.REST] += setup.rest_z
    amplitudes[:, 1, Channel.NOCK] += setup.nock_z
    return amplitudes


def _write(
    values: FloatArray,
    outputs: Sequence[Output],
    setup_index: int,
    flown: FlightResult,
    distances: tuple[float, ...],
    *,
    bare: bool,
) -> None:
    """Add what one flight shows to the columns that ask for it."""
    for q, output in enumerate(outputs):
        if output.setup != setup_index or bare not in _flies(output.what):
            continue
        d = distances.index(output.distance)
        if output.what is What.GAP:
            values[:, q] += flown.hole[:, d] if bare else -flown.hole[:, d]
        elif output.what in (What.BARE_TEAR, What.FLETCHED_TEAR):
            values[:, q] = flown.tail[:, d]
        elif output.what is What.LEAN:
            values[:, q] = -flown.angle[:, d]
        else:
            values[:, q, 0] = flown.speed[:, d]
