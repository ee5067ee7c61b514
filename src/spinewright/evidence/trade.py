"""What the trade reads from holes, tails and leaning nocks, as data, and the reading of one set of observations.

Signs are for the right-handed frame. 'Common practice, no published source': the sideways sign is sound, the height
sign is weak, because height is mostly nock height, timing and rest drop.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import radians

from spinewright.evidence.noise import tear_noise

__all__ = ["SIGN_TABLE", "SignRow", "TradeKind", "TradeNoise", "TradeReading", "trade_reading"]

SOURCE = "common practice"


class TradeKind(StrEnum):
    """How the trade would call what was seen."""

    STIFF = "stiff"
    WEAK = "weak"
    HEIGHT_ONLY = "height only"
    NOT_SPINE = "not a spine pattern"
    STANDING_STRAIGHT = "to the side but standing straight"
    DISAGREE = "hole, tail and nock do not agree"
    WITHIN_SCATTER = "within scatter"


@dataclass(frozen=True, slots=True)
class SignRow:
    """One line of the trade's table: signs, left and up positive, ``None`` where the trade says nothing.

    hole_y, hole_z   bare hole against the fletched ones
    tail_y, tail_z   where the tail of a paper tear points (tail_z only 'perhaps a little')
    lean_y           where the nock leans in the target
    rest_y, rest_z   which way the rest is moved to close the gap (rest_z only after timing, nock height and rest drop)
    """

    kind: TradeKind
    hole_y: int
    hole_z: int | None
    tail_y: int | None = None
    tail_z: int | None = None
    lean_y: int | None = None
    rest_y: int | None = None
    rest_z: int | None = None
    source: str = SOURCE


SIGN_TABLE: tuple[SignRow, ...] = (
    SignRow(TradeKind.STIFF, hole_y=+1, hole_z=+1, tail_y=-1, tail_z=-1, lean_y=-1, rest_y=+1),
    SignRow(TradeKind.WEAK, hole_y=-1, hole_z=-1, tail_y=+1, tail_z=+1, lean_y=+1, rest_y=-1),
    SignRow(TradeKind.STANDING_STRAIGHT, hole_y=+1, hole_z=None, lean_y=0, rest_y=-1),
    SignRow(TradeKind.STANDING_STRAIGHT, hole_y=-1, hole_z=None, lean_y=0, rest_y=+1),
    SignRow(TradeKind.NOT_SPINE, hole_y=+1, hole_z=-1),
    SignRow(TradeKind.NOT_SPINE, hole_y=-1, hole_z=+1),
    SignRow(TradeKind.HEIGHT_ONLY, hole_y=0, hole_z=-1, rest_z=+1),
    SignRow(TradeKind.HEIGHT_ONLY, hole_y=0, hole_z=+1, rest_z=-1),
)


@dataclass(frozen=True, slots=True)
class TradeNoise:
    """Below which each component counts as nothing: ``gap_y``, ``gap_z``, ``tail`` [m], ``lean`` [rad]."""

    gap_y: float
    gap_z: float
    tail: float = tear_noise()
    lean: float = radians(1.0)


@dataclass(frozen=True, slots=True)
class TradeReading:
    """The trade's reading, the row of :data:`SIGN_TABLE` behind it (``None`` when none), why, and where it is from."""

    kind: TradeKind
    row: SignRow | None
    because: str
    source: str = SOURCE


@dataclass(frozen=True, slots=True)
class _Signs:
    hole_y: int
    hole_z: int
    tail_y: int | None
    lean_y: int | None


def trade_reading(
    gap_y: float,
    gap_z: float,
    noise: TradeNoise,
    *,
    tail_y: float | None = None,
    lean_y: float | None = None,
) -> TradeReading:
    """How the trade reads a gap of bare from fletched [m], a bare tail [m] and a nock's lean [rad].

    ``None`` = not seen, or seen where it is worth nothing (a bag). A tail is the better witness than a nock: it
    decides between them. Signs for the right-handed frame.
    """
    signs = _Signs(
        hole_y=_sign(gap_y, noise.gap_y),
        hole_z=_sign(gap_z, noise.gap_z),
        tail_y=None if tail_y is None else _sign(tail_y, noise.tail),
        lean_y=None if lean_y is None else _sign(lean_y, noise.lean),
    )
    return _side_in_line(signs) if signs.hole_y == 0 else _to_the_side(signs)


def _side_in_line(signs: _Signs) -> TradeReading:
    """Holes in line sideways: the tail alone may still speak, else only height is left."""
    if signs.tail_y:
        row = next(r for r in SIGN_TABLE if r.tail_y == signs.tail_y)
        return TradeReading(row.kind, row, "the tail tears to the side although the holes are in line")
    if signs.hole_z:
        row = next(r for r in SIGN_TABLE if r.kind is TradeKind.HEIGHT_ONLY and r.hole_z == signs.hole_z)
        because = "only the height differs, which is nock height, timing, rest drop, contact or form before spine"
        return TradeReading(row.kind, row, because)
    return TradeReading(TradeKind.WITHIN_SCATTER, None, "bare and fletched differ by no more than the shots scatter")


def _to_the_side(signs: _Signs) -> TradeReading:
    spine = next(r for r in SIGN_TABLE if r.kind in (TradeKind.STIFF, TradeKind.WEAK) and r.hole_y == signs.hole_y)
    if signs.hole_z == -signs.hole_y:
        row = next(r for r in SIGN_TABLE if r.kind is TradeKind.NOT_SPINE and r.hole_y == signs.hole_y)
        because = "side and height do not go together as spine makes them; nock height, timing, contact or form do this"
        return TradeReading(row.kind, row, because)
    if signs.tail_y and spine.tail_y != signs.tail_y:
        return TradeReading(TradeKind.DISAGREE, None, "the holes lie on the side that the tail tears to, not opposite")
    if signs.tail_y:
        return TradeReading(spine.kind, spine, "holes and tails point opposite ways, as spine and rest make them")
    if signs.lean_y == 0:
        row = next(r for r in SIGN_TABLE if r.kind is TradeKind.STANDING_STRAIGHT and r.hole_y == signs.hole_y)
        return TradeReading(row.kind, row, "the holes are to the side but the shafts stand straight")
    if signs.lean_y is not None and signs.lean_y != spine.lean_y:
        because = "the nocks lean to the side that the holes are on; the target may have turned the arrows"
        return TradeReading(TradeKind.DISAGREE, None, because)
    if signs.lean_y is not None:
        return TradeReading(spine.kind, spine, "the nocks lean opposite to where the holes are")
    return TradeReading(spine.kind, spine, "the holes are to the side; no tail or lean was seen to confirm it")


def _sign(value: float, noise: float) -> int:
    return 0 if abs(value) <= noise else (1 if value > 0 else -1)
