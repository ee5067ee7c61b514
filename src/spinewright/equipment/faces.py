"""Target faces and what a circular normal scatter scores on them.

Ring sizes: World Archery rulebook, Book 2 (the 122 cm rings published; the smaller faces from memory of the same book).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from spinewright.equipment.plausible import check_range, refuse
from spinewright.units import Kind

__all__ = ["FACES", "Face", "expected_score", "face_named", "zone_shares"]


@dataclass(frozen=True, slots=True)
class Face:
    """A target face: ``rings`` are (score, radius [m]) from the middle outward; ``inner_ten`` [m] is the X's radius.

    Between two radii the outer one's score counts; outside the last one nothing does.
    """

    name: str
    rings: tuple[tuple[int, float], ...]
    inner_ten: float

    @property
    def highest(self) -> int:
        """Highest score of one arrow."""
        return self.rings[0][0]


def _face(name: str, step: float, lowest: int, inner_ten: float) -> Face:
    """Rings from 10 down to ``lowest``, ``step`` [m] wide in radius each."""
    rings = tuple((score, (11 - score) * step) for score in range(10, lowest - 1, -1))
    return Face(name, rings, inner_ten)


def _inner_ten_face(face: Face, name: str) -> Face:
    """The compound archer's indoor scoring: only the inner ten is a 10, the rest of the ten ring a 9."""
    outer = tuple((score, radius) for score, radius in face.rings if score < 10)
    return Face(name, ((10, face.inner_ten), *outer), face.inner_ten)


_PLAIN = (
    _face("122 cm", 0.061, 1, 0.0305),
    _face("80 cm", 0.040, 1, 0.020),
    _face("80 cm six-ring", 0.040, 5, 0.020),
    _face("60 cm", 0.030, 1, 0.015),
    _face("60 cm triple", 0.030, 6, 0.015),
    _face("40 cm", 0.020, 1, 0.010),
    _face("40 cm triple", 0.020, 6, 0.010),
)
FACES: tuple[Face, ...] = (
    *_PLAIN,
    *(_inner_ten_face(face, f"{face.name}, inner ten") for face in _PLAIN if face.name[:2] in {"60", "40"}),
)


def face_named(name: str, *, field: str = "face") -> Face:
    """The face called ``name``; EquipmentError with the known names otherwise."""
    wanted = " ".join(name.lower().split())
    for face in FACES:
        if face.name == wanted:
            return face
    refuse(field, f"no face is called '{name}'", "choose one of " + "; ".join(face.name for face in FACES))
    raise AssertionError  # refuse always raises


def zone_shares(
    face: Face, scatter: float, offset: tuple[float, float] = (0.0, 0.0), shaft_diameter: float = 0.0
) -> dict[int, float]:
    """Probability of each score on one arrow, 0 for a miss included.

    ``scatter`` [m] is the one-axis sd of a circular normal at the target, centred ``offset`` [m] from the middle. A
    shaft that touches a line counts for the higher zone, so each ring is larger by half of ``shaft_diameter`` [m].
    """
    check_range("scatter at the target", scatter, 1e-5, 100.0, Kind.LENGTH)
    away = math.hypot(*offset)
    shares: dict[int, float] = {}
    inside = 0.0
    for score, radius in face.rings:
        within = _within(radius + shaft_diameter / 2.0, scatter, away)
        shares[score] = max(within - inside, 0.0)
        inside = within
    shares[0] = max(1.0 - inside, 0.0)
    return shares


def expected_score(
    face: Face, scatter: float, offset: tuple[float, float] = (0.0, 0.0), shaft_diameter: float = 0.0
) -> float:
    """Mean score of one arrow; arguments as for :func:`zone_shares`."""
    return sum(score * share for score, share in zone_shares(face, scatter, offset, shaft_diameter).items())


def _within(radius: float, scatter: float, away: float) -> float:
    """P(r < radius): Rayleigh about the middle, noncentral chi-square with 2 degrees of freedom off it."""
    if away == 0.0:
        return -math.expm1(-(radius**2) / (2.0 * scatter**2))
    from scipy.special import chndtr

    return float(chndtr((radius / scatter) ** 2, 2.0, (away / scatter) ** 2))
