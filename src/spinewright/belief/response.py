"""How the gap answers a change beyond what the physics says: slopes that are learnt, never trusted.

The physics alone gives far gentler answers to length and rest than practitioners report, and no sure sign. So the gap
(bare minus fletched at 20 yd) of setup c is, in each plane,

    gap(c) = physics(c) + e(c) + touch + turned(c)
    e_y(c) = -b_y (x(c) + x0) + r_y (rest_y(c) + o_y)
    e_z(c) = -b_z (x(c) + x0) + r_z (rest_z(c) - nock_z(c) + o_z)
    x(c)   = dL + k_p dP + k_w dW + k_s d ln(spine)           'how much too weak', in metres of arrow length

with x0 how much too weak the start is, o_y and o_z how far the rest stands off its best place, touch what contact does,
and turned(c) what turning the nock on the shaft does. b, r, k, the archer's scatter and the ratios of tear and lean
to gap are particles (columns of theta); given them the rest is linear and Gaussian.

Signs are those of the trade for a right-hander (common practice): longer, heavier in front or more draw weight reads
weaker, and weak puts the bare hole right and low; the rest toward the bare hole closes the gap. None is certain: each
slope has a share of prior near zero and of the other sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment import Archer, ArrowBuild, Setup
from spinewright.evidence import BowCheck, ContactCheck
from spinewright.units import INCH

__all__ = [
    "GAP_DISTANCE",
    "LATENTS",
    "Latent",
    "ResponsePrior",
    "Theta",
    "length_slopes",
    "misled",
    "spine_coordinates",
]

FloatArray = NDArray[np.float64]

GAP_DISTANCE = 20 * 0.9144  # m; the distance at which the slopes are stated

# From memory, as charts of the trade trade them off: 25 gr in front, 5 lb of draw weight and an eighth of static spine
# each read like so much length. How far that holds for a bow is a particle.
POINT_PER_LENGTH = 0.6 * INCH / (25 * 64.79891e-6)  # m of length per kg in front
WEIGHT_PER_LENGTH = 1.0 * INCH / (5 * 4.4482216)  # m of length per N of peak weight
SPINE_PER_LENGTH = 1.0 * INCH / 0.125  # m of length per unit of ln(static spine)

STEEP = 3.0  # how much steeper than usual the steep share of a slope prior is


class Theta(IntEnum):
    """Columns of a particle."""

    LENGTH_Y = 0  # b_y [m/m]
    HEIGHT_SHARE = 1  # b_z / b_y
    REST_Y = 2  # r_y [m/m]
    REST_Z = 3  # r_z [m/m]
    POINT = 4  # ln(k_p / nominal)
    WEIGHT = 5  # ln(k_w / nominal)
    SPINE = 6  # ln(k_s / nominal)
    SCATTER = 7  # ln(one-axis sd of the archer [rad])
    SHAFTS = 8  # ln(sd of shaft-to-shaft offsets at 20 yd [m])
    TEAR = 9  # standard normal: how tear follows gap
    LEAN = 10  # standard normal: how lean follows gap
    TOUCH = 11  # standard normal: below the threshold something touches
    MISLED = 12  # standard normal: below the threshold leans tell nothing here
    TORN = 13  # standard normal: below the threshold tears tell nothing of the gap here


class Latent(IntEnum):
    """Linear unknowns beside the physics, standard normal after scaling."""

    TOO_WEAK = 0
    REST_Y = 1
    REST_Z = 2
    TOUCH_Y = 3
    TOUCH_Z = 4
    TURN_1C_Y = 5
    TURN_1S_Y = 6
    TURN_2C_Y = 7
    TURN_2S_Y = 8
    TURN_1C_Z = 9
    TURN_1S_Z = 10
    TURN_2C_Z = 11
    TURN_2S_Z = 12
    TORN_Y = 13
    TORN_Z = 14
    LEANT_Y = 15
    LEANT_Z = 16


LATENTS = len(Latent)


@dataclass(frozen=True, slots=True)
class _Slope:
    """An open prior: shares of usual, steep, near zero and of the other sign; ``sign`` is the trade's."""

    middle: float  # m/m, or a share
    spread: float  # sd of ln
    sign: float
    other: float = 0.12
    steep: float = 0.30
    near_zero: float = 0.15

    @property
    def _shares(self) -> tuple[float, float, float, float]:
        return (1 - self.steep - self.near_zero - self.other, self.steep, self.near_zero, self.other)

    def draw(self, n: int, rng: np.random.Generator) -> FloatArray:
        kind = rng.choice(4, size=n, p=self._shares)
        size = np.exp(np.log(self.middle) + self.spread * rng.standard_normal(n))
        size = np.where(kind == 1, STEEP * size, size)
        flat = 0.1 * self.middle * rng.standard_normal(n)
        return np.asarray(np.where(kind == 2, flat, self.sign * size * np.where(kind == 3, -1.0, 1.0)))

    def log_density(self, slope: FloatArray) -> FloatArray:
        usual, steep, near_zero, other = self._shares
        along = self.sign * slope
        density = np.asarray(
            usual * _lognormal(along, self.middle, self.spread)
            + steep * _lognormal(along, STEEP * self.middle, self.spread)
            + other * _lognormal(-along, self.middle, self.spread)
            + near_zero * np.exp(-0.5 * (slope / (0.1 * self.middle)) ** 2) / (0.1 * self.middle * np.sqrt(2 * np.pi))
        )
        return np.asarray(np.log(np.maximum(density, 1e-300)))


def _lognormal(x: FloatArray, middle: float, spread: float) -> FloatArray:
    positive = x > 0
    safe = np.where(positive, x, 1.0)
    density = np.exp(-0.5 * (np.log(safe / middle) / spread) ** 2) / (safe * spread * np.sqrt(2 * np.pi))
    return np.where(positive, density, 0.0)


@dataclass(frozen=True, slots=True)
class ResponsePrior:
    """The prior of particles and latents for one archer and one state of the checks."""

    slopes: tuple[_Slope, _Slope, _Slope, _Slope]
    scatter: tuple[float, float]  # ln rad, sd
    shafts: tuple[float, float]  # ln m at 20 yd, sd
    touch_share: float
    too_weak: tuple[float, float]  # m, mean and sd
    rest_sd: tuple[float, float]  # m, sideways and height

    @classmethod
    def of(
        cls,
        archer: Archer,
        bow_check: BowCheck | None,
        contact_check: ContactCheck | None,
        *,
        standing_straight: bool = False,
        spare_length: float | None = None,
    ) -> ResponsePrior:
        """``standing_straight``: the bare shafts stood off the fletched ones but straight, in a target that shows it.

        Then the trade moves the rest the other way (common practice), so that sign gets the larger share.
        ``spare_length`` [m]: how much longer the start is than a chart or experience expects it to end; a first test
        length is usually left about 1.5 in long (common practice).
        """
        sideways = _Slope(3.0 * INCH / 1e-3, 0.6, -1.0, other=0.55 if standing_straight else 0.12)
        if standing_straight:
            sideways = _Slope(3.0 * INCH / 1e-3, 0.6, -1.0, other=0.55, steep=0.12, near_zero=0.10)
        return cls(
            slopes=(
                _Slope(2.6, 0.85, 1.0),
                _Slope(0.5, 0.9, 1.0, other=0.2, steep=0.1),
                sideways,
                _Slope(2.5 * INCH / 1e-3, 0.6, 1.0),
            ),
            scatter=(float(np.log(archer.scatter)), archer.scatter_doubt),
            shafts=(float(np.log(0.25 * INCH)), 0.5),
            touch_share=_touch_share(contact_check),
            too_weak=(0.9 * INCH, 1.25 * INCH) if spare_length is None else (spare_length, 0.9 * INCH),
            rest_sd=(
                0.4e-3 * _checked(bow_check, "centre_shot"),
                0.4e-3 * _checked(bow_check, "nock_height"),
            ),
        )

    def draw(self, n: int, rng: np.random.Generator) -> FloatArray:
        """``n`` particles (n, 14) from the prior."""
        theta = rng.standard_normal((n, len(Theta)))
        for j, slope in enumerate(self.slopes):
            theta[:, j] = slope.draw(n, rng)
        theta[:, Theta.POINT] *= _RATIO_SD[0]
        theta[:, Theta.WEIGHT] *= _RATIO_SD[1]
        theta[:, Theta.SPINE] *= _RATIO_SD[2]
        theta[:, Theta.SCATTER] = self.scatter[0] + self.scatter[1] * theta[:, Theta.SCATTER]
        theta[:, Theta.SHAFTS] = self.shafts[0] + self.shafts[1] * theta[:, Theta.SHAFTS]
        return theta

    def log_density(self, theta: FloatArray) -> FloatArray:
        """Log prior density (n,), up to a constant, of particles (n, 14)."""
        total = np.zeros(len(theta))
        for j, slope in enumerate(self.slopes):
            total += slope.log_density(theta[:, j])
        for column, middle, sd in (
            (Theta.POINT, 0.0, _RATIO_SD[0]),
            (Theta.WEIGHT, 0.0, _RATIO_SD[1]),
            (Theta.SPINE, 0.0, _RATIO_SD[2]),
            (Theta.SCATTER, *self.scatter),
            (Theta.SHAFTS, *self.shafts),
            (Theta.TEAR, 0.0, 1.0),
            (Theta.LEAN, 0.0, 1.0),
            (Theta.TOUCH, 0.0, 1.0),
            (Theta.MISLED, 0.0, 1.0),
            (Theta.TORN, 0.0, 1.0),
        ):
            total -= 0.5 * ((theta[:, column] - middle) / sd) ** 2
        return total

    def touching(self, theta: FloatArray) -> NDArray[np.bool_]:
        """Which particles (n,) hold that something touches the arrow."""
        from scipy.special import ndtri

        return np.asarray(theta[:, Theta.TOUCH] < ndtri(self.touch_share))


_RATIO_SD = (0.4, 0.5, 0.4)
TOUCH_SD = 1.5 * INCH  # what contact does to the gap at 20 yd; looks like spine (common practice, size from memory)
TOUCH_SD_CLEAN = 0.05 * INCH
TURN_SD = (0.20 * INCH, 0.15 * INCH)  # first and second harmonic of the gap over a turn of the nock, from memory


def _touch_share(check: ContactCheck | None) -> float:
    found = [] if check is None else [check.vanes, check.launcher, check.cables, check.shelf]
    if False in found:
        return 0.8
    if not found or None in found:
        return 0.25
    return 0.03


def _checked(check: BowCheck | None, item: str) -> float:
    found = None if check is None else getattr(check, item)
    if found is None:
        return 1.5
    return 1.0 if found else 2.5


#: Share of hunts in which leans tell nothing: the target turns every shaft, or left and right are written the wrong way
#: round (from memory of how often a mistake of that kind is made).
MISLED_SHARE = 0.2
#: What all leans of a hunt are then off by, one sd (from memory): a target turns every shaft that hits it alike, so
#: leans that agree with one another say nothing for themselves.
LEANT_SD = float(np.deg2rad(6.0))
#: Share of hunts in which tears tell nothing of the gap: what bends or touches the shaft on its way through the paper
#: need not steer it afterwards (from memory).
TORN_SHARE = 0.25
#: What all tears of a hunt are then off by, and otherwise, one sd (from memory; see also what one sheet shares). Sound
#: tears are weak witnesses too: how much tear goes with how much gap differs between bows more than the model says.
TORN_SD, TORN_SD_SOUND = 1.5 * INCH, 0.4 * INCH


#: Answers are straight lines only nearby. What one may miss, one sd: shares of what the learnt answers to the arrow
#: and to the rest put between two setups, and [m at 20 yd] for any change of arrow or bow at all (from memory of how
#: answers flatten toward the ends of a rest's travel, and of how seldom two builds differ in length alone).
BENT = (0.25, 0.15, 0.3 * INCH)


def misled(theta: FloatArray) -> NDArray[np.bool_]:
    """Which particles (n,) hold that the nocks' lean tells nothing here."""
    from scipy.special import ndtri

    return np.asarray(theta[:, Theta.MISLED] < ndtri(MISLED_SHARE))


def length_slopes(theta: FloatArray) -> FloatArray:
    """(n, 2) answers b_y, b_z of the gap to length [m/m] of particles theta (n, 14).

    Height goes with the sideways answer: a spine that does nothing sideways does nothing in height (common practice:
    height alone is not spine), and its sign is the less sure one.
    """
    sideways = theta[:, Theta.LENGTH_Y]
    return np.stack([sideways, sideways * theta[:, Theta.HEIGHT_SHARE]], axis=1)


def spine_coordinates(setup: Setup, start: Setup) -> FloatArray:
    """(4,) change of length [m], front mass, peak weight and ln spine against the start, each in metres of length."""
    build, first = setup.build, start.build
    front = _front_mass(build) - _front_mass(first)
    spine = np.log(build.shaft.static_spine / first.shaft.static_spine)
    return np.array(
        [
            build.carbon_length - first.carbon_length,
            POINT_PER_LENGTH * front,
            WEIGHT_PER_LENGTH * (setup.present_peak_weight - start.present_peak_weight),
            SPINE_PER_LENGTH * float(spine),
        ]
    )


def _front_mass(build: ArrowBuild) -> float:
    """Everything that sits at the point's end [kg]: a heavier insert or collar weakens the arrow as a point does."""
    return build.head.mass + sum(part.mass for part in (build.insert, build.collar) if part is not None)
