"""The bow: its draw curve, its string, its rest, and what its maker allows."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from spinewright.equipment.plausible import both, check_count, check_range, refuse
from spinewright.errors import Place, ScopeError
from spinewright.units import GRAIN, INCH, POUND_FORCE, Kind

__all__ = [
    "DRAW_ALLOWANCE",
    "Bow",
    "BowKind",
    "CurveShape",
    "ForceReading",
    "Rest",
    "RestKind",
    "SpeedReading",
]

DRAW_ALLOWANCE = 1.75 * INCH  # stated draw length less this is nock point to grip pivot (ASTM F1880)
HIGHEST_WEIGHT = 100.0 * POUND_FORCE
LOWEST_WEIGHT = 8.0 * POUND_FORCE
_FEWEST_READINGS = 5
_AT_BRACE = 0.003  # m, how far a reading may lie outside the stroke before it is a mistake and not a rounding
_SHORT_OF_FULL = 1.5 * INCH  # m, how far before full draw the last reading may be


class BowKind(StrEnum):
    """What kind of bow; only the compound is supported."""

    COMPOUND = "compound"
    RECURVE = "recurve"
    LONGBOW = "longbow"


class CurveShape(StrEnum):
    """A plainly named shape for a draw curve that was not measured."""

    GENTLE = "gentle"  # long rise, short plateau, long valley
    MIDDLING = "middling"
    HARD = "hard"  # short steep rise, long plateau, short valley


class RestKind(StrEnum):
    """How the rest lets go of the shaft."""

    DROP_AWAY = "drop-away"
    BLADE = "blade"  # a launcher that stays up
    CONTAINED = "contained"  # bristles or a ring that stay around the shaft


@dataclass(frozen=True, slots=True)
class ForceReading:
    """One reading of the draw-force scale: ``draw`` [m] nock point to grip pivot, ``force`` [N]."""

    draw: float
    force: float

    def __post_init__(self) -> None:
        check_range("draw of a force reading", self.draw, 3.0 * INCH, 34.0 * INCH, Kind.LENGTH)
        check_range("force of a force reading", self.force, 0.0, 1.1 * HIGHEST_WEIGHT, Kind.FORCE)


@dataclass(frozen=True, slots=True)
class SpeedReading:
    """One chronograph reading: ``arrow_mass`` [kg], ``speed`` [m/s], ``doubt`` [m/s] (one sd)."""

    arrow_mass: float
    speed: float
    doubt: float = 0.6

    def __post_init__(self) -> None:
        check_range("arrow mass of a chronograph reading", self.arrow_mass, 150 * GRAIN, 1000 * GRAIN, Kind.MASS)
        check_range("chronograph reading", self.speed, 20.0, 130.0, Kind.SPEED)
        check_range("doubt of a chronograph reading", self.doubt, 0.05, 10.0, Kind.SPEED)


@dataclass(frozen=True, slots=True)
class Rest:
    """The arrow rest.

    kind
    ahead       [m]  contact point in front of the grip pivot (negative: behind)
    drops_after [m]  forward travel of the nock from full draw at which a drop-away lets go; None = not known
    per_click   [m]  travel per click of the sideways and height adjustments; None = not known
    """

    kind: RestKind
    ahead: float = 0.0
    drops_after: float | None = None
    per_click_sideways: float | None = None
    per_click_height: float | None = None

    def __post_init__(self) -> None:
        check_range("rest's place ahead of the grip pivot", self.ahead, -7.0 * INCH, 4.0 * INCH, Kind.LENGTH)
        if self.drops_after is not None:
            check_range("travel at which the rest drops", self.drops_after, 0.25 * INCH, 28.0 * INCH, Kind.LENGTH)
            if self.kind is not RestKind.DROP_AWAY:
                refuse(
                    "travel at which the rest drops",
                    f"a {self.kind} rest does not drop",
                    "leave it out, or say that the rest is a drop-away",
                )
        for name, click in (("sideways", self.per_click_sideways), ("in height", self.per_click_height)):
            if click is not None:
                check_range(f"rest's travel per click {name}", click, 1e-5, 3e-3, Kind.LENGTH)


@dataclass(frozen=True, slots=True)
class Bow:
    """A compound bow as it stands, measured.

    peak_weight       [N]  on a scale
    let_off           [1]  (peak - holding) / peak
    draw_length       [m]  as the trade states it: nock point to grip pivot + 1.75 in (ASTM F1880)
    brace_height      [m]  string to grip pivot at rest
    axle_to_axle      [m]
    curve                  readings from a scale (draw increasing), or a named shape
    string_mass       [kg] the whole string with servings
    on_string         [kg] loop, nock sets and what else moves with the nock
    peep_mass         [kg] peep and tubing, ``peep_above`` [m] above the nock
    weight_per_turn   [N]  of both limb bolts together; None = not known
    turns_allowed     [1]  how many turns out of tight the maker allows; None = not known
    turns_out_now     [1]  how many turns out of tight both bolts were at the recorded start
    lightest_arrow    [kg] maker's lightest arrow; None = not known
    weakest_spine     [m]  maker's (or shaft chart's) weakest allowed static spine; None = not known
    worked                 how often it was worked on since the recorded start: it is another bow then, even if every
                           number is as it was
    kind                   anything but a compound is refused with a ScopeError

    Raises EquipmentError for what no compound bow can be.
    """

    peak_weight: float
    let_off: float
    draw_length: float
    brace_height: float
    axle_to_axle: float
    rest: Rest
    curve: CurveShape | tuple[ForceReading, ...] = CurveShape.MIDDLING
    string_mass: float = 0.0065
    on_string: float = 0.0008
    peep_mass: float = 0.0006
    peep_above: float = 0.13
    weight_per_turn: float | None = None
    turns_allowed: float | None = None
    turns_out_now: float = 0.0
    speeds: tuple[SpeedReading, ...] = ()
    lightest_arrow: float | None = None
    weakest_spine: float | None = None
    name: str = ""
    kind: BowKind = BowKind.COMPOUND
    worked: int = 0

    def __post_init__(self) -> None:
        if self.kind is not BowKind.COMPOUND:
            raise ScopeError(
                f"a {self.kind} is not supported yet",
                "describe a compound bow shot with a release aid",
                Place(field="bow kind"),
            )
        check_range("peak weight", self.peak_weight, LOWEST_WEIGHT, HIGHEST_WEIGHT, Kind.FORCE)
        check_range("let-off", self.let_off, 0.0, 0.95, Kind.FRACTION)
        check_range("draw length", self.draw_length, 17.0 * INCH, 34.0 * INCH, Kind.LENGTH)
        check_range("brace height", self.brace_height, 4.5 * INCH, 11.0 * INCH, Kind.LENGTH)
        check_range("axle-to-axle length", self.axle_to_axle, 20.0 * INCH, 50.0 * INCH, Kind.LENGTH)
        if self.stroke < 5.0 * INCH:
            refuse(
                "draw length",
                f"a draw length of {both(self.draw_length, Kind.LENGTH)} leaves no power stroke "
                f"in front of a brace height of {both(self.brace_height, Kind.LENGTH)}",
                "measure both from the grip pivot, and add 1.75 in to the draw length only",
            )
        check_count("how often the bow was worked on", self.worked, 0, 10_000)
        self._check_string()
        self._check_limits()
        if not isinstance(self.curve, CurveShape):
            self._check_readings(self.curve)

    @property
    def nock_to_pivot(self) -> float:
        """Nock point to grip pivot at full draw [m]: the stated draw length less 1.75 in (ASTM F1880)."""
        return self.draw_length - DRAW_ALLOWANCE

    @property
    def stroke(self) -> float:
        """Length of the power stroke [m], full draw to brace."""
        return self.nock_to_pivot - self.brace_height

    @property
    def holding_weight(self) -> float:
        """Weight at full draw [N] from peak weight and let-off."""
        return self.peak_weight * (1.0 - self.let_off)

    def _check_string(self) -> None:
        check_range("mass of the string", self.string_mass, 0.001, 0.03, Kind.MASS)
        check_range("mass of what is on the string", self.on_string, 0.0, 0.01, Kind.MASS)
        check_range("mass of the peep", self.peep_mass, 0.0, 0.01, Kind.MASS)
        check_range("height of the peep above the nock", self.peep_above, 0.02, 0.4, Kind.LENGTH)

    def _check_limits(self) -> None:
        if self.weight_per_turn is not None:
            check_range("weight per turn", self.weight_per_turn, 0.2 * POUND_FORCE, 12.0 * POUND_FORCE, Kind.FORCE)
        if self.turns_allowed is not None:
            check_count("turns the maker allows", self.turns_allowed, 0.0, 30.0)
        check_count("turns out at the start", self.turns_out_now, 0.0, 30.0)
        if self.lightest_arrow is not None:
            check_range("maker's lightest arrow", self.lightest_arrow, 80 * GRAIN, 1000 * GRAIN, Kind.MASS)
        if self.weakest_spine is not None:
            check_range("maker's weakest spine", self.weakest_spine, 0.150 * INCH, 2.000 * INCH, Kind.SPINE)

    def _check_readings(self, readings: tuple[ForceReading, ...]) -> None:
        field = "draw-force readings"
        if len(readings) < _FEWEST_READINGS:
            refuse(
                field,
                f"{len(readings)} readings do not make a draw curve",
                "give at least five, or name a shape instead",
            )
        for before, after in pairwise(readings):
            if after.draw <= before.draw:
                refuse(
                    field,
                    f"the draw falls back from {both(before.draw, Kind.LENGTH)} to {both(after.draw, Kind.LENGTH)}",
                    "list the readings from brace to full draw, each at a longer draw than the one before",
                )
            if after.force <= 0.0:
                refuse(field, f"the force at {both(after.draw, Kind.LENGTH)} is zero", "leave out what was not read")
        self._check_span(field, readings)

    def _check_span(self, field: str, readings: tuple[ForceReading, ...]) -> None:
        first, last = readings[0].draw, readings[-1].draw
        if first < self.brace_height - _AT_BRACE:
            refuse(
                field,
                f"the first draw, {both(first, Kind.LENGTH)}, is shorter than the brace height",
                "write the draw as nock point to grip pivot",
            )
        if not -_SHORT_OF_FULL <= last - self.nock_to_pivot <= _AT_BRACE:
            refuse(
                field,
                f"the last draw is {both(last, Kind.LENGTH)}, but full draw is {both(self.nock_to_pivot, Kind.LENGTH)} "
                "from nock point to grip pivot",
                "read the scale up to full draw and no further",
            )
        peak = max(reading.force for reading in readings)
        if not 0.6 <= peak / self.peak_weight <= 1.6:
            refuse(
                field,
                f"the highest reading is {both(peak, Kind.FORCE)}, but the peak weight is "
                f"{both(self.peak_weight, Kind.FORCE)}",
                "read the draw curve again, or correct the peak weight",
            )
