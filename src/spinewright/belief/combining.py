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
from spinewright.belief.row_kernel import PriorArrays, RowArrays, fill_bent

__all__ = ["Combined", "combine"]

FloatArray = NDArray[np.float64]

_NOTHING = 1e-9  # share of the largest singular value below which a combination of rows shows noise alone


@dataclass(frozen=True, slots=True)
class Combined:
    """What was seen, in as few rows as hold it.

    rows, value (J,), noise (J, 4)  noise: fixed variance, factor of the archer's, what is added where leans mislead,
                  factor of the shafts'
    alone (A, 7)  rows left out: noise as above, how many, sum of squares of their values, their fellow among the rows
    prior         what the noise takes from the prior
    seen          number of rows before they were combined
    """

    rows: RowArrays
    value: FloatArray
    noise: FloatArray
    alone: FloatArray
    prior: PriorArrays
    seen: int

    def variance(self, theta: FloatArray) -> FloatArray:
        """(K, J) noise of every row for particles theta (K, 14)."""
        return self._noise(self.noise, theta) + self._bent(theta)

    def alone_log_likelihood(self, theta: FloatArray) -> FloatArray:
        """Log likelihood (K,) of the rows left out, up to a constant."""
        variance = self._alone_variance(theta)
        return np.asarray(-0.5 * np.sum(self.alone[:, 4] * np.log(variance) + self.alone[:, 5] / variance, axis=1))

    def alone_squares(self, theta: FloatArray) -> FloatArray:
        """Sum (K,) of squares of the rows left out, each over its variance."""
        return np.asarray(np.sum(self.alone[:, 5] / self._alone_variance(theta), axis=1))

    def _alone_variance(self, theta: FloatArray) -> FloatArray:
        if not len(self.alone):
            return np.ones((len(theta), 0))
        return self._noise(self.alone[:, :4], theta) + self._bent(theta)[:, self.alone[:, 6].astype(np.intp)]

    def _noise(self, noise: FloatArray, theta: FloatArray) -> FloatArray:
        off = theta[:, Theta.MISLED] < self.prior.misled[0]
        archer, shafts = np.exp(2.0 * theta[:, [Theta.SCATTER, Theta.SHAFTS]]).T
        each = np.column_stack([archer, off, shafts])
        return np.asarray(noise[:, 0] + each @ noise[:, 1:].T)

    def _bent(self, theta: FloatArray) -> FloatArray:
        """(K, J) variance that comes from answers being straight lines only near the setup of interest."""
        variance = np.empty((len(theta), len(self.value)))
        fill_bent(self.rows, np.ascontiguousarray(theta), self.prior, variance)
        return variance


def combine(kernel: Kernel, rows: Rows, value: FloatArray, noises: Sequence[Noise], prior: PriorArrays) -> Combined:
    """``rows`` with values (J,) and noises, those of one column, plane and noise combined."""
    arrays = row_arrays(kernel, rows)
    # What the kept components leave out of the physics counts as noise of every row.
    rest = kernel.rest[rows.column, rows.plane]
    noise = np.array([(n.fixed, n.archer, n.misled, n.shafts) for n in noises], dtype=float).reshape(-1, 4)
    noise[:, 0] += rest
    alike: dict[tuple[object, ...], list[int]] = {}
    for j in range(len(rows)):
        alike.setdefault((rows.column[j], rows.plane[j], *noise[j], *rows.shafts[j]), []).append(j)
    whole, turned, values, alone = [], [], [], []
    first: list[int] = []
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
        if len(told) < len(group):
            squares = max(float(value[group] @ value[group] - told @ told), 0.0)
            alone.append((*noise[group[0]], len(group) - len(told), squares, len(first)))
        first += [group[0]] * len(told)
    number = arrays.number[first]
    number[:, 9] = np.concatenate(whole) if whole else 0.0
    few = arrays._replace(
        plane=arrays.plane[first],
        weight=arrays.weight[first],
        number=number,
        turned=np.concatenate(turned) if turned else arrays.turned,
        shafts=arrays.shafts[first],
        away=arrays.away[first],
    )
    told_values = np.concatenate(values) if values else value
    return Combined(few, told_values, noise[first], np.array(alone, dtype=float).reshape(-1, 7), prior, len(rows))
