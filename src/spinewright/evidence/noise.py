"""How well each kind of reading can be read: one standard deviation per axis, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, radians

from spinewright.equipment.virtual_mass import CHRONOGRAPH_OFF
from spinewright.evidence.values import TargetKind, Tear

__all__ = [
    "HOLE",
    "LEAN",
    "SPEED",
    "SPEED_COMMON",
    "TEAR_BENDING",
    "TEAR_READING",
    "Noise",
    "lean_noise",
    "tear_is_weak",
    "tear_noise",
]

FLETCHED_PAPER_MOST = 15 * 0.3048  # [m] beyond it the vanes have straightened the arrow (common practice)


@dataclass(frozen=True, slots=True)
class Noise:
    """One standard deviation ``sd`` of one axis of a reading, in SI, and where the number comes from."""

    sd: float
    source: str


HOLE = Noise(0.003, "from memory: the middle of a hole is read to about half a shaft's diameter")
TEAR_READING = Noise(0.1 * 0.0254, "from memory: a torn edge is read to about a tenth of an inch")
TEAR_BENDING = Noise(
    0.1 * 0.0254,
    "computed: 0.2 to 2.3 mm of bending left at the nock of a simulated arrow swings its tail by up to 0.1 in on paper",
)
SPEED = Noise(0.6, "from memory: a chronograph repeats to about 2 ft/s")
SPEED_COMMON = Noise(
    CHRONOGRAPH_OFF,
    "from memory: chronographs are sold as right to half a percent, and one reading is off as the next; share of the "
    "speed, what all readings of one setup have in common",
)
LEAN = {
    TargetKind.FRESH_FOAM: Noise(radians(1.0), "from memory: the lean of a nock is judged by eye to about a degree"),
    TargetKind.LAYERED: Noise(radians(1.5), "from memory: layers turn the shaft a little more than solid foam"),
}


def lean_noise(target: TargetKind, square_to_line: bool = True) -> Noise | None:
    """What a nock's lean in ``target`` is known to, sd [rad]; ``None`` where it is worth nothing.

    Fresh solid foam and layered mesh, square to the line, keep the arrow as it flew; a bag, straw and worn foam turn
    it (common practice).
    """
    return LEAN.get(target) if square_to_line and target.lean_counts else None


def tear_noise() -> float:
    """One sd per axis [m] of a single paper tear: reading the edge, and the bending left in the shaft."""
    return hypot(TEAR_READING.sd, TEAR_BENDING.sd)


def tear_is_weak(tear: Tear) -> bool:
    """Whether the tear says little: fletched and beyond 15 ft, where the vanes have straightened it."""
    return not tear.bare and tear.distance > FLETCHED_PAPER_MOST
