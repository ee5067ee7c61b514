"""The rows of the linear problem: each thing seen (or to be predicted) as physics plus learnt response.

Given a particle, every row is ``offset + G u + noise`` with standard normal latents u: first the principal components
of the physics, then the latents of :class:`~spinewright.belief.response.Latent`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.physics import Output, Physics, What
from spinewright.belief.response import (
    BENT,
    GAP_DISTANCE,
    LATENTS,
    LEANT_SD,
    MISLED_SHARE,
    TORN_SD,
    TORN_SD_SOUND,
    TORN_SHARE,
    TOUCH_SD,
    TOUCH_SD_CLEAN,
    TURN_SD,
    ResponsePrior,
    spine_coordinates,
)
from spinewright.belief.row_kernel import PriorArrays, RowArrays, fill_rows
from spinewright.equipment import Setup

__all__ = [
    "Kernel",
    "Rows",
    "filled",
    "linear_rows",
    "make_kernel",
    "prior_arrays",
    "row_arrays",
    "rows_for",
    "seen_from",
    "widened",
]

FloatArray = NDArray[np.float64]

#: Share of the physics' variance the kept principal components must hold.
KEPT_VARIANCE = 0.999
MOST_COMPONENTS = 24
#: The stiff-side difference at which the second harmonic of a turned nock has the width stated for it.
USUAL_DIFFERENCE = 0.03


@dataclass(frozen=True, slots=True)
class Kernel:
    """The physics of plausible bows as a Gaussian: Y = mean + z W, z standard normal.

    outputs          what the columns are
    mean   (Q, 2)
    weight (m, Q, 2)
    rest   (Q, 2)    variance the kept components leave out
    z      (N, m)    the bows' own coordinates
    ratio, ratio_sd (Q, 2)  slope of each output on the gap at 20 yd of the same setup over the bows, and its doubt
    used   (N,) bool        bows with a finite answer
    """

    outputs: tuple[Output, ...]
    mean: FloatArray
    weight: FloatArray
    rest: FloatArray
    z: FloatArray
    ratio: FloatArray
    ratio_sd: FloatArray
    used: NDArray[np.bool_]


def make_kernel(physics: Physics) -> Kernel:
    """Principal components of what the bows show; every setup must have its gap at 20 yd among the outputs."""
    values = physics.values[physics.solved]
    n, q, _ = values.shape
    mean = values.mean(axis=0)
    centred = (values - mean).reshape(n, 2 * q)
    scale = centred.std(axis=0)
    scale[scale < 1e-12] = 1.0
    scaled = centred / scale
    variance, axes = np.linalg.eigh(scaled.T @ scaled / (n - 1))
    variance, axes = np.maximum(variance[::-1], 0.0), axes[:, ::-1]
    share = np.cumsum(variance) / max(float(variance.sum()), 1e-300)
    m = max(1, min(int(np.searchsorted(share, KEPT_VARIANCE)) + 1, MOST_COMPONENTS, np.count_nonzero(variance > 1e-9)))
    size = np.sqrt(variance[:m])
    weight = size[:, None] * axes[:, :m].T * scale
    kept = np.sum(weight**2, axis=0)
    rest = np.maximum(centred.var(axis=0, ddof=1) - kept, 0.0).reshape(q, 2)
    ratio, ratio_sd = _ratios(physics.outputs, values)
    return Kernel(
        physics.outputs,
        mean,
        weight.reshape(m, q, 2),
        rest,
        scaled @ axes[:, :m] / size,
        ratio,
        ratio_sd,
        physics.solved,
    )


def _ratios(outputs: Sequence[Output], values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Regression of every output on the gap at 20 yd of its setup: (Q, 2) slopes and their doubt."""
    gap = {o.setup: q for q, o in enumerate(outputs) if o.what is What.GAP and o.distance == GAP_DISTANCE}
    ratio, doubt = np.zeros((len(outputs), 2)), np.zeros((len(outputs), 2))
    for q, output in enumerate(outputs):
        if output.what in (What.BARE_SPEED, What.FLETCHED_SPEED):
            continue
        base = values[:, gap[output.setup]]
        for plane in range(2):
            spread = float(base[:, plane].var())
            if spread < 1e-18:
                continue
            cov = float(np.mean((base[:, plane] - base[:, plane].mean()) * values[:, q, plane]))
            ratio[q, plane] = cov / spread
            left = max(float(values[:, q, plane].var()) - cov**2 / spread, 0.0)
            doubt[q, plane] = np.sqrt(left / spread)
    return ratio, doubt


def widened(kernel: Kernel, bases: Sequence[int], outputs: Sequence[Output], extra: FloatArray) -> Kernel:
    """``kernel`` with columns like those at ``bases``, named ``outputs`` (P,), and coordinates that only they have.

    ``extra`` (E, P, 2) [m] is how much of each new coordinate is in each new column; the bows know nothing of them.
    """
    m, q, _ = kernel.weight.shape
    columns = np.array([*range(q), *bases])
    weight = np.zeros((m + len(extra), len(columns), 2))
    weight[:m] = kernel.weight[:, columns]
    weight[m:, q:] = extra
    return replace(
        kernel,
        outputs=(*kernel.outputs, *outputs),
        mean=kernel.mean[columns],
        weight=weight,
        rest=kernel.rest[columns],
        z=np.pad(kernel.z, ((0, 0), (0, len(extra)))),
        ratio=kernel.ratio[columns],
        ratio_sd=kernel.ratio_sd[columns],
    )


@dataclass(frozen=True, slots=True)
class Rows:
    """J rows: what the kernel and the particles need to know of each.

    column, plane (J,) int   into the kernel
    spine (J, 4)             changes against the start, in metres of length
    shift (J,)               rest (less nock point in height) against the start [m], in the row's plane
    angle (J,)               nock turned on the shaft [rad]
    difference (J,)          the shaft's stiff-side difference [1]
    shafts (J, n)            how much of each shaft's own offset is in the row
    away (J, 6)              spine and shift against the setup of interest: answers are straight lines only nearby;
                             and how many rows share that error
    """

    column: NDArray[np.intp]
    plane: NDArray[np.intp]
    spine: FloatArray
    shift: FloatArray
    angle: FloatArray
    difference: FloatArray
    shafts: FloatArray
    away: FloatArray

    def __len__(self) -> int:
        return len(self.column)

    def take(self, index: NDArray[np.intp]) -> Rows:
        """The rows at ``index``."""
        return Rows(*(getattr(self, field.name)[index] for field in fields(self)))


def rows_for(
    kernel: Kernel,
    setups: Sequence[Setup],
    start: Setup,
    wanted: Sequence[tuple[Output, float | None]],
) -> Rows:
    """Two rows (sideways, height) for each wanted output; the second item overrides the setup's nock angle."""
    where = {output: q for q, output in enumerate(kernel.outputs)}
    column, plane, spine, shift, angle, difference = [], [], [], [], [], []
    for output, turned in wanted:
        setup = setups[output.setup]
        coordinates = spine_coordinates(setup, start)
        for p in range(2):
            column.append(where[output])
            plane.append(p)
            spine.append(coordinates)
            shift.append(_shift(setup, start, p))
            angle.append((setup.nock_angle if turned is None else turned) - start.nock_angle)
            difference.append(setup.build.shaft.stiff_side_difference)
    return Rows(
        np.array(column, dtype=np.intp),
        np.array(plane, dtype=np.intp),
        np.array(spine).reshape(-1, 4),
        np.array(shift, dtype=float),
        np.array(angle, dtype=float),
        np.array(difference, dtype=float),
        np.zeros((len(column), 0)),
        np.zeros((len(column), 6)),
    )


def seen_from(rows: Rows, setup: Setup, start: Setup, shafts: FloatArray, alike: FloatArray) -> Rows:
    """Rows of what was seen, to be read for ``setup``.

    ``shafts`` (J, n) is how much of each shaft is in each row, ``alike`` (J,) how many rows share one line's error.
    """
    shift = np.array([_shift(setup, start, int(plane)) for plane in rows.plane])
    away = np.column_stack([rows.spine - spine_coordinates(setup, start), rows.shift - shift, alike])
    return replace(rows, shafts=shafts, away=away.reshape(-1, 6))


def _shift(setup: Setup, start: Setup, plane: int) -> float:
    if plane == 0:
        return setup.rest_y - start.rest_y
    return (setup.rest_z - start.rest_z) - (setup.nock_z - start.nock_z)


def row_arrays(kernel: Kernel, rows: Rows) -> RowArrays:
    """``rows`` as compiled code takes them."""
    number = np.zeros((len(rows), 12))
    number[:, 0] = kernel.mean[rows.column, rows.plane]
    number[:, 1] = kernel.ratio[rows.column, rows.plane]
    doubt = kernel.ratio_sd[rows.column, rows.plane]
    whats = [kernel.outputs[c].what for c in rows.column]
    # Gaps at other distances follow the gap at 20 yd nearly in proportion; only what was seen nearby may differ.
    number[:, 2] = np.where([w in (What.GAP, What.LEAN) for w in whats], 0.0, doubt)
    number[:, 3] = np.where([w is What.LEAN for w in whats], doubt, 0.0)
    number[:, 4:8] = rows.spine
    number[:, 8] = rows.shift
    number[:, 9] = 1.0
    number[:, 10] = [w in (What.BARE_TEAR, What.FLETCHED_TEAR) for w in whats]
    number[:, 11] = [w is What.LEAN for w in whats]
    weight = np.ascontiguousarray(kernel.weight[:, rows.column, rows.plane].T)
    turned = _turned(rows.angle, rows.difference)
    return RowArrays(rows.plane.astype(np.int64), weight, number, turned, rows.shafts, rows.away)


def prior_arrays(prior: ResponsePrior) -> PriorArrays:
    """What the rows take from ``prior``, as compiled code takes it."""
    from scipy.special import ndtri

    touch = np.array([float(ndtri(prior.touch_share)), TOUCH_SD, TOUCH_SD_CLEAN])
    torn = np.array([float(ndtri(TORN_SHARE)), TORN_SD, TORN_SD_SOUND])
    weak, rest = np.array(prior.too_weak), np.array(prior.rest_sd)
    return PriorArrays(weak, rest, touch, torn, np.array([float(ndtri(MISLED_SHARE)), LEANT_SD]), np.array(BENT))


def linear_rows(kernel: Kernel, rows: Rows, theta: FloatArray, prior: ResponsePrior) -> tuple[FloatArray, FloatArray]:
    """Offsets (K, J) and matrices G (K, J, m + 17 + 2 n) of ``rows`` for particles theta (K, 14)."""
    return filled(row_arrays(kernel, rows), theta, prior_arrays(prior))


def filled(rows: RowArrays, theta: FloatArray, prior: PriorArrays) -> tuple[FloatArray, FloatArray]:
    """:func:`linear_rows` of rows as compiled code takes them."""
    offset = np.empty((len(theta), len(rows.plane)))
    matrix = np.zeros((*offset.shape, rows.weight.shape[1] + LATENTS + 2 * rows.shafts.shape[1]))
    fill_rows(rows, np.ascontiguousarray(theta), prior, offset, matrix)
    return offset, matrix


def _turned(angle: FloatArray, difference: FloatArray) -> FloatArray:
    """(J, 4) what the harmonics of a nock turned by ``angle`` add to the gap, per unit latent; zero when not turned.

    The second comes from the shaft's stiff side and grows with its stiff-side ``difference`` (J,).
    """
    first, second = TURN_SD[0], TURN_SD[1] * difference / USUAL_DIFFERENCE
    return np.stack(
        [
            first * (np.cos(angle) - 1),
            first * np.sin(angle),
            second * (np.cos(2 * angle) - 1),
            second * np.sin(2 * angle),
        ],
        axis=1,
    )
