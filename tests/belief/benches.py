"""An invented bow, arrow and archer for the tests of belief and advice, and worlds drawn from the prior itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import GAP_DISTANCE, Members, Output, ResponsePrior, Theta, What, draw_members, run_physics
from spinewright.belief.response import (
    BENT,
    LATENTS,
    TOUCH_SD,
    TOUCH_SD_CLEAN,
    Latent,
    length_slopes,
    spine_coordinates,
)
from spinewright.equipment import (
    Archer,
    ArrowBuild,
    Bow,
    Component,
    Fletching,
    Head,
    Rest,
    RestKind,
    Setup,
    Shaft,
    SpeedReading,
)
from spinewright.evidence import BowCheck, ContactCheck, History, Impact, Seen, TargetKind, Visit
from spinewright.units import Hand, Kind, parse

INCH = 0.0254
FloatArray = NDArray[np.float64]
BOW_CHECK = BowCheck(*(True,) * 10)
CONTACT_CHECK = ContactCheck(*(True,) * 4)


def _mass(text: str) -> float:
    return parse(text, Kind.MASS)


def _length(text: str) -> float:
    return parse(text, Kind.LENGTH)


def bench_setup() -> Setup:
    """An invented bow and arrow, left long on purpose."""
    shaft = Shaft(
        static_spine=0.365 * INCH,
        linear_density=parse("8.3 gr/in", Kind.LINEAR_DENSITY),
        outer_diameter=6.3e-3,
        inner_diameter=5.2e-3,
    )
    build = ArrowBuild(
        shaft=shaft,
        throat_length=_length("29 1/4 in"),
        carbon_length=_length("28 11/16 in"),
        nock=Component(_mass("9 gr"), 0.015, -0.004),
        head=Head(_mass("110 gr"), 0.022),
        fletching=Fletching(3, _mass("5.6 gr"), 0.045, 0.009, 0.026, 0.028),
        insert=Component(_mass("16 gr"), 0.02, 0.01),
    )
    bow = Bow(
        peak_weight=parse("58.5 lb", Kind.FORCE),
        let_off=0.82,
        draw_length=_length("28 1/4 in"),
        brace_height=_length("6 5/8 in"),
        axle_to_axle=_length("33 1/2 in"),
        rest=Rest(
            RestKind.DROP_AWAY,
            ahead=0.02,
            drops_after=0.11,
            per_click_sideways=0.002 * INCH,
            per_click_height=0.002 * INCH,
        ),
        weight_per_turn=parse("2.2 lb", Kind.FORCE),
        turns_allowed=4.0,
        turns_out_now=2.0,
        speeds=(SpeedReading(_mass("391 gr"), parse("271 fps", Kind.SPEED)),),
    )
    return Setup(build, bow)


def bench_archer(scatter_inches: float = 0.7, hand: Hand = Hand.RIGHT) -> Archer:
    """An archer with a one-axis sd of so many inches at 20 yd."""
    return Archer(hand, scatter=scatter_inches * INCH / GAP_DISTANCE)


def fresh_history(start: Setup, spare: float | None = 1.25 * INCH) -> History:
    """Nothing shot yet, both checks passed."""
    expected = None if spare is None else start.build.carbon_length - spare
    return History(start, start, (), BOW_CHECK, CONTACT_CHECK, (start,), expected)


def moved_rest(setup: Setup, inches: float) -> Setup:
    """The rest moved to the left by so many inches."""
    return replace(setup, rest_y=setup.rest_y + inches * INCH)


def cut(setup: Setup, inches: float) -> Setup:
    """So many inches cut off the back."""
    build = setup.build
    shorter = replace(
        build, throat_length=build.throat_length - inches * INCH, carbon_length=build.carbon_length - inches * INCH
    )
    return replace(setup, build=shorter)


def bolts(setup: Setup, turns: float) -> Setup:
    """Both limb bolts turned in by so many turns, not weighed again."""
    return replace(setup, bolt_turns=setup.bolt_turns + turns, bolts_since_weighed=setup.bolts_since_weighed + turns)


@dataclass
class World:
    """One truth drawn from the prior: a bow, its slopes and latents; it answers with holes in the target."""

    member: Members
    theta: FloatArray
    latents: FloatArray
    prior: ResponsePrior
    start: Setup
    rng: np.random.Generator
    own: FloatArray  # (20, 2) how far each numbered shaft always lies from its fellows, over their sd
    near: Setup | None = None

    @classmethod
    def draw(
        cls, start: Setup, archer: Archer, rng: np.random.Generator, slopes: float = 1.0, near: Setup | None = None
    ) -> World:
        """A world for ``start``; seen from ``near`` its answers bend (without it they are straight lines).

        ``slopes`` other than 1 multiplies what practitioners usually report of the answers to length, to step outside
        of what the prior thinks likely.
        """
        prior = ResponsePrior.of(archer, BOW_CHECK, CONTACT_CHECK, spare_length=1.25 * INCH)
        theta = prior.draw(1, rng)[0]
        if slopes != 1.0:
            theta[Theta.LENGTH_Y] = slopes * 2.0 * np.exp(0.7 * rng.standard_normal())
            theta[Theta.HEIGHT_SHARE] = 0.6 * np.exp(0.7 * rng.standard_normal())
        member = draw_members(1, start, BOW_CHECK, rng)
        own = rng.standard_normal((20, 2))
        return cls(member, theta, rng.standard_normal(LATENTS), prior, start, rng, own, near)

    def gaps(self, setups: Sequence[Setup]) -> FloatArray:
        """(n, 2) true gaps at 20 yd [m]."""
        outputs = [Output(i, What.GAP, GAP_DISTANCE) for i in range(len(setups))]
        physics = run_physics(self.member, setups, outputs).values[0]
        return np.array([p + self._learnt(s) + self._bent(s) for p, s in zip(physics, setups, strict=True)])

    def _learnt(self, setup: Setup) -> FloatArray:
        change = spine_coordinates(setup, self.start)
        factors = np.exp(self.theta[[Theta.POINT, Theta.WEIGHT, Theta.SPINE]])
        weak = self.prior.too_weak[0] + self.prior.too_weak[1] * self.latents[Latent.TOO_WEAK]
        weak += change[0] + float(factors @ change[1:])
        off = np.array(self.prior.rest_sd) * self.latents[[Latent.REST_Y, Latent.REST_Z]]
        moved = np.array([setup.rest_y - self.start.rest_y, setup.rest_z - self.start.rest_z])
        slopes, rests = length_slopes(self.theta[None])[0], self.theta[[Theta.REST_Y, Theta.REST_Z]]
        touching = bool(self.prior.touching(self.theta[None])[0])
        touch = (TOUCH_SD if touching else TOUCH_SD_CLEAN) * self.latents[[Latent.TOUCH_Y, Latent.TOUCH_Z]]
        return np.asarray(-slopes * weak + rests * (off + moved) + touch)

    def _bent(self, setup: Setup) -> FloatArray:
        """(2,) how far the gap of ``setup`` lies off the straight line through ``near`` [m]."""
        if self.near is None:
            return np.zeros(2)
        change = spine_coordinates(setup, self.start) - spine_coordinates(self.near, self.start)
        weaker = change[0] + float(np.exp(self.theta[[Theta.POINT, Theta.WEIGHT, Theta.SPINE]]) @ change[1:])
        moved = np.array([setup.rest_y - self.near.rest_y, setup.rest_z - self.near.rest_z])
        arrow = np.abs(length_slopes(self.theta[None])[0] * weaker)
        rest = np.abs(self.theta[[Theta.REST_Y, Theta.REST_Z]] * moved)
        least = BENT[2] if np.any(change) else 0.0
        return np.asarray(np.hypot(BENT[0] * arrow + BENT[1] * rest, least) * self.rng.standard_normal(2))

    def visit(self, gap: FloatArray, shots: int = 3) -> Visit:
        """``shots`` bare and as many fletched, with the archer's scatter, shafts and the walk's own difference."""
        sd = GAP_DISTANCE * float(np.exp(self.theta[Theta.SCATTER]))
        own = float(np.exp(self.theta[Theta.SHAFTS])) * self.own
        common = 0.15 * INCH * self.rng.standard_normal(2)
        impacts = []
        for k in range(shots):
            fletched, bare = 1 + k, 11 + k % 2
            y, z = own[fletched] + sd * self.rng.standard_normal(2)
            impacts.append(Impact(fletched, False, float(y), float(z)))
            y, z = gap + common + own[bare] + 1.3 * sd * self.rng.standard_normal(2)
            impacts.append(Impact(bare, True, float(np.clip(y, -1, 1)), float(np.clip(z, -1, 1))))
        return Visit(GAP_DISTANCE, TargetKind.BAG, tuple(impacts))


def history_of(start: Setup, setups: Sequence[Setup], visits: Sequence[Visit]) -> History:
    """A history with one walk to the target for each setup, in order."""
    seen = tuple(Seen(s, v, f"e{i}") for i, (s, v) in enumerate(zip(setups, visits, strict=True)))
    return replace(fresh_history(start), now=setups[-1], setups=tuple(dict.fromkeys([start, *setups])), seen=seen)
