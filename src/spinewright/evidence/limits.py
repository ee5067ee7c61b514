"""What a measurement can plausibly be: the limits outside which a number is a slip of the pen, and the check itself."""

from __future__ import annotations

from math import isfinite, radians

from spinewright.errors import EvidenceError, Place

__all__ = [
    "ANGLE_MOST",
    "HOLE_MOST",
    "IMPACTS_MOST",
    "LEAN_MOST",
    "PAPER_DISTANCE",
    "SPEED",
    "SPEED_DOUBT",
    "TARGET_DISTANCE",
    "TEAR_MOST",
    "shaft_number",
    "within",
]

# All of them 'common practice': wide enough for anything ever logged, narrow enough to catch inches read as metres.
TARGET_DISTANCE = (1.5, 100.0)  # [m]
PAPER_DISTANCE = (1.0, 30.0)  # [m]
HOLE_MOST = 3.0  # [m] from the aiming spot, each way
TEAR_MOST = 0.3  # [m] each way
LEAN_MOST = radians(45.0)  # [rad]
ANGLE_MOST = radians(360.0)  # [rad] either way
SPEED = (20.0, 150.0)  # [m/s]
SPEED_DOUBT = (0.01, 15.0)  # [m/s]
IMPACTS_MOST = 100_000


def within(field: str, value: float, limits: tuple[float, float], what: str, right: str) -> None:
    """Refuse ``value`` when it is not a finite number inside ``limits`` (same unit, ends included).

    ``what`` names the quantity with its article ('the distance'), ``right`` says what would do.

    Raises:
        EvidenceError: naming ``field`` and the value.
    """
    low, high = limits
    if not isfinite(value):
        raise EvidenceError(f"{what} is not a number", right, Place(field=field))
    if not low <= value <= high:
        raise EvidenceError(f"{what} cannot be {value:.6g}", right, Place(field=field))


def shaft_number(shaft: int) -> None:
    """Refuse a shaft number that is not a whole number from 1 up.

    Raises:
        EvidenceError: naming the field and the number.
    """
    if isinstance(shaft, bool) or not isinstance(shaft, int) or shaft < 1:
        raise EvidenceError(
            f"a shaft cannot have the number {shaft!r}",
            "number the shafts 1, 2, 3 and so on, so that an odd one can be found",
            Place(field="shaft"),
        )
