"""Physics at its edges: random legal equipment through stroke and flight, and what must hold for every draw.

Every draw gives a finite answer or an outcome that says why; holds no more energy at the release than was stored;
mirrors to the last digit; comes out the same in other units; and does not hang on the length of the step.
"""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from soak.equipment_draws import Drawn, draw_equipment
from soak.figures import Figures
from soak.other_units import Scale
from spinewright.equipment import DrawCurve, Head, HeadKind, MassModel, RestKind, mass_model
from spinewright.errors import EquipmentError, SolveError
from spinewright.flight import FlightBody, FlightParameters, FlightResult, flight_body, fly
from spinewright.flight.trajectory import steps_taken
from spinewright.mechanics import BowMotion, Rod, StrokeSettings, bow_motion, build_rod, height_on_pushing_rest, stroke
from spinewright.mechanics.release_energy import energy_across
from spinewright.mechanics.stroke import fine_enough, hold_for, parameter_rows, stroke_effects

__all__ = ["ENERGY_ROOM", "SAME_IN_OTHER_UNITS", "STEP_CHANGE", "Tally", "physics", "try_draw"]

FloatArray = NDArray[np.float64]

# What moves along the shot takes all that comes back of the stored energy; what goes across is of second order, not
# taken off it, and where it is much no answer is given. Bending may hold as much again.
ENERGY_ROOM = 0.10
STEP_CHANGE = 1e-3  # of the release state's own size, when every step is halved
SAME_IN_OTHER_UNITS = 1e-9  # of the same size
_PLACES = np.array([1.8288, 18.288, 45.72])  # [m] paper at 6 ft, 20 and 50 yd
_PLAUSIBLE = np.array([1e-3, 1e-3, 1e-3, 1e-3, 1e-3, 0.1, 1.0, 1e-4])  # of the eight channels
_SIDES = np.array([-1.0, 1.0])
_MOST_NAMED = 20


@dataclass(slots=True)
class Tally:
    """What was found so far; ``faults`` holds a sentence for each thing wrong."""

    outcomes: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    worst: dict[str, float] = field(default_factory=dict)
    checked: Counter[str] = field(default_factory=Counter)
    refused: int = 0

    def hold(self, what: str, value: float, limit: float, draw: int) -> None:
        """Note ``value``, which must be finite and at most ``limit``."""
        self.checked[what] += 1
        self.worst[what] = max(self.worst.get(what, -np.inf), value)
        if not value <= limit:
            self.faults.append(f"draw {draw}: {what} is {value:.3g}, at most {limit:.3g} may be")

    def demand(self, what: str, kept: bool, draw: int) -> None:
        """Note that ``what`` has to hold."""
        self.checked[what] += 1
        if not kept:
            self.faults.append(f"draw {draw}: not so: {what}")


@dataclass(frozen=True, slots=True)
class _Shot:
    """One arrow of a bench on its string."""

    drawn: Drawn
    masses: MassModel
    rod: Rod
    motion: BowMotion
    bare: bool


def _size(response: FloatArray) -> FloatArray:
    """Size of each release column (1, 2, 1, 4) with every channel at a plausible size."""
    return np.asarray(np.sqrt(((response * _PLAUSIBLE[:, None]) ** 2).sum(axis=2, keepdims=True)))


def _change(found: FloatArray, exact: FloatArray) -> float:
    """Root mean square over the columns of what all channels at plausible size change, over each column's size."""
    wrong = (found - exact) * _PLAUSIBLE[:, None] / _size(exact)
    return float(np.sqrt((wrong**2).sum(axis=(2, 3)) / 4.0).max())


def _released(shot: _Shot, response: FloatArray, amplitudes: FloatArray) -> FloatArray:
    """Release (1, 2, 4), in height on a blade by the stroke whose rest only pushes, as answers are made."""
    release = np.asarray(np.einsum("npc,npcr->npr", amplitudes, response))
    if shot.drawn.setup.bow.rest.kind is RestKind.BLADE:
        release[:, 1] = height_on_pushing_rest(shot.rod, shot.motion, shot.drawn.stroke, amplitudes[:, 1])
    return release


def _short(reason: str) -> str:
    """A reason without its numbers, so that equal ones are counted together."""
    return " ".join(word for word in reason.partition(":")[0].split() if not any(c.isdigit() for c in word))


def try_draw(drawn: Drawn, number: int, tally: Tally, *, thorough: bool) -> None:
    """Everything that must hold for one bench; ``thorough`` adds halved steps and other units."""
    setup = drawn.setup
    try:
        motion = bow_motion(DrawCurve.of(setup.bow), setup.bow)
        shots = [_shot(drawn, motion, bare) for bare in (True, False)]
        for shot in shots:
            _one_stroke(shot, number, tally, thorough)
    except SolveError as error:
        tally.demand("a refusal says what and what would be right", len(str(error)) > 20, number)
        tally.outcomes[f"refused: {_short(str(error))}"] += 1
        return
    _bladed_bare(shots[0], number, tally)


def _shot(drawn: Drawn, motion: BowMotion, bare: bool) -> _Shot:
    masses = mass_model(drawn.setup.build, bare=bare)
    return _Shot(drawn, masses, build_rod(masses), motion, bare)


def _one_stroke(shot: _Shot, number: int, tally: Tally, thorough: bool) -> None:
    """Stroke and flights of one arrow."""
    drawn = shot.drawn
    result = stroke(shot.rod, shot.motion, drawn.stroke)
    tally.demand("every number of a stroke is finite", bool(np.isfinite(result.response).all()), number)
    if not result.solved[0]:
        tally.demand(
            "an unsolved stroke is zero and says why", bool(result.reason) and not result.response.any(), number
        )
        tally.outcomes[f"{'bare' if shot.bare else 'fletched'}: {_short(result.reason)}"] += 1
        return
    if thorough:
        _halved(shot, result.response, number, tally)
        _other_units(shot, result.response, number, tally)
    release = _released(shot, result.response, drawn.amplitudes)
    tally.demand("every number of a release is finite", bool(np.isfinite(release).all()), number)
    _mirrored_stroke(shot, release, number, tally)
    if _flights(shot, (result.speed, release), number, tally, thorough=thorough):
        _energy(shot, float(result.speed[0]), number, tally)


def _energy(shot: _Shot, speed: float, number: int, tally: Tally) -> None:
    """Kinetic and bending energy of arrow and virtual mass at the release over what came back of the stored."""
    drawn = shot.drawn
    given = float(drawn.stroke.force_factor[0]) * DrawCurve.of(drawn.setup.bow).stored_energy
    rows = parameter_rows(drawn.stroke)
    held = hold_for(shot.rod, shot.motion, rows, StrokeSettings())
    moving, bent = energy_across(held, shot.motion, rows[0], drawn.amplitudes[0])
    along = 0.5 * (shot.rod.mass + float(drawn.stroke.virtual_mass[0])) * speed**2
    tally.hold(
        "energy at the release over that given, less one", (along + moving + bent) / given - 1.0, ENERGY_ROOM, number
    )
    tally.hold("energy along the shot over that given, less one", along / given - 1.0, 1e-5, number)
    tally.hold("bending energy at the release over that given", bent / given, ENERGY_ROOM, number)


def _halved(shot: _Shot, response: FloatArray, number: int, tally: Tally) -> None:
    usual = fine_enough(shot.rod, shot.motion, parameter_rows(shot.drawn.stroke))
    halved = StrokeSettings(steps=2 * usual.steps, reach=0.5 * usual.reach)
    finer = stroke(shot.rod, shot.motion, shot.drawn.stroke, halved)
    if finer.solved[0]:
        tally.hold(
            "change of the release when steps are halved", _change(response, finer.response), STEP_CHANGE, number
        )


def _other_units(shot: _Shot, response: FloatArray, number: int, tally: Tally) -> None:
    """The stroke in other units; which ones follows from the draw, so that it repeats."""
    one, other = np.random.default_rng(number).uniform(-0.6, 0.6, 2)
    scale = Scale(float(np.exp(one)), float(np.exp(other)))
    rod, motion = build_rod(scale.arrow(shot.masses)), scale.motion(shot.drawn.setup.bow)
    rows = parameter_rows(scale.stroke(shot.drawn.stroke))
    # not judged again: what counts as a plausible disturbance is a size in metres, which other units do not know
    found = stroke_effects(rod, motion, rows, fine_enough(rod, motion, rows))[0][:, :, :8]
    back = found * scale.channels[:, None] / scale.columns
    tally.hold("change of the release in other units", _change(back, response), SAME_IN_OTHER_UNITS, number)


def _mirrored_stroke(shot: _Shot, release: FloatArray, number: int, tally: Tally) -> None:
    """The mirrored bench, built and drawn anew, releases the exact mirror image."""
    drawn = shot.drawn
    twin = _shot(replace(drawn, setup=drawn.setup.mirrored()), shot.motion, shot.bare)
    response = stroke(twin.rod, shot.motion, drawn.stroke).response
    mirrored = _released(twin, response, drawn.amplitudes * _SIDES[:, None])
    tally.demand("the mirrored stroke is the exact mirror", np.array_equal(mirrored, release * _SIDES[:, None]), number)


def _flights(shot: _Shot, left: tuple[FloatArray, FloatArray], number: int, tally: Tally, *, thorough: bool) -> bool:
    """All flights of one arrow that ``left`` with a speed and a release; whether it may be held to its energy."""
    speed, release = left
    drawn, build = shot.drawn, shot.drawn.setup.build
    heads: list[Head] = [build.head]
    if not shot.bare and drawn.head.kind is not HeadKind.FIELD:
        heads.append(drawn.head)
    steady = True
    for head in heads:
        body = flight_body(build, shot.masses, bare=shot.bare, head=head)
        flown = fly(body, speed, release, drawn.flight, _PLACES)
        numbers = (flown.hole, flown.angle, flown.tail, flown.speed, flown.time)
        tally.demand("every number of a flight is finite", all(np.isfinite(n).all() for n in numbers), number)
        _mirrored_flight((body, speed, release, drawn.flight), flown, number, tally)
        if flown.solved[0]:
            _slows(body, (speed, release, drawn.flight), flown, number, tally)
            if thorough:
                _flight_in_other_units((body, speed, release, drawn.flight), number, tally)
        else:
            tally.demand("an unsolved flight is zero and says why", bool(flown.reason) and not flown.hole.any(), number)
            steady = steady and "across the shot" not in flown.reason
        name = "bare" if shot.bare else "fletched" if head.kind is HeadKind.FIELD else "with blades"
        tally.outcomes[f"{name}: {_short(flown.reason) or 'finite, stroke and flight'}"] += 1
    return steady


_Flight = tuple[FlightBody, FloatArray, FloatArray, FlightParameters]


def _mirrored_flight(flight: _Flight, flown: FlightResult, number: int, tally: Tally) -> None:
    body, speed, release, air = flight
    other = fly(body, speed, release * _SIDES[:, None], replace(air, wind_y=-air.wind_y), _PLACES)
    exact = all(
        np.array_equal(a * _SIDES, b)
        for a, b in ((flown.hole, other.hole), (flown.angle, other.angle), (flown.tail, other.tail))
    )
    same = np.array_equal(flown.speed, other.speed) and np.array_equal(flown.time, other.time)
    tally.demand("the mirrored flight is the exact mirror", exact and same, number)


def _slows(
    body: FlightBody,
    start: tuple[FloatArray, FloatArray, FlightParameters],
    flown: FlightResult,
    number: int,
    tally: Tally,
) -> None:
    """Without wind, no more energy at 50 yd than at the release and from the fall (its arm to the point left to it)."""
    speed, release, air = start
    if air.wind_y[0] != 0.0:
        return
    turning = body.inertia / body.mass * float((release[0, :, 3] ** 2).sum())
    begin = float(speed[0] ** 2 + (release[0, :, 1] ** 2).sum()) + turning
    fallen = 2.0 * 9.80665 * (abs(float(flown.hole[0, -1, 1])) + 0.4 * body.tip_place)
    tally.hold(
        "energy in flight over that of release and fall, less one",
        float(flown.speed[0, -1] ** 2) / (begin + fallen) - 1.0,
        1e-9,
        number,
    )


def _flight_in_other_units(flight: _Flight, number: int, tally: Tally) -> None:
    """The longest step is a length in metres, so both flights are told to take as many steps."""
    unit = float(np.exp(np.random.default_rng(number).uniform(-0.6, 0.6)))
    scale = Scale(unit, unit**3)
    body, speed, release, air = flight
    there = scale.body(body), speed * scale.columns[1], release * scale.columns, scale.flight(air)
    counts = [
        steps_taken(arrow[0], arrow[3], places)
        for arrow, places in ((flight, _PLACES), (there, _PLACES * scale.length))
    ]
    most = 2 * max(counts)
    plain, other = (
        fly(*arrow, places, finer=(most - 0.5) / count)
        for arrow, places, count in zip((flight, there), (_PLACES, _PLACES * scale.length), counts, strict=True)
    )
    tally.demand("a flight is solved in other units too", bool(plain.solved[0] == other.solved[0]), number)
    if plain.solved[0] and other.solved[0]:
        gap = float(np.abs(other.hole / scale.length - plain.hole).max() / np.abs(plain.hole).max())
        tally.hold("change of the holes in other units", gap, SAME_IN_OTHER_UNITS, number)


def _bladed_bare(shot: _Shot, number: int, tally: Tally) -> None:
    """A head with blades must not fly on the bare shaft, whatever the equipment."""
    if shot.drawn.head.kind is HeadKind.FIELD:
        return
    try:
        flight_body(shot.drawn.setup.build, shot.masses, bare=True, head=shot.drawn.head)
    except EquipmentError:
        refused = True
    else:
        refused = False
    tally.demand("blades on a bare shaft are refused", refused, number)


def physics(draws: float, rng: Generator, *, thorough_every: int = 10) -> Figures:
    """``draws`` random benches; every ``thorough_every``-th with halved steps and other units as well. Never raises."""
    tally, count = Tally(), int(draws)
    began = time.process_time()
    for number in range(count):
        drawn = draw_equipment(rng)
        tally.refused += drawn.refused
        try:
            with np.errstate(all="ignore"):
                try_draw(drawn, number, tally, thorough=number % thorough_every == 0)
        except Exception as error:  # whatever a draw breaks is a finding, and the rest still runs
            tally.outcomes["broke off"] += 1
            tally.faults.append(f"draw {number}: {type(error).__name__}: {error}")
    return _figures(tally, count, time.process_time() - began)


def _figures(tally: Tally, count: int, seconds: float) -> Figures:
    rows = [
        (f"outcome, {kind}", f"{n}", f"{100.0 * n / max(count, 1):.2f} % of benches")
        for kind, n in tally.outcomes.most_common()
    ]
    rows += [
        (what, f"{n}", f"worst {tally.worst[what]:.2g}" if what in tally.worst else "")
        for what, n in sorted(tally.checked.items())
    ]
    rows.append(("benches that equipment refused and that were drawn again", f"{tally.refused}", ""))
    rows.append(("processor time a draw", "", f"{1e3 * seconds / max(count, 1):.1f} ms"))
    about = (
        "Random benches of everything that equipment lets pass (8 to 90 lb, 200 to 900 gr, spine 150 to 2000, 18 to "
        "34 in), ends of ranges among them, each with unknowns and disturbances of every kind, bare and fletched, to "
        "paper, 20 and 50 yd. Wrong is a number that is not finite, an outcome without a reason, more energy at the "
        "release than the bow gave back, a mirror image that is not exact, and an answer that hangs on step or units."
    )
    named = tally.faults[:_MOST_NAMED]
    if len(tally.faults) > _MOST_NAMED:
        named.append(f"and {len(tally.faults) - _MOST_NAMED} more")
    return Figures(about, f"{count} draws", ("what", "how often", "how far"), tuple(rows), tuple(named))
