"""Invented bows, arrows and plausible unknowns for the tests of mechanics."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from spinewright.equipment import (
    ArrowBuild,
    Bow,
    Component,
    CurveShape,
    DrawCurve,
    Fletching,
    Head,
    MassModel,
    Rest,
    RestKind,
    Shaft,
    mass_model,
)
from spinewright.mechanics import BowMotion, StrokeParameters, bow_motion

FloatArray = NDArray[np.float64]

INCH, GRAIN, POUND = 0.0254, 6.479891e-5, 4.4482216
AMPLITUDES = np.array([1e-3, 1e-3, 1e-3, 1e-3, 1e-3, 0.1, 1.0, 1e-4])  # of the channels: plausible sizes


def arrow(inches: float = 28.3, spine: float = 0.33, point: float = 121.0, *, bare: bool = False) -> MassModel:
    """An invented arrow: throat length [in], static spine [in], point weight [gr]."""
    length = inches * INCH
    build = ArrowBuild(
        shaft=Shaft(spine * INCH, 8.7 * GRAIN / INCH, 0.0066, 0.0054),
        throat_length=length,
        carbon_length=length - 0.009,
        nock=Component(9.2 * GRAIN, 0.021, -0.001),
        head=Head(point * GRAIN, 0.026),
        fletching=Fletching(3, 6.1 * GRAIN, 0.051, 0.012),
        insert=Component(14.0 * GRAIN, 0.021, 0.011),
    )
    return mass_model(build, bare=bare)


def bow(pounds: float = 59.0, draw: float = 28.4, brace: float = 6.8, axles: float = 33.5) -> Bow:
    """An invented bow: peak weight [lb], draw length, brace height, axle to axle [in]."""
    return Bow(
        peak_weight=pounds * POUND,
        let_off=0.83,
        draw_length=draw * INCH,
        brace_height=brace * INCH,
        axle_to_axle=axles * INCH,
        rest=Rest(RestKind.DROP_AWAY, ahead=0.011),
        curve=CurveShape.MIDDLING,
    )


def bow_in_motion(which: Bow | None = None) -> BowMotion:
    """The motion of a bow along the shot."""
    which = which or bow()
    return bow_motion(DrawCurve.of(which), which)


def plausible(count: int, seed: int = 1, drops_after: float | None = None) -> StrokeParameters:
    """Invented unknowns of ``count`` bows; rests let go after 2 to 7 in unless ``drops_after`` [m] says otherwise."""
    rng = np.random.default_rng(seed)

    def around(middle: float, sd: float, *shape: int) -> FloatArray:
        return np.asarray(middle * np.exp(sd * rng.standard_normal((count, *shape))))

    drops = rng.uniform(2 * INCH, 7 * INCH, count)
    return StrokeParameters(
        stiffness_factor=around(1.0, 0.05, 2),
        force_factor=around(1.0, 0.02),
        virtual_mass=around(0.0055, 0.1),
        string_factor=around(1.0, 0.2, 2),
        residual_tension=around(300.0, 0.3),
        nock_mass=around(0.003, 0.2),
        rest_stiffness=np.exp(rng.uniform(np.log(2e3), np.log(5e4), (count, 2))),
        drops_after=drops if drops_after is None else np.full(count, drops_after),
        damping=around(0.01, 0.3),
    )


def one(parameters: StrokeParameters, row: int) -> StrokeParameters:
    """One row of ``parameters``."""
    return StrokeParameters(*(getattr(parameters, f.name)[row : row + 1] for f in fields(parameters)))


def release_error(found: FloatArray, exact: FloatArray) -> FloatArray:
    """Error of the release state (N, 2): root mean square over the four columns of the error of all channels at
    plausible size, each column over its own size."""
    error = (found - exact) * AMPLITUDES[:, None]
    size = np.sqrt(((exact * AMPLITUDES[:, None]) ** 2).sum(axis=-2, keepdims=True))
    return np.asarray(np.sqrt(((error / size) ** 2).sum(axis=(-1, -2)) / 4.0))
