"""The belief that drawings are made from: fewer bows than advice takes, for a picture is looked at, not cut by."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from spinewright.belief import Belief, BeliefSettings, believe, break_ground
from spinewright.equipment import Setup
from spinewright.workflow.open_bench import OpenBench
from spinewright.workflow.situations import situation_of

__all__ = ["SOURCE", "belief_for", "distance_of"]

_BOWS = 120
SOURCE = (
    "Computed: the bending arrow's equations and the flight model of this program, on bows that what was seen leaves "
    "plausible."
)


def belief_for(
    bench: OpenBench, setups: Sequence[Setup], distances: Sequence[float], progress: Callable[[float], None]
) -> Belief:
    """What is believed of the bench, with ``setups`` and ``distances`` [m] in its ground. Raises SolveError."""
    situation = situation_of(bench.state)
    ground = break_ground(
        situation.history, setups, distances, BeliefSettings(bows=_BOWS), progress=lambda share: progress(0.7 * share)
    )
    return believe(ground, situation.history, situation.archer)


def distance_of(bench: OpenBench) -> float:
    """Where the archer tests [m]."""
    return situation_of(bench.state).distance
