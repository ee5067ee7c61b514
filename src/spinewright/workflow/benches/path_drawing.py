"""The paths of bare and fletched to the target, each with the band that holds four plausible bows in five."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from spinewright.outlook import FlightPaths, flight_paths
from spinewright.units import Kind, System, show
from spinewright.workflow.benches.arrays import numbers
from spinewright.workflow.benches.believing import SOURCE, belief_for, distance_of
from spinewright.workflow.benches.sides import place
from spinewright.workflow.open_bench import OpenBench
from spinewright.workflow.showing import Json, Voice

__all__ = ["paths_json"]

_PLACES = 41
_FIRST = 1.5  # m; the arrow has to be free of the bow
_TITLES = {"bare": "Bare shaft", "fletched": "Fletched arrow"}


def paths_json(bench: OpenBench, progress: Callable[[float], None]) -> Json:
    """Both paths in both systems of units. Raises SolveError."""
    distance = distance_of(bench)
    belief = belief_for(bench, [bench.state.now], [distance], progress)
    found = flight_paths(belief, bench.state.now, np.linspace(_FIRST, distance, _PLACES))
    progress(1.0)
    return {str(system): _body(found, distance, Voice(bench.state.scope.hand, system)) for system in System}


def _body(found: FlightPaths, distance: float, voice: Voice) -> Json:
    apart = np.median(found.bare[:, -1] - found.fletched[:, -1], axis=0)
    where = place((float(apart[0]), float(apart[1])), voice)["text"]
    far = show(distance, Kind.DISTANCE, voice.system)
    return {
        "distance": distance,
        "along": numbers(found.along, 3),
        "cases": [
            _case("fletched", found.fletched, found.fletched_turn, voice),
            _case("bare", found.bare, found.bare_turn, voice),
        ],
        "words": f"At {far} the bare shaft passes {where} of the fletched one, in the middle of what is believed; the "
        "bands hold four plausible bows in five. Height is counted from the fletched arrow's own drop.",
        "source": SOURCE,
    }


def _case(which: str, path: NDArray[np.float64], turn: NDArray[np.float64], voice: Voice) -> Json:
    right = -voice.hand.sideways_sign
    x, y = right * path[:, :, 0], path[:, :, 1]
    low_x, middle_x, high_x = np.quantile(x, (0.1, 0.5, 0.9), axis=0)
    low_y, middle_y, high_y = np.quantile(y, (0.1, 0.5, 0.9), axis=0)
    # the point to the left is the nock to the right
    nock = np.median(turn * voice.hand.sideways_sign, axis=0)
    return {
        "which": which,
        "title": _TITLES[which],
        "x": numbers(middle_x),
        "y": numbers(middle_y),
        "low_x": numbers(low_x),
        "high_x": numbers(high_x),
        "low_y": numbers(low_y),
        "high_y": numbers(high_y),
        "turn": numbers(nock),
    }
