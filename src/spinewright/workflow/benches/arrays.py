"""Arrays as a page reads them quickly: base64 of little-endian float32."""

from __future__ import annotations

from base64 import b64encode

import numpy as np
from numpy.typing import NDArray

from spinewright.workflow.showing import Json

__all__ = ["array", "numbers"]


def array(values: NDArray[np.float64]) -> Json:
    """``values`` with their shape, in C order, to three figures: what cannot be seen would only be carried about."""
    return {
        "shape": list(values.shape),
        "data": b64encode(np.ascontiguousarray(values, dtype="<f4").tobytes()).decode(),
    }


def numbers(values: NDArray[np.float64], digits: int = 6) -> list[float]:
    """One row of ``values`` as plain numbers, rounded to so many decimals."""
    return [round(float(one), digits) + 0.0 for one in values]
