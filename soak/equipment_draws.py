"""Random equipment over everything that could stand on a bench, corners included; equipment itself says what is legal.

All of it is invented. A draw that equipment refuses is drawn again; how often is counted, so that nobody takes the
legal share for the whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment import (
    ArrowBuild,
    Bow,
    Component,
    CurveShape,
    Fletching,
    ForceReading,
    Head,
    HeadKind,
    Rest,
    RestKind,
    Setup,
    Shaft,
)
from spinewright.errors import EquipmentError
from spinewright.flight import FlightParameters
from spinewright.mechanics import StrokeParameters
from spinewright.units import DEGREE, GRAIN, INCH, POUND_FORCE

__all__ = ["Drawn", "draw_equipment", "whole_bench"]

FloatArray = NDArray[np.float64]

LIGHTEST, HEAVIEST = 200.0 * GRAIN, 900.0 * GRAIN
_AT_AN_END = 0.12  # chance of each end of a range: a corner of ten ranges should come up, not one in a thousand
_MOST_REFUSED = 10_000
_SHAPES = tuple(CurveShape)
_RESTS = tuple(RestKind)


@dataclass(frozen=True, slots=True)
class Drawn:
    """One bench and everything about it that nobody can know.

    setup       legal equipment, with field points
    head        of the same mass as the setup's, perhaps with blades; flies fletched only
    stroke      parameters of one row
    amplitudes  (1, 2, 8) of every channel in both planes
    flight      parameters of one row
    refused     draws that equipment refused before this one
    """

    setup: Setup
    head: Head
    stroke: StrokeParameters
    amplitudes: FloatArray
    flight: FlightParameters
    refused: int


class _Ranges:
    """Numbers from a range, its ends among them."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng

    def even(self, low: float, high: float) -> float:
        """Even between ``low`` and ``high``, or one of them."""
        where = self.rng.random()
        if where < _AT_AN_END:
            return low
        if where > 1.0 - _AT_AN_END:
            return high
        return float(self.rng.uniform(low, high))

    def ratio(self, low: float, high: float) -> float:
        """The same, even in the logarithm."""
        return float(np.clip(np.exp(self.even(np.log(low), np.log(high))), low, high))

    def sometimes(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def one_of(self, count: int) -> int:
        return int(self.rng.integers(count))

    def around(self, middle: float, sd: float) -> float:
        """Lognormal out to three and a half sds; either end of them now and then."""
        return middle * float(np.exp(np.clip(sd * 1.3 * self.rng.standard_normal(), -3.5 * sd, 3.5 * sd)))


def _shaft(on: _Ranges) -> Shaft:
    outer = on.even(0.0035, 0.0125)
    return Shaft(
        static_spine=on.ratio(0.150 * INCH, 2.000 * INCH),
        linear_density=on.ratio(3.0 * GRAIN / INCH, 25.0 * GRAIN / INCH),
        outer_diameter=outer,
        inner_diameter=outer * on.even(0.0, 0.97),
        stiff_side_difference=on.even(0.0, 0.5) if on.sometimes(0.2) else on.even(0.0, 0.08),
        straightness=on.even(0.0, 0.4e-3),
    )


def _part(on: _Ranges, heaviest: float, longest: float) -> Component | None:
    if on.sometimes(0.4):
        return None
    return Component.inside(on.even(0.0, heaviest * GRAIN), on.even(0.0, longest))


def _build(on: _Ranges, shortest: float) -> ArrowBuild:
    """An arrow that reaches at least ``shortest`` [m], in part by no more than a hair."""
    low = max(18.0 * INCH, shortest + 1e-6)
    throat = on.even(low, max(34.0 * INCH, low))
    return ArrowBuild(
        shaft=_shaft(on),
        throat_length=throat,
        carbon_length=min(max(throat - on.even(0.0, 2.5 * INCH), 16.0 * INCH), throat),
        nock=Component(on.even(3.0, 30.0) * GRAIN, on.even(0.0, 0.04), on.even(-0.02, 0.01)),
        head=Head(on.ratio(20.0, 450.0) * GRAIN, on.even(0.0, 0.12 if on.sometimes(0.2) else 0.04)),
        fletching=Fletching(
            count=2 + on.one_of(5),
            mass=on.even(0.0, 25.0) * GRAIN,
            length=on.ratio(0.4 * INCH, 7.0 * INCH),
            height=on.ratio(0.05 * INCH, 1.5 * INCH),
            offset=on.even(-15.0, 15.0) * DEGREE,
            from_rear=on.even(0.0, 3.0 * INCH),
        ),
        bushing=_part(on, 30.0, 0.03),
        wrap=_part(on, 30.0, 0.2),
        insert=_part(on, 150.0, 0.06),
        collar=_part(on, 60.0, 0.03),
        tape_mass=on.even(0.0, 60.0) * GRAIN if on.sometimes(0.5) else 0.0,
    )


def _readings(on: _Ranges, brace: float, full: float, peak: float, let_off: float) -> tuple[ForceReading, ...]:
    """Readings of a scale as crooked as validation lets them be: uneven, near brace and full draw, noisy."""
    count = 5 + on.one_of(12)
    start = brace + (on.even(-0.003, 0.003) if on.sometimes(0.5) else on.even(0.0, 0.04))
    end = full + (on.even(-0.003, 0.003) if on.sometimes(0.5) else on.even(-1.5 * INCH, 0.0))
    inner = np.sort(on.rng.uniform(start, end, count - 2))
    draws = np.concatenate([[start], inner, [end]])
    share = np.clip((draws - brace) / (full - brace), 0.0, 1.0)
    rise, fall = on.even(0.1, 0.45), on.even(0.6, 0.95)
    force = np.minimum(share / rise, 1.0) * np.where(share > fall, 1.0 - let_off * (share - fall) / (1.0 - fall), 1.0)
    noisy = peak * on.even(0.7, 1.4) * force * np.exp(on.even(0.0, 0.03) * on.rng.standard_normal(count))
    return tuple(ForceReading(float(d), float(max(f, 0.0))) for d, f in zip(draws, noisy, strict=True))


def _rest(on: _Ranges) -> Rest:
    kind = _RESTS[on.one_of(len(_RESTS))]
    drops = None
    if kind is RestKind.DROP_AWAY and on.sometimes(0.5):
        drops = on.ratio(0.25 * INCH, 28.0 * INCH)
    ahead = on.even(-7.0 * INCH, 4.0 * INCH) if on.sometimes(0.3) else on.even(-2.0 * INCH, 2.0 * INCH)
    return Rest(kind, ahead, drops)


def _bow(on: _Ranges) -> Bow:
    peak, let_off = on.even(8.0, 90.0) * POUND_FORCE, on.even(0.0, 0.95)
    draw, brace = on.even(17.0 * INCH, 34.0 * INCH), on.even(4.5 * INCH, 11.0 * INCH)
    curve: CurveShape | tuple[ForceReading, ...] = _SHAPES[on.one_of(len(_SHAPES))]
    if on.sometimes(0.35):
        curve = _readings(on, brace, draw - 1.75 * INCH, peak, let_off)
    return Bow(
        peak_weight=peak,
        let_off=let_off,
        draw_length=draw,
        brace_height=brace,
        axle_to_axle=on.even(20.0 * INCH, 50.0 * INCH),
        rest=_rest(on),
        curve=curve,
        string_mass=on.ratio(0.001, 0.03),
        on_string=on.even(0.0, 0.01 if on.sometimes(0.2) else 0.002),
        peep_mass=on.even(0.0, 0.002),
        peep_above=on.even(0.02, 0.4),
        weight_per_turn=on.even(0.2, 4.0) * POUND_FORCE,
    )


def whole_bench(on: _Ranges) -> Setup:
    """One try at a bench; raises EquipmentError when equipment says that there is none such."""
    bow = _bow(on)
    build = _build(on, bow.nock_to_pivot + bow.rest.ahead)
    if not LIGHTEST <= build.total_mass(bare=False) <= HEAVIEST:
        raise EquipmentError("the arrow is outside the range that is drawn", "200 to 900 gr")
    return Setup(
        build,
        bow,
        rest_y=on.even(-0.004, 0.004),
        rest_z=on.even(-0.004, 0.004),
        nock_z=on.even(-0.004, 0.004),
        nock_angle=on.even(-np.pi, np.pi),
        bolts_since_weighed=on.even(-2.0, 2.0),
    )


def _stroke(on: _Ranges, setup: Setup) -> StrokeParameters:
    """What nobody can know of a bow, past three sds of what is believed of any before it is shot."""
    bow, difference = setup.bow, 0.5 * setup.build.shaft.stiff_side_difference
    common, turn = on.around(1.0, 0.03), difference * np.cos(2.0 * on.even(0.0, np.pi))
    drops = bow.rest.drops_after if bow.rest.drops_after is not None else on.even(0.02, bow.stroke)
    held = bow.rest.kind is not RestKind.DROP_AWAY
    weight = setup.present_peak_weight / bow.peak_weight
    return StrokeParameters(
        stiffness_factor=np.array([[common * (1.0 + turn), common * (1.0 - turn)]]),
        force_factor=np.array([weight * min(on.around(0.94, 0.05), 1.0)]),
        virtual_mass=np.array([on.around(5.0e-3, 0.35)]),
        string_factor=np.array([[on.around(1.0, 0.3), on.around(1.0, 0.5)]]),
        residual_tension=np.array([on.around(600.0, 0.5)]),
        nock_mass=np.array([on.around(bow.on_string + 0.33 * bow.string_mass, 0.3)]),
        rest_stiffness=np.array([[on.around(8.0e3, 0.7), on.around(4.0e3, 0.7)]]),
        drops_after=np.array([10.0 * bow.stroke if held else drops]),
        damping=np.array([on.around(0.01, 0.5)]),
    )


# One sd of each channel in a plane: NOCK, RAMP, BUMP, REST, HOLD, KICK, GRAVITY, BEND.
_SIZES = np.array([0.8e-3, 0.8e-3, 0.6e-3, 0.5e-3, 0.7e-3, 0.12, 0.0, 0.05e-3])


def _amplitudes(on: _Ranges, setup: Setup) -> FloatArray:
    """Disturbances in both planes; the rest and nock point where the bench has them, the shaft as crooked as it is."""
    out = 1.5 * _SIZES * on.rng.standard_normal((1, 2, 8))
    out[0, 0, 3] += setup.rest_y
    out[0, 1, 3] += setup.rest_z
    out[0, 1, 0] += setup.nock_z
    out[0, 1, 6] = 1.0
    crook, angle = 0.5 * setup.build.shaft.straightness, setup.nock_angle
    out[0, :, 7] = crook * np.cos(angle), crook * np.sin(angle)
    return np.asarray(out)


def _flight(on: _Ranges) -> FlightParameters:
    def one(value: float) -> FloatArray:
        return np.array([value])

    return FlightParameters(
        drag_factor=one(on.around(1.0, 0.12)),
        cross_factor=one(on.around(1.0, 0.25)),
        vane_factor=one(on.around(1.0, 0.25)),
        head_factor=one(on.around(1.0, 0.15)),
        wind_y=one(0.0 if on.sometimes(0.3) else on.even(-4.0, 4.0)),
        air_density=one(on.even(0.8, 1.45)),
    )


def _head(on: _Ranges, head: Head) -> Head:
    """The same mass with or without blades."""
    kind = tuple(HeadKind)[on.one_of(len(HeadKind))]
    if kind is HeadKind.FIELD:
        return head
    width = on.even(0.018, 0.06)
    blades = 2 + on.one_of(3)
    return replace(head, kind=kind, blade_count=blades, blade_area=on.ratio(2e-5, 8e-4), width=width)


def _legal(on: _Ranges, attempt: Callable[[_Ranges], Setup]) -> tuple[Setup, int]:
    for refused in range(_MOST_REFUSED):
        try:
            return attempt(on), refused
        except EquipmentError:
            continue
    raise AssertionError("equipment refuses whatever is drawn")


def draw_equipment(rng: np.random.Generator) -> Drawn:
    """One legal bench with unknowns and disturbances of every kind."""
    on = _Ranges(rng)
    setup, refused = _legal(on, whole_bench)
    return Drawn(
        setup=setup,
        head=_head(on, setup.build.head),
        stroke=_stroke(on, setup),
        amplitudes=_amplitudes(on, setup),
        flight=_flight(on),
        refused=refused,
    )
