"""The draw-force curve: force against distance from brace, stored energy, and the time a mass takes along it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from spinewright.equipment.bow import Bow, CurveShape, ForceReading

if (
    TYPE_CHECKING
):  # numpy and scipy are imported where a curve is built, so that describing a bow costs no start-up time
    import numpy as np
    from numpy.typing import NDArray
    from scipy.interpolate import PPoly

__all__ = ["DrawCurve"]

# Named shapes: (share of the stroke, share of the way from 0 to peak on the rise, from holding to peak on the fall).
# From memory of measured compound curves, no published source; their stored energy is 0.64, 0.75 and 0.84 of peak
# weight x stroke at 80 % let-off (computed in the tests).
_RISE = {
    CurveShape.GENTLE: ((0.10, 0.32), (0.25, 0.72), (0.40, 0.95)),
    CurveShape.MIDDLING: ((0.08, 0.36), (0.18, 0.76), (0.28, 0.96)),
    CurveShape.HARD: ((0.06, 0.42), (0.12, 0.80), (0.18, 0.97)),
}
_PLATEAU = {CurveShape.GENTLE: (0.50, 0.58), CurveShape.MIDDLING: (0.36, 0.69), CurveShape.HARD: (0.24, 0.79)}
_FALL = {
    CurveShape.GENTLE: ((0.70, 0.75), (0.82, 0.35), (0.93, 0.06)),
    CurveShape.MIDDLING: ((0.78, 0.75), (0.87, 0.35), (0.95, 0.06)),
    CurveShape.HARD: ((0.86, 0.75), (0.92, 0.35), (0.97, 0.06)),
}
_PANEL_POINTS = 8
_APART = 1e-6  # m; a reading this close to brace or full draw is there
# sd of ln(stored energy), both from memory: compounds of one name's shape differ by so much; a scale and its readings
_SHAPE_DOUBT, _SCALE_DOUBT = 0.08, 0.015


@dataclass(frozen=True, slots=True, eq=False)
class DrawCurve:
    """Force against the distance u [m] of the nock from brace, from 0 to ``stroke``.

    stroke     [m]
    peak       [N]  highest force
    holding    [N]  force at full draw
    scaled_by  [1]  what the readings were multiplied with to agree with the peak weight; 1 for a named shape
    stated          where the curve comes from, in words
    energy_doubt [1]  sd of ln(stored energy): how far a named shape or a scale may be off
    """

    stroke: float
    peak: float
    holding: float
    scaled_by: float
    stated: str
    energy_doubt: float
    _force: PPoly
    _energy: PPoly

    @classmethod
    def of(cls, bow: Bow, peak_weight: float | None = None) -> DrawCurve:
        """The curve of ``bow``, through its readings (monotone cubic, PCHIP) or by its named shape.

        Readings are scaled so that their peak is ``peak_weight`` [N], by default the bow's measured one: a curve read
        before the limb bolts were turned keeps its shape. A named shape takes peak weight and let-off. Same bow, same
        curve: the last few are kept.
        """
        return _of(bow, bow.peak_weight if peak_weight is None else peak_weight)

    @classmethod
    def through(cls, distance: NDArray[np.float64], force: NDArray[np.float64], *, straight: bool = False) -> DrawCurve:
        """A curve through ``force`` [N] at ``distance`` [m] from brace (first 0), monotone cubic or straight lines."""
        return _build(distance, force, "through given points", straight=straight)

    def force(self, distance: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """Force [N] at ``distance`` [m] from brace (any shape); beyond the ends that of the end."""
        import numpy as np

        return np.asarray(self._force(np.clip(distance, 0.0, self.stroke)), dtype=np.float64)

    def energy(self, distance: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """Energy [J] stored between brace and ``distance`` [m], exact for the interpolated curve."""
        import numpy as np

        return np.asarray(self._energy(np.clip(distance, 0.0, self.stroke)), dtype=np.float64)

    @property
    def stored_energy(self) -> float:
        """Energy [J] under the whole curve (ASTM F1832: the area under it)."""
        return float(self.energy(self.stroke))

    @property
    def knots(self) -> NDArray[np.float64]:
        """Distances from brace [m] at which the curve changes its polynomial, ascending, both ends included."""
        return self._force.x

    def table(self, n: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """``n`` evenly spaced distances from brace [m] and the forces [N] there."""
        import numpy as np

        distance = np.linspace(0.0, self.stroke, n)
        return distance, self.force(distance)

    def time(self, moving_mass: float, energy_factor: float = 1.0) -> float:
        """Time [s] from full draw to brace of ``moving_mass`` [kg] pushed by ``energy_factor`` x the force.

        t = int du / v with v^2 = 2 x energy given so far / mass. The speed starts at zero; with u = stroke - w^2 the
        integrand is smooth from the start, and Gauss-Legendre panels end at the knots.
        """
        import numpy as np

        nodes, weights = np.polynomial.legendre.leggauss(_PANEL_POINTS)
        edges = np.sqrt(np.maximum(self.stroke - self.knots[::-1], 0.0))
        half = np.diff(edges)[:, None] / 2.0
        w = (edges[:-1] + edges[1:])[:, None] / 2.0 + half * nodes
        given = self.stored_energy - self.energy(self.stroke - w**2)
        return float(np.sum(half * weights * 2.0 * w * np.sqrt(moving_mass / (2.0 * energy_factor * given))))


@lru_cache(maxsize=64)
def _of(bow: Bow, peak_weight: float) -> DrawCurve:
    if isinstance(bow.curve, CurveShape):
        return _shaped(bow, bow.curve, peak_weight)
    return _read(bow, bow.curve, peak_weight)


def _in_stroke(bow: Bow, readings: tuple[ForceReading, ...]) -> list[tuple[float, float]]:
    """Distance from brace [m] and force [N] of ``readings``, ascending.

    A few millimetres outside the stroke are a rounding of brace or full draw; of several there, the last counts.
    """
    found: dict[float, float] = {}
    for reading in readings:
        distance = reading.draw - bow.brace_height
        if distance < _APART:
            distance = 0.0
        elif distance > bow.stroke - _APART:
            distance = bow.stroke
        found[distance] = reading.force
    return list(found.items())


def _read(bow: Bow, readings: tuple[ForceReading, ...], peak_weight: float) -> DrawCurve:
    import numpy as np

    points = _in_stroke(bow, readings)
    if points[0][0] > 0.0:
        points.insert(0, (0.0, 0.0))
    top = max(force for _, force in points)
    if points[-1][0] < bow.stroke:
        # the last reading may be a little short of full draw; let-off says what is held there
        points = [point for point in points if point[0] < bow.stroke - 1e-3]
        points.append((bow.stroke, top * (1.0 - bow.let_off)))
    distance, force = np.array(points).T
    factor = peak_weight / top
    stated = f"through {len(readings)} readings of the scale"
    if abs(factor - 1.0) > 0.005:
        stated += f", multiplied by {factor:.3f} to agree with the peak weight"
    return _build(distance, force * factor, stated, scaled_by=factor)


def _shaped(bow: Bow, shape: CurveShape, peak_weight: float) -> DrawCurve:
    import numpy as np

    holding = peak_weight * (1.0 - bow.let_off)
    points = [(0.0, 0.0)]
    points += [(x, peak_weight * share) for x, share in _RISE[shape]]
    points += [(x, peak_weight) for x in _PLATEAU[shape]]
    points += [(x, holding + (peak_weight - holding) * share) for x, share in _FALL[shape]]
    points.append((1.0, holding))
    distance, force = np.array(points).T
    return _build(distance * bow.stroke, force, f"a {shape} shape, not measured", energy_doubt=_SHAPE_DOUBT)


def _build(
    distance: NDArray[np.float64],
    force: NDArray[np.float64],
    stated: str,
    *,
    scaled_by: float = 1.0,
    energy_doubt: float = _SCALE_DOUBT,
    straight: bool = False,
) -> DrawCurve:
    import numpy as np
    from scipy.interpolate import PchipInterpolator, PPoly

    x, y = np.asarray(distance, dtype=np.float64), np.asarray(force, dtype=np.float64)
    curve: PPoly = PPoly(np.array([np.diff(y) / np.diff(x), y[:-1]]), x) if straight else PchipInterpolator(x, y)
    return DrawCurve(
        stroke=float(x[-1]),
        peak=float(y.max()),
        holding=float(y[-1]),
        scaled_by=float(scaled_by),
        stated=stated,
        energy_doubt=energy_doubt,
        _force=curve,
        _energy=curve.antiderivative(),
    )
