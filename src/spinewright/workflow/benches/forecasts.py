"""A forecast as the page draws it: its middle, and an ellipse that holds four cases in five."""

from __future__ import annotations

from math import log, pi, sqrt
from typing import Any

from spinewright.workflow.showing import Json

__all__ = ["forecast_json"]

_SHARE = 0.8
# The bounds of one coordinate hold four in five; together they hold less. For a normal belief the ellipse that holds
# four in five of both is larger by the ratio of the two quantiles.
_WIDER = sqrt(-2.0 * log(1.0 - _SHARE)) / 1.2815515655446004


def forecast_json(forecast: Any) -> Json:  # noqa: ANN401 - a forecast of json.md
    """``{gap, ellipse}`` of a forecast with middle, low and high, left and up."""
    middle, low, high = forecast["middle"], forecast["low"], forecast["high"]
    wide = abs(high["left"] - low["left"]) / 2.0 * _WIDER
    tall = abs(high["up"] - low["up"]) / 2.0 * _WIDER
    x, y = -(low["left"] + high["left"]) / 2.0 + 0.0, (low["up"] + high["up"]) / 2.0
    return {
        "gap": {"x": -middle["left"] + 0.0, "y": middle["up"], "text": middle["text"]},
        "ellipse": {
            "x": x,
            "y": y,
            "major": max(wide, tall),
            "minor": min(wide, tall),
            "angle": 0.0 if wide >= tall else pi / 2.0,
            "share": _SHARE,
        },
    }
