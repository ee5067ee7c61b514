"""From release to paper and target: the body in the air, drag, cross-flow, vanes, heads, wind; and closed forms.

Here live :func:`flight_body` (an arrow as the air sees it), :func:`fly` (a batch of flights in one compiled kernel)
and what can be said without integrating. Nothing here knows of bows, strokes, evidence or anything above; a release
state comes in as plain arrays. Sight line, bow cant and hand are none of this room's business.
"""

from spinewright.flight.air import AIR_DENSITY, AIR_VISCOSITY, GRAVITY, nominal_flight
from spinewright.flight.along_wind import Blown, blown
from spinewright.flight.body import FlightBody, drag_coefficient, flight_body
from spinewright.flight.closed_forms import YawTurn, coast, decay_rate, drift, trim_angle, turn_of_fletched
from spinewright.flight.trajectory import fly
from spinewright.flight.values import FlightParameters, FlightResult

__all__ = [
    "AIR_DENSITY",
    "AIR_VISCOSITY",
    "GRAVITY",
    "Blown",
    "FlightBody",
    "FlightParameters",
    "FlightResult",
    "YawTurn",
    "blown",
    "coast",
    "decay_rate",
    "drag_coefficient",
    "drift",
    "flight_body",
    "fly",
    "nominal_flight",
    "trim_angle",
    "turn_of_fletched",
]
