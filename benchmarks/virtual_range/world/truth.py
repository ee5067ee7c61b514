"""Everything that is true of one world and hidden from the players: frozen values, and their mirror image."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from benchmarks.virtual_range.world.airborne import Air
from benchmarks.virtual_range.world.string_and_rest import Pull, RestLaw
from spinewright.equipment import Head, Setup, Shaft
from spinewright.evidence import TargetKind

__all__ = ["Answers", "Faults", "Nature", "Shooter", "Truth", "WorldKind"]

FloatArray = NDArray[np.float64]


class WorldKind(StrEnum):
    """How the gap answers a change of length in a world, or that its archer cannot show it."""

    OPEN = "as the prior holds possible"
    STEEP = "length answers three times as usual"
    GENTLE = "length answers a third as usual"
    NONE = "length answers nothing"
    REVERSED = "length answers the other way"
    WIDE = "scatter too large to tell"


@dataclass(frozen=True, slots=True)
class Nature:
    """Bow, shaft and air of a world: numbers of its own physics.

    pull, law of the start; stiffness [1] true over label; on_nock [kg]; damping [s]; air; vane_lift, vane_drag [1]
    against the range's own estimate; faults (2, 6) of nock line, rest, hold and kick
    """

    pull: Pull
    law: RestLaw
    stiffness: float
    on_nock: float
    damping: float
    air: Air
    vane_lift: float
    vane_drag: float
    faults: FloatArray


@dataclass(frozen=True, slots=True)
class Answers:
    """What the gap answers beyond the physics, as the trade reports it; lab frame, y left, z up.

    length (2,) [m/m] per metre too long; saturation [m]; too_weak [m] of the start; point [m/kg], weight [m/N] and
    spine [m per unit of ln] as lengths; rest (2,) [m/m]; rest_off (2,) [m]; rest_limit [m] where its answer bends
    turn (2, 4) [m] cosine and sine of one and two turns of the nock; heads [1] share of it that a broadhead shows;
    lean [rad/m] lean of the nock against it
    """

    length: FloatArray
    saturation: float
    too_weak: float
    point: float
    weight: float
    spine: float
    rest: FloatArray
    rest_off: FloatArray
    rest_limit: float
    turn: FloatArray
    heads: float
    lean: float


@dataclass(frozen=True, slots=True)
class Faults:
    """What goes wrong in a world beside scatter.

    contact (2,) [m] what a touching vane adds until cleared, zero = nothing touches; powder_shows it or not
    amiss (2, 6) what stands beside the nature's faults until a technician mends it; wrong_item names it, '' = in order
    lean_swapped the person writes where the point leans; target_turn (2,) [rad] the target turns every shaft
    paper the hunt begins with two bare tears
    plucked, misread [1] chance per arrow; called [1] chance that a plucked one is called
    """

    contact: FloatArray
    powder_shows: bool
    amiss: FloatArray
    wrong_item: str
    lean_swapped: bool
    target_turn: FloatArray
    paper: bool
    plucked: float
    called: float
    misread: float


@dataclass(frozen=True, slots=True)
class Shooter:
    """The archer: one-axis sd [m at 20 yd], what they state of it, bare shafts' factor, drift and its memory,
    shaft-to-shaft sd [m], what differs from walk to walk [m]."""

    scatter: float
    stated: float
    bare: float
    drift: float
    memory: float
    shafts: float
    walks: float


@dataclass(frozen=True, slots=True)
class Truth:
    """One world. ``sign`` -1 = a left-hander's, every sideways thing mirrored, ``heads`` and ``shafts`` at hand."""

    seed: int
    kind: WorldKind
    sign: int
    start: Setup
    nature: Nature
    answers: Answers
    faults: Faults
    shooter: Shooter
    heads: tuple[Head, ...]
    shafts: tuple[Shaft, ...]
    spare: float | None
    target: TargetKind

    def mirrored(self) -> Truth:
        """The same world for the other hand."""
        side = np.array([[-1.0], [1.0]])
        one = side[:, 0]
        nature = replace(self.nature, faults=self.nature.faults * side)
        turn = self.answers.turn * side * np.array([1.0, -1.0, 1.0, -1.0])
        answers = replace(self.answers, rest_off=self.answers.rest_off * one, turn=turn,
                          length=self.answers.length * one)  # fmt: skip
        faults = replace(
            self.faults,
            contact=self.faults.contact * one,
            amiss=self.faults.amiss * side,
            target_turn=self.faults.target_turn * one,
        )
        return replace(
            self, sign=-self.sign, start=self.start.mirrored(), nature=nature, answers=answers, faults=faults
        )
