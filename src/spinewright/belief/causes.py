"""Which cause the gap most likely comes from: what each adds to it in every draw of the belief."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.believe import Belief
from spinewright.belief.physics import contributions
from spinewright.belief.response import (
    GAP_DISTANCE,
    TOUCH_SD,
    TOUCH_SD_CLEAN,
    Latent,
    Theta,
    length_slopes,
    spine_coordinates,
)
from spinewright.equipment import Setup
from spinewright.mechanics import Channel

__all__ = ["Cause", "CauseShare", "too_weak", "weigh_causes"]

FloatArray = NDArray[np.float64]


class Cause(StrEnum):
    """What a gap between bare and fletched arrows can come from."""

    SPINE = "arrow too weak or too stiff"
    REST = "rest off its best place"
    TRAVEL = "nock travel: cam lean, cable guard or timing"
    NOCK_HEIGHT = "nock height"
    HAND = "hand, face or release"
    TOUCH = "something touches the arrow"
    LIGHTER = "the bare shaft is lighter and has less drag"
    CHANCE = "the archer's own scatter"


_GROUPS: Mapping[Cause, tuple[Channel, ...]] = {
    Cause.REST: (Channel.REST,),
    Cause.TRAVEL: (Channel.RAMP, Channel.BUMP),
    Cause.NOCK_HEIGHT: (Channel.NOCK,),
    Cause.HAND: (Channel.HOLD, Channel.KICK),
}


@dataclass(frozen=True, slots=True)
class CauseShare:
    """One cause: the probability that it is the largest part of the gap, and what it adds (80 %, metres at 20 yd)."""

    cause: Cause
    probability: float
    middle: tuple[float, float]
    low: tuple[float, float]
    high: tuple[float, float]


def weigh_causes(belief: Belief, setup: Setup, measured: tuple[float, float]) -> tuple[CauseShare, ...]:
    """Every cause of the gap ``measured`` [m at 20 yd] with ``setup``, most likely first.

    In each draw every cause adds a part; the largest along the direction of the measured gap is the main one.
    """
    parts = _parts(belief, setup)
    true_gap = belief.gap(setup)
    gap = np.array(measured)
    parts[Cause.CHANCE] = gap - true_gap
    length = float(np.hypot(*gap))
    along = gap / length if length > 1e-9 else np.array([1.0, 0.0])
    projected = np.stack([parts[c] @ along for c in parts], axis=1)
    main = np.argmax(projected, axis=1)
    shares = []
    for k, cause in enumerate(parts):
        low, middle, high = np.quantile(parts[cause], (0.1, 0.5, 0.9), axis=0)
        shares.append(
            CauseShare(
                cause,
                float(np.mean(main == k)),
                (float(middle[0]), float(middle[1])),
                (float(low[0]), float(low[1])),
                (float(high[0]), float(high[1])),
            )
        )
    return tuple(sorted(shares, key=lambda s: -s.probability))


def _parts(belief: Belief, setup: Setup) -> dict[Cause, FloatArray]:
    """(S, 2) what each cause adds to the gap at 20 yd in every draw."""
    theta, latents = belief.particles.theta, belief.particles.latents
    own = latents[:, belief.z().shape[1] :]
    prior, start = belief.prior, belief.ground.start
    ground = belief.ground
    physical = belief.carried(
        contributions(ground.members, ground.strokes, setup, GAP_DISTANCE, tuple(_GROUPS.values()))
    )
    parts = {cause: physical[:, g].copy() for g, cause in enumerate(_GROUPS)}
    parts[Cause.LIGHTER] = physical[:, -1]

    parts[Cause.SPINE] = -length_slopes(theta) * too_weak(belief, setup)[:, None]
    off = own[:, [Latent.REST_Y, Latent.REST_Z]] * np.array(prior.rest_sd)
    moved = np.array([setup.rest_y - start.rest_y, setup.rest_z - start.rest_z - setup.nock_z + start.nock_z])
    parts[Cause.REST] = parts[Cause.REST] + theta[:, [Theta.REST_Y, Theta.REST_Z]] * (off + moved)
    touch = np.where(prior.touching(theta), TOUCH_SD, TOUCH_SD_CLEAN)[:, None]
    parts[Cause.TOUCH] = touch * own[:, [Latent.TOUCH_Y, Latent.TOUCH_Z]]
    return parts


def too_weak(belief: Belief, setup: Setup) -> FloatArray:
    """(S,) how much too weak a setup is, in metres of arrow length; negative = too stiff."""
    theta = belief.particles.theta
    own = belief.particles.latents[:, belief.z().shape[1] + Latent.TOO_WEAK]
    start = belief.prior.too_weak[0] + belief.prior.too_weak[1] * own
    change = spine_coordinates(setup, belief.ground.start)
    factors = np.exp(theta[:, [Theta.POINT, Theta.WEIGHT, Theta.SPINE]])
    return np.asarray(start + change[0] + factors @ change[1:])
