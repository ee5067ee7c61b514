"""Numbers as both faces hand them on: SI values beside their texts, left and right as the archer sees them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from spinewright.units import Hand, Kind, System, show, show_distance, show_offset

__all__ = ["SI_UNITS", "Json", "Voice", "headed"]

Json = dict[str, object]
"""An object as ``json`` writes it: texts, numbers, booleans, lists and objects."""

SI_UNITS: Mapping[Kind, str] = MappingProxyType(
    {
        Kind.LENGTH: "m",
        Kind.DISTANCE: "m",
        Kind.MASS: "kg",
        Kind.FORCE: "N",
        Kind.SPEED: "m/s",
        Kind.ANGLE: "rad",
        Kind.LINEAR_DENSITY: "kg/m",
        Kind.SPINE: "m",
        Kind.AREA: "m2",
        Kind.FRACTION: "1",
        Kind.ENERGY: "J",
        Kind.MOMENTUM: "kg m/s",
        Kind.TIME: "s",
        Kind.FREQUENCY: "Hz",
        Kind.MASS_PER_FORCE: "kg/N",
    }
)
"""The SI unit in which a kind of quantity stands in every result."""


def headed(name: str, version: int, body: Json) -> Json:
    """``body`` under the name and version of the schema it keeps."""
    return {"schema": f"spinewright/{name}", "version": version, **body}


@dataclass(frozen=True, slots=True)
class Voice:
    """Whose left and right, and whose units."""

    hand: Hand
    system: System

    def quantity(self, value: float, kind: Kind, digits: int | None = None) -> Json:
        """One quantity given in SI."""
        return {
            "value": float(value),
            "unit": SI_UNITS[kind],
            "text": show(float(value), kind, self.system, digits=digits),
        }

    def there(self, distance: float) -> Json:
        """A distance to a target [m], worded as it is called where it is shot."""
        return {**self.quantity(distance, Kind.DISTANCE), "text": show_distance(distance, self.system)}

    def maybe(self, value: float | None, kind: Kind) -> Json | None:
        """One quantity, or None where it is not known."""
        return None if value is None else self.quantity(value, kind)

    def interval(self, middle: float, low: float, high: float, kind: Kind) -> Json:
        """A middle and the bounds of the central 80 %, all in SI."""
        texts = [show(float(v), kind, self.system, digits=self._digits(kind)) for v in (middle, low, high)]
        return {
            "middle": float(middle),
            "low": float(low),
            "high": float(high),
            "unit": SI_UNITS[kind],
            "text": f"{texts[0]} ({texts[1]} to {texts[2]})",
        }

    def offset(self, place: tuple[float, float], kind: Kind = Kind.LENGTH) -> Json:
        """A place (y, z) of the right-handed frame: ``left`` and ``up`` in SI as this archer sees them."""
        y, z = float(place[0]), float(place[1])
        return {
            "left": self._left(y),
            "up": z,
            "unit": SI_UNITS[kind],
            "text": show_offset(y, z, self.hand, self.system, kind=kind),
        }

    def forecast(self, middle: tuple[float, float], low: tuple[float, float], high: tuple[float, float]) -> Json:
        """A place with the bounds of its central 80 %; for a left-hander the sideways bounds change places."""
        sides = (low[0], high[0]) if self.hand is Hand.RIGHT else (high[0], low[0])
        return {
            "middle": self.offset(middle),
            "low": self.offset((sides[0], low[1])),
            "high": self.offset((sides[1], high[1])),
        }

    def _left(self, y: float) -> float:
        return y * self.hand.sideways_sign if y else 0.0

    def _digits(self, kind: Kind) -> int | None:
        if kind is not Kind.LENGTH:
            return None
        return 2 if self.system is System.INCH else 0
