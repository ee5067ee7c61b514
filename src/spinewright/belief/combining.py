"""Rows that look at the same thing with the same noise, combined into a few that say exactly as much.

A series of nock angles through paper is dozens of rows, yet in each plane it only tells five numbers: the level and two
harmonics. Rotating the values of such rows by an orthogonal matrix leaves their noise independent and equal; all but as
many rows as the five functions span then hold noise alone. Those are left out, and what they say of the noise is kept:
how many they were and their sum of squares.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spinewright.belief.design import Kernel, Rows, row_arrays
from spinewright.belief.evidence_rows import Noise
from spinewright.belief.response import Theta
from spinewright.belief.row_kernel import RowArrays

__all__ = ["Combined", "combine"]

FloatArray = NDArray[np.float64]

_NOTHING = 1e-9  # share of the largest singular value below which a combination of rows shows noise alone


@dataclass(frozen=True, slots=True)
class Combined:
    """What was seen, in as few rows as hold it.

    rows, value (J,), noise (J, 3)  noise: fixed variance, factors of the archer's and of the shafts' variance
    alone (A, 5)  rows left out: noise as above, how many, sum of squares of their values
    seen          number of rows before they were combined
    """

    rows: RowArrays
    value: FloatArray
    noise: FloatArray
    alone: FloatArray
    seen: int

    def variance(self, theta: FloatArray) -> FloatArray:
        """(K, J) noise of every row for particles theta (K, 12)."""
        return _variance(self.noise, theta)

    def alone_log_likelihood(self, theta: FloatArray) -> FloatArray:
        """Log likelihood (K,) of the rows left out, up to a constant."""
        variance = _variance(self.alone[:, :3], theta)
        return np.asarray(-0.5 * np.sum(self.alone[:, 3] * np.log(variance) + self.alone[:, 4] / variance, axis=1))

    def alone_squares(self, theta: FloatArray) -> FloatArray:
        """Sum (K,) of squares of the rows left out, each over its variance."""
        return np.asarray(np.sum(self.alone[:, 4] / _variance(self.alone[:, :3], theta), axis=1))


def _variance(noise: FloatArray, theta: FloatArray) -> FloatArray:
    each = np.exp(2.0 * theta[:, [Theta.SCATTER, Theta.SHAFTS]])
    return np.asarray(noise[:, 0] + each @ noise[:, 1:3].T)


def combine(kernel: Kernel, rows: Rows, value: FloatArray, noises: Sequence[Noise]) -> Combined:
    """``rows`` with values (J,) and noises, those of one column, plane and noise combined."""
    arrays = row_arrays(kernel, rows)
    # What the kept components leave out of the physics counts as noise of every row.
    rest = kernel.rest[rows.column, rows.plane]
    noise = np.array([(n.fixed, n.archer, n.shafts) for n in noises], dtype=float).reshape(-1, 3)
    noise[:, 0] += rest
    alike: dict[tuple[object, ...], list[int]] = {}
    for j in range(len(rows)):
        alike.setdefault((rows.column[j], rows.plane[j], *noise[j]), []).append(j)
    whole, turned, values, first, alone = [], [], [], [], []
    for group in alike.values():
        shows = np.column_stack([np.ones(len(group)), arrays.turned[group]])
        if len(group) == 1:
            share, told = shows, value[group]
        else:
            left, size, right = np.linalg.svd(shows, full_matrices=False)
            kept = size > _NOTHING * size[0]
            share, told = size[kept, None] * right[kept], left[:, kept].T @ value[group]
        whole.append(share[:, 0])
        turned.append(share[:, 1:])
        values.append(told)
        first += [group[0]] * len(told)
        if len(told) < len(group):
            squares = max(float(value[group] @ value[group] - told @ told), 0.0)
            alone.append((*noise[group[0]], len(group) - len(told), squares))
    number = arrays.number[first]
    number[:, 9] = np.concatenate(whole) if whole else 0.0
    few = RowArrays(
        arrays.plane[first], arrays.weight[first], number, np.concatenate(turned) if turned else arrays.turned
    )
    told_values = np.concatenate(values) if values else value
    return Combined(few, told_values, noise[first], np.array(alone, dtype=float).reshape(-1, 5), len(rows))
