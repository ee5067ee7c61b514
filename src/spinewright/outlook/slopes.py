"""Up and down a slope: how far the level mark of a distance shoots off there, and which level mark is right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spinewright.outlook.sight_line import Passed
from spinewright.outlook.sight_marks import MarkFit
from spinewright.outlook.values import FloatArray

__all__ = ["OnSlope", "nearest_rising", "on_slopes"]

_KNOTS = 40
_NEAREST = 2.5  # [m] more than the arrow's own way out of the bow
_FURTHER = 1.25  # beyond the furthest distance asked for: marks grow by drag when a slope is steep


@dataclass(frozen=True, slots=True, eq=False)
class OnSlope:
    """Of distances (K,) along a slope.

    high (K,) [m] over the middle with the mark of the same distance on the level; high_sd one sd
    shoot_as (K,) [m] level distance whose mark is right, NaN where no mark points so low; shoot_as_sd one sd
    """

    high: FloatArray
    high_sd: FloatArray
    shoot_as: FloatArray
    shoot_as_sd: FloatArray


def _levels(fit: MarkFit, furthest: float) -> tuple[FloatArray, FloatArray]:
    """Distances from where marks begin to rise, and the arrow's angle [rad] at each on the level."""
    near = fit.leaves.start + fit.leaves.body.tip_place + _NEAREST
    distance = np.linspace(near, max(_FURTHER * furthest, near + 10.0), _KNOTS)
    elevation = fit.passing(distance).elevation
    first = int(elevation.argmin())
    return distance[first:], elevation[first:]


def nearest_rising(fit: MarkFit, furthest: float) -> float:
    """Distance [m] from which on the mark of a further distance is a lower one; nearer, the peep's height turns it."""
    return float(_levels(fit, furthest)[0][0])


def on_slopes(fit: MarkFit, distance: FloatArray, slopes: Sequence[float]) -> tuple[OnSlope, ...]:
    """Corrections at ``distance`` (K,) [m] along each of ``slopes`` [rad], up positive. Raises SolveError."""
    level, table = fit.elevation_rows(distance), _levels(fit, float(distance.max()))
    return tuple(_on_slope(fit, distance, slope, level, table) for slope in slopes)


def _on_slope(
    fit: MarkFit,
    distance: FloatArray,
    slope: float,
    on_level: tuple[Passed, FloatArray],
    table: tuple[FloatArray, FloatArray],
) -> OnSlope:
    from scipy.interpolate import make_interp_spline

    (level, level_rows), (there, rows), (far, angles) = on_level, fit.elevation_rows(distance, slope), table
    apart = level_rows - rows
    sd = np.sqrt(np.einsum("ki,ij,kj->k", apart, fit.covariance, apart))
    shoot_as, shoot_as_sd = np.full(len(distance), np.nan), np.full(len(distance), np.nan)
    inside = (there.elevation >= angles[0]) & (there.elevation <= angles[-1])
    if len(far) > 3 and (np.diff(angles) > 0.0).all():
        inverse = make_interp_spline(angles, far, k=3)
        shoot_as[inside] = inverse(there.elevation[inside])
        shoot_as_sd[inside] = np.abs(inverse(there.elevation[inside], 1)) * sd[inside]
    return OnSlope((level.elevation - there.elevation) * distance, sd * distance, shoot_as, shoot_as_sd)
