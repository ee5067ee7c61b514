"""The mistakes an archer makes from shot to shot, with a stated size for each level of skill."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

import numpy as np

from spinewright.equipment import Bow
from spinewright.mechanics import Channel
from spinewright.outlook.values import FloatArray

__all__ = [
    "AMOUNTS",
    "SIGHT_AHEAD",
    "Mistake",
    "MistakeAmounts",
    "Skill",
    "amount_of",
    "disturbance",
    "sight_shift",
    "skill_of",
]

SIGHT_AHEAD = 0.20  # [m] sight pin in front of the grip pivot; from memory, target sights stand further out


class Skill(StrEnum):
    """How well the archer repeats; decides how large the stated mistakes are."""

    NOVICE = "novice"
    CLUB = "club"
    EXPERT = "expert"


class Mistake(StrEnum):
    """One thing that differs from shot to shot because of the archer or what the archer sets."""

    KICK = "release kick"
    HOLD = "nock held off the string plane"
    NOCK_HEIGHT = "nock height"
    CREEP = "creeping forward before release"
    REST = "rest not in its place"
    TORQUE = "hand torque"


@dataclass(frozen=True, slots=True)
class MistakeAmounts:
    """One standard deviation of each mistake; where a mistake acts in both planes, of each plane.

    kick        [m/s] sideways and height speed of the nock as the string is let go
    hold        [m]   nock off the string plane at full draw (face, hand), sideways
    nock_height [m]   nock not seated at the same height on the string
    creep       [m]   draw length shorter as the string is let go
    rest        [m]   rest not back in its place, sideways and height
    torque      [rad] riser turned in the hand about the grip pivot
    """

    kick: float
    hold: float
    nock_height: float
    creep: float
    rest: float
    torque: float


#: All from memory: no published source gives these for compound archers. They are stated, not measured; the combined
#: miss of each level is about the share of its scatter that the arrow and not the aim makes.
AMOUNTS: MappingProxyType[Skill, MistakeAmounts] = MappingProxyType(
    {
        Skill.NOVICE: MistakeAmounts(0.05, 0.8e-3, 0.25e-3, 6.0e-3, 0.15e-3, 4.0e-3),
        Skill.CLUB: MistakeAmounts(0.025, 0.35e-3, 0.15e-3, 2.5e-3, 0.10e-3, 1.5e-3),
        Skill.EXPERT: MistakeAmounts(0.010, 0.15e-3, 0.10e-3, 1.0e-3, 0.05e-3, 0.6e-3),
    }
)
# One-axis scatter [rad] below which an archer counts as that skilled; from memory of groups at 20 yd.
_EXPERT_BELOW, _CLUB_BELOW = 0.8e-3, 2.2e-3


def skill_of(scatter: float) -> Skill:
    """Level of an archer whose one-axis scatter is ``scatter`` [rad]."""
    if scatter < _EXPERT_BELOW:
        return Skill.EXPERT
    return Skill.CLUB if scatter < _CLUB_BELOW else Skill.NOVICE


def amount_of(mistake: Mistake, amounts: MistakeAmounts) -> float:
    """The size of ``mistake`` [m, m/s or rad]."""
    return {
        Mistake.KICK: amounts.kick,
        Mistake.HOLD: amounts.hold,
        Mistake.NOCK_HEIGHT: amounts.nock_height,
        Mistake.CREEP: amounts.creep,
        Mistake.REST: amounts.rest,
        Mistake.TORQUE: amounts.torque,
    }[mistake]


def disturbance(mistake: Mistake, amounts: MistakeAmounts, bow: Bow) -> FloatArray:
    """(2, 8) what ``mistake`` adds to the standing disturbances, in the axes of the bow: zero for creep.

    Torque turns the riser, and with it string plane and rest, about the grip pivot, while the anchor keeps the nock
    where it is: seen from the bow the nock is off the string plane by nock-to-pivot x angle. The rest does not move in
    that frame. The other half of torque is :func:`sight_shift`.
    """
    added = np.zeros((2, len(Channel)))
    if mistake is Mistake.KICK:
        added[:, Channel.KICK] = amounts.kick
    elif mistake is Mistake.HOLD:
        added[0, Channel.HOLD] = amounts.hold
    elif mistake is Mistake.NOCK_HEIGHT:
        added[1, Channel.NOCK] = amounts.nock_height
    elif mistake is Mistake.REST:
        added[:, Channel.REST] = amounts.rest
    elif mistake is Mistake.TORQUE:
        added[0, Channel.HOLD] = bow.nock_to_pivot * amounts.torque
    return added


def sight_shift(torque: float, bow: Bow, distance: float, sight_ahead: float = SIGHT_AHEAD) -> float:
    """Where the eye aims [m, left positive] at ``distance`` [m], in the axes of a bow turned left by ``torque`` [rad].

    The peep stays at the anchor, which the turned bow sees at +D torque (D nock to pivot), the pin stands on the riser
    ``sight_ahead`` [m] in front of the pivot at 0: the line through both, carried on to the target. The peep is taken
    to be as far back as the nock. Geometry of a straight line, exact to first order in the angle.
    """
    back = bow.nock_to_pivot
    return back * torque * (1.0 - (distance + back) / (back + sight_ahead))
