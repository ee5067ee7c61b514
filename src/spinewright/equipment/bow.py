"""The bow: its draw curve, its string, its rest, and what its maker allows."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Bow", "CurveShape", "ForceReading", "Rest", "RestKind", "SpeedReading"]


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


@dataclass(frozen=True, slots=True)
class SpeedReading:
    """One chronograph reading: ``arrow_mass`` [kg], ``speed`` [m/s], ``doubt`` [m/s] (one sd)."""

    arrow_mass: float
    speed: float
    doubt: float = 0.6


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
    turns_allowed     [1]  how many turns out the maker allows; None = not known
    lightest_arrow    [kg] maker's lightest arrow; None = not known
    weakest_spine     [m]  maker's (or shaft chart's) weakest allowed static spine; None = not known
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
