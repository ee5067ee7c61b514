"""At which length an arrow would fit this bow: what was learnt of it, carried over to another shaft or point."""

from __future__ import annotations

import numpy as np

from spinewright.belief import BENT, Belief, length_slopes, too_weak
from spinewright.equipment import Setup
from spinewright.outlook.values import FloatArray
from spinewright.units import INCH

__all__ = ["NEAR_ENOUGH", "fitting_lengths", "within_reach"]

NEAR_ENOUGH = 0.25 * INCH  # [m] half the usual cut: nobody asks for a better fit in length (common practice)

_LEAST_SLOPE = 1.0  # [m/m] a bow that answers less to length is aimed at as if it answered so much


def fitting_lengths(belief: Belief, setup: Setup, now: Setup, aim: float = 0.0) -> FloatArray:
    """(S,) [m, shaft end to shaft end] lengths at which the arrow of ``setup`` would read as it should.

    Each draw of the belief holds how much too weak the arrow is, in metres of length (:func:`too_weak`); taken off its
    length, that is where it fits. Answers are straight lines only nearby, so what sets the arrow apart from ``now``
    carries a doubt of its own (``BENT``), the same chance for every arrow of one draw.

    aim [m at 20 yd, left positive]  sideways gap wanted; positive is slightly stiff, so the arrow fits shorter
    """
    weak, here = too_weak(belief, setup), too_weak(belief, now)
    chance = np.random.default_rng([belief.ground.settings.seed, 7]).standard_normal(len(weak))
    slope = max(float(np.median(length_slopes(belief.particles.theta)[:, 0])), _LEAST_SLOPE)
    bent = BENT[0] * (weak - here) * chance
    return np.asarray(setup.build.carbon_length - weak - bent - aim / slope)


def within_reach(lengths: FloatArray, shortest: float, longest: float) -> float:
    """Share [1] of fitting ``lengths`` (S,) [m] that a shaft between ``shortest`` and ``longest`` [m] can be cut to.

    A length within :data:`NEAR_ENOUGH` of these bounds counts.
    """
    return float(np.mean((lengths >= shortest - NEAR_ENOUGH) & (lengths <= longest + NEAR_ENOUGH)))
