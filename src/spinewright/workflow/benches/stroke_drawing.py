"""The arrow's motion from full draw to release as a page animates it: as it is, after the move, and the map's best."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

from spinewright.belief import Belief, Members
from spinewright.equipment import Setup, mass_model
from spinewright.errors import InputError, SolveError
from spinewright.mechanics import MotionSettings, build_rod, mode_nodes
from spinewright.outlook import ShotMotion, middle_bow, shot_motion, with_length, with_point
from spinewright.units import Kind, System
from spinewright.workflow.benches.arrays import array, numbers
from spinewright.workflow.benches.believing import SOURCE, belief_for
from spinewright.workflow.open_bench import OpenBench, with_event
from spinewright.workflow.showing import Json, Voice

__all__ = ["stroke_cases"]

_MOTION = MotionSettings(times=60, stations=25)
_TITLES = {"now": "As it is now", "after": "After the next move", "best": "The map's most forgiving build"}
_WORDS = (
    "Bending is drawn larger than it is, by the factor that stands beside it, and slowed; lengths along the arrow are "
    "true to one another."
)
_MIDDLE = "One plausible bow, in the middle of all that what was seen leaves; the others differ."


def stroke_cases(bench: OpenBench, wishes: Mapping[str, Any], progress: Callable[[float], None]) -> Json:
    """Every case in both systems of units. Raises SolveError when not even the present build has an answer."""
    setups = dict(_setups(bench, wishes))
    belief = belief_for(bench, list(setups.values()), (), progress)
    shots = list(_shots(setups, belief, lambda share: progress(0.7 + 0.3 * share)))
    bodies: Json = {}
    for system in System:
        voice = Voice(bench.state.scope.hand, system)
        cases = [_case(which, setups[which], shot, bare, voice) for which, bare, shot in shots]
        bodies[str(system)] = {"cases": cases, "exaggeration_words": _WORDS, "source": f"{SOURCE} {_MIDDLE}"}
    return bodies


def _setups(bench: OpenBench, wishes: Mapping[str, Any]) -> Iterator[tuple[str, Setup]]:
    now = bench.state.now
    yield "now", now
    try:
        moved = bench
        for event in wishes["after"]:
            moved = with_event(moved, event)
        if moved.state.now != now:
            yield "after", moved.state.now
    except InputError:
        pass  # a move that asks for measured lengths first cannot be drawn as if it had been made
    best = wishes["best"]
    if best:
        build = with_length(with_point(now, float(best["point"])), float(best["length"]))
        if build != now:
            yield "best", build


def _shots(
    setups: Mapping[str, Setup], belief: Belief, progress: Callable[[float], None]
) -> Iterator[tuple[str, bool, ShotMotion]]:
    done, whole = 0, 2 * len(setups)
    for which, setup in setups.items():
        bow: Members = middle_bow(belief, setups["now"])
        for bare in (False, True):
            try:
                yield which, bare, shot_motion(bow, setup, bare=bare, settings=_MOTION)
            except SolveError:
                if which == "now":
                    raise
            done += 1
            progress(done / whole)


def _case(which: str, setup: Setup, shot: ShotMotion, bare: bool, voice: Voice) -> Json:
    motion = shot.motion
    # planes as the archer sees them: x to the right, y up
    sideways = -voice.hand.sideways_sign * motion.shape[0]
    shape = np.stack([sideways, motion.shape[1]])
    rod = build_rod(mass_model(setup.build, bare=bare))
    speed = voice.quantity(shot.speed, Kind.SPEED)
    milliseconds = 1e3 * motion.departs
    return {
        "which": which,
        "title": f"{_TITLES[which]}, {'bare' if bare else 'fletched'}",
        "bare": bare,
        "time": numbers(motion.time, 7),
        "along": numbers(motion.s, 5),
        "shape": array(shape),
        "nock_forward": numbers(shot.forward, 5),
        "departs": motion.departs,
        "rest": {"at": shot.rest_at, "lets_go": shot.lets_go},
        "length": float(motion.s[-1]),
        "nodes": numbers(mode_nodes(rod, 1), 5),
        "speed": speed,
        "words": f"Off the string after {milliseconds:.1f} ms at {speed['text']}.",
    }
