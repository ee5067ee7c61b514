"""Rows and kernels of no bow in particular, for what is only algebra."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spinewright.belief import GAP_DISTANCE, ResponsePrior, What
from spinewright.belief.design import Kernel, Rows, prior_arrays
from spinewright.belief.physics import Output
from tests.belief.benches import BOW_CHECK, CONTACT_CHECK, bench_archer

__all__ = ["OF_PRIOR", "OUTPUTS", "PRIOR", "some_kernel", "some_rows"]

FloatArray = NDArray[np.float64]
PRIOR = ResponsePrior.of(bench_archer(), BOW_CHECK, CONTACT_CHECK)
OF_PRIOR = prior_arrays(PRIOR)
OUTPUTS = tuple(
    Output(0, what, distance)
    for what, distance in ((What.GAP, GAP_DISTANCE), (What.BARE_TEAR, 1.83), (What.LEAN, GAP_DISTANCE))
)


def some_kernel(m: int, rng: np.random.Generator) -> Kernel:
    """A kernel of ``m`` components, not of any bow."""
    q = len(OUTPUTS)
    shape = (q, 2)
    return Kernel(
        OUTPUTS,
        0.01 * rng.standard_normal(shape),
        0.02 * rng.standard_normal((m, *shape)),
        1e-6 * rng.random(shape),
        rng.standard_normal((30, m)),
        rng.random(shape),
        rng.random(shape),
        np.ones(30, dtype=bool),
    )


def some_rows(turns: FloatArray, rng: np.random.Generator) -> Rows:
    """Two rows for each of ``turns`` of the nock, of any output."""
    j = 2 * len(turns)
    return Rows(
        np.repeat(rng.integers(0, len(OUTPUTS), size=len(turns)), 2),
        np.tile([0, 1], len(turns)),
        0.01 * rng.standard_normal((j, 4)),
        1e-3 * rng.standard_normal(j),
        np.repeat(turns, 2),
        np.repeat(rng.uniform(0.0, 0.06, len(turns)), 2),
        np.repeat(rng.uniform(-1.0, 1.0, (len(turns), 3)), 2, axis=0),
        np.column_stack([0.01 * rng.standard_normal((j, 5)) * (rng.random((j, 1)) < 0.7), rng.integers(1, 4, j)]),
    )
