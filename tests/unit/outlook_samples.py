"""An invented bench for the tests of outlook and report: setup, archer, plausible bows, history."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spinewright.belief import Members, draw_members
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
from spinewright.mechanics import Channel
from spinewright.units import FOOT, GRAIN, INCH, POUND_FORCE, YARD, Hand

__all__ = ["ARCHER", "DISTANCE", "bench", "history", "members", "still"]

DISTANCE = 20 * YARD
ARCHER = Archer(Hand.RIGHT, scatter=1.2e-3)


def bench() -> Setup:
    """An invented bow and arrow, safe by its computed limits."""
    shaft = Shaft(0.347 * INCH, 8.7 * GRAIN / INCH, 6.6e-3, 5.2e-3, uncut_length=31.5 * INCH)
    build = ArrowBuild(
        shaft=shaft,
        throat_length=29.05 * INCH,
        carbon_length=28.4 * INCH,
        nock=Component(9.2 * GRAIN, 0.012, -0.004),
        head=Head(118 * GRAIN, 0.024),
        fletching=Fletching(3, 6.1 * GRAIN, 0.056, 0.0113, 0.033),
        insert=Component.inside(19 * GRAIN, 0.021),
    )
    bow = Bow(
        peak_weight=57.3 * POUND_FORCE,
        let_off=0.8,
        draw_length=28.4 * INCH,
        brace_height=6.8 * INCH,
        axle_to_axle=33.1 * INCH,
        rest=Rest(RestKind.DROP_AWAY, ahead=0.011, drops_after=0.11),
        weight_per_turn=2.4 * POUND_FORCE,
        speeds=(SpeedReading(412 * GRAIN, 259 * FOOT),),
    )
    return Setup(build, bow)


def members(count: int = 30, setup: Setup | None = None) -> Members:
    """Plausible bows of the bench, drawn with a fixed seed."""
    return draw_members(count, setup or bench(), BowCheck(*(True,) * 10), np.random.default_rng(7))


def still(count: int = 30) -> Members:
    """The same bows with nothing standing off and no gravity in the stroke: every arrow leaves straight."""
    drawn = members(count)
    quiet = np.zeros_like(drawn.amplitudes)
    assert quiet.shape[2] == len(Channel)
    return replace(drawn, amplitudes=quiet)


def visit(gap: tuple[float, float]) -> Visit:
    """Four bare shots of two shafts and four fletched ones, invented holes with ``gap`` [m] between them."""
    away = (0.011, -0.014), (-0.016, 0.008), (0.009, 0.012), (-0.004, -0.006)
    bare = [Impact(1 + k % 2, True, gap[0] + y, gap[1] + z) for k, (y, z) in enumerate(away)]
    fletched = [Impact(3 + k, False, -z, y) for k, (y, z) in enumerate(away)]
    return Visit(DISTANCE, TargetKind.FRESH_FOAM, (*bare, *fletched))


def history(now: Setup, start: Setup | None = None, gap: tuple[float, float] = (-0.05, -0.03)) -> History:
    """One walk to the target with the start, all checks in order."""
    first = start or now
    seen = (Seen(first, visit(gap), "e1"),)
    return History(first, now, seen, BowCheck(*(True,) * 10), ContactCheck(*(True,) * 4), (first, now))
