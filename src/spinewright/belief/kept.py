"""What a change of the bow leaves of what was learnt before it: how much of each unknown, answer and place is kept.

Judgements from memory of what such work touches, said once here for what is foretold before a change and for what is
believed after it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.prior import UNKNOWNS, Members, members_from
from spinewright.belief.response import Latent, Theta
from spinewright.equipment import Bow, Setup
from spinewright.evidence import BowCheck, Changed

__all__ = [
    "KEPT_OF_ANSWERS",
    "KEPT_OF_PLACES",
    "UNCHECKED",
    "blended",
    "kept_of_answers",
    "kept_of_places",
    "members_after",
]

FloatArray = NDArray[np.float64]

_ARROWS = ("ln stiffness", "stiff side", "ln damping", "ln drag", "ln cross-flow", "ln vanes", "ln nose")
_HELD = ("hold y", "hold z", "kick y", "kick z")
_NOCK_TRAVEL = ("ramp y", "bump y", "ramp z", "bump z")
_RESTING = ("ln rest y", "ln rest z", "drop", "rest y", "rest z")
_STRINGS = ("ln string y", "ln string z", "ln tension", "ln nock mass", "ln virtual mass")

#: How much of what was learnt of each unknown of the bow is kept: 1 = all (and what is not named), 0 = nothing, between
#: them it is the correlation of before and after. Judgements from memory of what such work touches.
KEPT_OF_BOW: Mapping[Changed, Mapping[str, float]] = MappingProxyType(
    {
        Changed.STRING: {
            **dict.fromkeys(_STRINGS, 0.6),
            **{"ln virtual mass": 0.95, "nock z": 0.0, "ramp z": 0.5, "bump z": 0.5, "ramp y": 0.7},
            **{"hold y": 0.8, "hold z": 0.8},
        },
        Changed.WEIGHT: {"ramp z": 0.95, "bump z": 0.95, "ramp y": 0.98, "bump y": 0.98},
        Changed.CAM: {
            **dict.fromkeys(_STRINGS, 0.3),
            **dict.fromkeys(_NOCK_TRAVEL, 0.0),
            **{"ln force": 0.0, "ln virtual mass": 0.0, "nock z": 0.5, "rest y": 0.3, "rest z": 0.3},
        },
        Changed.REST: dict.fromkeys(_RESTING, 0.0),
        Changed.ARCHER: dict.fromkeys(_HELD, 0.0),
        Changed.BOW: {
            **{one.name: 0.0 for one in UNKNOWNS if one.name not in _ARROWS},
            **dict.fromkeys(_HELD, 0.5),
        },
    }
)
_SLOPES = (Theta.LENGTH_Y, Theta.HEIGHT_SHARE)
_REST_SLOPES = (Theta.REST_Y, Theta.REST_Z)
#: The same of the learnt answers: the share of draws that keep what they hold, the others are drawn anew.
KEPT_OF_ANSWERS: Mapping[Changed, Mapping[Theta, float]] = MappingProxyType(
    {
        Changed.STRING: {**dict.fromkeys(_SLOPES, 0.9), **dict.fromkeys(_REST_SLOPES, 0.8), Theta.TOUCH: 0.8},
        Changed.WEIGHT: {},
        Changed.CAM: {**dict.fromkeys(_SLOPES, 0.5), **dict.fromkeys(_REST_SLOPES, 0.3), Theta.TOUCH: 0.5},
        Changed.REST: {**dict.fromkeys(_SLOPES, 0.8), **dict.fromkeys(_REST_SLOPES, 0.0), Theta.TOUCH: 0.0},
        Changed.ARCHER: {**dict.fromkeys(_SLOPES, 0.8), **dict.fromkeys(_REST_SLOPES, 0.8)},
        Changed.BOW: {**dict.fromkeys(_SLOPES, 0.3), **dict.fromkeys(_REST_SLOPES, 0.0), Theta.TOUCH: 0.0},
    }
)
_TOUCHES = (Latent.TOUCH_Y, Latent.TOUCH_Z)
_PLACES = (Latent.REST_Y, Latent.REST_Z)
#: And of where the arrow and the rest stand against their best: the correlation of before and after.
KEPT_OF_PLACES: Mapping[Changed, Mapping[Latent, float]] = MappingProxyType(
    {
        Changed.STRING: {Latent.TOO_WEAK: 0.95, Latent.REST_Y: 0.8, Latent.REST_Z: 0.3},
        Changed.WEIGHT: {Latent.REST_Z: 0.95},
        Changed.CAM: {Latent.TOO_WEAK: 0.5, **dict.fromkeys(_PLACES, 0.0), **dict.fromkeys(_TOUCHES, 0.5)},
        Changed.REST: {Latent.TOO_WEAK: 0.9, **dict.fromkeys((*_PLACES, *_TOUCHES), 0.0)},
        Changed.ARCHER: {Latent.TOO_WEAK: 0.8, **dict.fromkeys(_PLACES, 0.8)},
        Changed.BOW: dict.fromkeys((Latent.TOO_WEAK, *_PLACES, *_TOUCHES), 0.0),
    }
)
#: What a check vouched for and no longer does.
UNCHECKED: Mapping[Changed, tuple[str, ...]] = MappingProxyType(
    {
        Changed.STRING: ("cam_timing", "nock_height"),
        Changed.WEIGHT: ("cam_timing",),
        Changed.CAM: ("cam_timing", "cam_lean", "nock_height", "centre_shot"),
        Changed.REST: ("centre_shot", "rest_drop"),
        Changed.ARCHER: (),
        Changed.BOW: tuple(item.name for item in fields(BowCheck)),
    }
)


def blended(xi: FloatArray, changed: Iterable[Changed], rng: np.random.Generator) -> FloatArray:
    """(S, P) coordinates on the other side of a change of all that is named, as much alike as is kept.

    The prior stays what it was, so it holds for going forward and back in time. One draw a column, so that left and
    right twins draw alike.
    """
    tables = [KEPT_OF_BOW[one] for one in changed]
    kept = np.array([min((table.get(one.name, 1.0) for table in tables), default=1.0) for one in UNKNOWNS])
    return np.asarray(kept * xi + np.sqrt(1.0 - kept**2) * rng.standard_normal(xi.shape))


def kept_of_answers(changed: Iterable[Changed], answer: Theta) -> float:
    """The share of draws that keep ``answer`` through a change of all that is named."""
    return min((KEPT_OF_ANSWERS[one].get(answer, 1.0) for one in changed), default=1.0)


def kept_of_places(changed: Iterable[Changed], place: Latent) -> float:
    """The correlation of ``place`` before and after a change of all that is named."""
    return min((KEPT_OF_PLACES[one].get(place, 1.0) for one in changed), default=1.0)


def members_after(
    xi: FloatArray, start: Setup, check: BowCheck | None, changed: Iterable[Changed], bow: Bow
) -> Members:
    """The plausible bows of ``xi`` that stand as ``bow`` after all that was ``changed`` since ``start``.

    Speeds read before a new cam or of another bow say nothing of it.
    """
    if not {Changed.CAM, Changed.BOW}.isdisjoint(changed):
        start = replace(start, bow=replace(bow, speeds=()), bolts_since_weighed=0.0)
    members = members_from(xi, start, check)
    # A third of the string pulled at its middle moves with the nock (computed).
    heavier = 0.33 * (bow.string_mass - start.bow.string_mass) + bow.on_string - start.bow.on_string
    if not heavier:
        return members
    moving = np.maximum(members.stroke.virtual_mass + heavier, 1e-4)
    return replace(members, stroke=replace(members.stroke, virtual_mass=moving))
