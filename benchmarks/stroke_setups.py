"""Invented bows and arrows over the range that is met, for the benchmark of the power stroke."""

from __future__ import annotations

from dataclasses import dataclass

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
from spinewright.mechanics import BowMotion, StrokeParameters, StrokeSettings, bow_motion, build_rod, stroke

__all__ = ["SIZES", "Case", "build_for", "cases", "error", "plausible"]

FloatArray = NDArray[np.float64]
INCH, GRAIN, POUND = 0.0254, 6.479891e-5, 4.4482216
SIZES = np.array([1e-3, 1e-3, 1e-3, 1e-3, 1e-3, 0.1, 1.0, 1e-4])  # plausible sizes of the channels


@dataclass(frozen=True, slots=True)
class Case:
    """One bow with its arrow, and one plausible set of unknowns; ``exact`` is the response from a far finer model."""

    masses: MassModel
    motion: BowMotion
    parameters: StrokeParameters
    exact: FloatArray


def plausible(rng: np.random.Generator, count: int) -> StrokeParameters:
    """Unknowns of ``count`` bows: rests 2e3 to 5e4 N/m that drop after 2 to 7 in."""

    def around(middle: float, sd: float, *shape: int) -> FloatArray:
        return np.asarray(middle * np.exp(sd * rng.standard_normal((count, *shape))))

    return StrokeParameters(
        stiffness_factor=around(1.0, 0.05, 2),
        force_factor=around(1.0, 0.02),
        virtual_mass=around(0.0055, 0.1),
        string_factor=around(1.0, 0.2, 2),
        residual_tension=around(300.0, 0.3),
        nock_mass=around(0.003, 0.2),
        rest_stiffness=np.exp(rng.uniform(np.log(2e3), np.log(5e4), (count, 2))),
        drops_after=rng.uniform(2 * INCH, 7 * INCH, count),
        damping=around(0.01, 0.3),
    )


def build_for(pounds: float, draw: float, rng: np.random.Generator) -> ArrowBuild:
    """An arrow of about the right spine for a bow of ``pounds`` peak weight and ``draw`` [in]."""
    length = (draw + rng.uniform(-0.3, 0.6)) * INCH
    return ArrowBuild(
        shaft=Shaft((0.36 - 0.004 * (pounds - 54)) * INCH, 8.7 * GRAIN / INCH, 0.0066, 0.0054),
        throat_length=length,
        carbon_length=length - 0.009,
        nock=Component(9.2 * GRAIN, 0.021, -0.001),
        head=Head(rng.uniform(90, 150) * GRAIN, 0.026),
        fletching=Fletching(3, 6.1 * GRAIN, 0.051, 0.012),
        insert=Component(14.0 * GRAIN, 0.021, 0.011),
    )


def cases(count: int) -> list[Case]:
    """``count`` set-ups: 54-70 lb, 27-30 in draw, brace 6-7.5 in, 28-40 in between the axles."""
    found = []
    for index in range(count):
        rng = np.random.default_rng(400 + index)
        pounds, draw = rng.uniform(54, 70), rng.uniform(27, 30)
        bow = Bow(
            peak_weight=pounds * POUND,
            let_off=0.83,
            draw_length=draw * INCH,
            brace_height=rng.uniform(6, 7.5) * INCH,
            axle_to_axle=rng.uniform(28, 40) * INCH,
            rest=Rest(RestKind.DROP_AWAY, ahead=0.011),
            curve=CurveShape.MIDDLING,
        )
        motion = bow_motion(DrawCurve.of(bow), bow)
        masses, parameters = mass_model(build_for(pounds, draw, rng), bare=False), plausible(rng, 1)
        fine = build_rod(masses, functions=28, modes=20, static_functions=64)
        exact = stroke(fine, motion, parameters, StrokeSettings(steps=500, reach=0.3)).response[0]
        found.append(Case(masses, motion, parameters, exact))
    return found


def error(found: FloatArray, exact: FloatArray) -> FloatArray:
    """Error of the release state in each plane: root mean square over the four columns of the error of all channels
    at plausible size, each column over its own size."""
    wrong = (found - exact) * SIZES[:, None]
    size = np.sqrt(((exact * SIZES[:, None]) ** 2).sum(axis=-2, keepdims=True))
    return np.asarray(np.sqrt(((wrong / size) ** 2).sum(axis=(-1, -2)) / 4.0))
