"""Reads [archer]: the scatter of one person's own arrows, from a group, a score or a rough level."""

from __future__ import annotations

from types import MappingProxyType

from spinewright.equipment import (
    Archer,
    doubt_of_group,
    doubt_of_score,
    face_named,
    scatter_from_group,
    scatter_from_score,
)
from spinewright.errors import Place, SessionFileError
from spinewright.logbook.keys import SkillLevel
from spinewright.logbook.session import Scope
from spinewright.logbook.table import Table

__all__ = ["LEVEL_SCATTER", "read_archer", "read_face"]

LEVEL_SCATTER: MappingProxyType[SkillLevel, float] = MappingProxyType(
    {SkillLevel.LEARNING: 3.0e-3, SkillLevel.STEADY: 1.5e-3, SkillLevel.EXPERT: 0.8e-3}
)
"""[rad] one-axis sd of each level (from memory: 1.5 mrad is about 600 of 720 at 70 m)."""

_LEVEL_DOUBT = 0.5  # one sd of ln(scatter) when only a level is known (from memory)
_GROUP_NAMES = MappingProxyType(
    {
        "size of the group": "group",
        "distance of the group": "group_distance",
        "number of shots in the group": "group_shots",
    }
)
_SCORE_NAMES = MappingProxyType(
    {
        "face": "score_face",
        "number of arrows in the round": "score_arrows",
        "distance of the round": "score_distance",
        "highest score of the round": "score_maximum",
    }
)
_GROUP = ("group", "group_shots", "group_distance")
_SCORE = ("score", "score_maximum", "score_arrows", "score_face", "score_distance")


def read_archer(table: Table, scope: Scope, shaft_diameter: float) -> Archer:
    """The archer of [archer]; the group counts before the score, the score before the level.

    ``shaft_diameter`` [m] matters for a score: a shaft that touches a line counts for the higher ring.
    """
    if any(table.given(name) for name in _GROUP):
        scatter, doubt = _from_group(table)
    elif any(table.given(name) for name in _SCORE):
        scatter, doubt = _from_score(table, shaft_diameter)
    elif table.given("level"):
        scatter, doubt = LEVEL_SCATTER[table.word(SkillLevel)("level")], _LEVEL_DOUBT
    else:
        raise SessionFileError(
            "[archer] does not say how closely you shoot",
            "fill in group, group_shots and group_distance, or a score, or level",
            Place(field="archer"),
        )
    with table.placed():
        return Archer(
            hand=scope.hand,
            release=scope.release,
            scatter=scatter,
            scatter_doubt=doubt,
            name=table.get("name", table.text, ""),
        )


def read_face(table: Table) -> str:
    """The name of the face in [archer], checked even where the group counts before the score; '' = not said."""
    name = table.get("score_face", table.text, "")
    with table.placed(_SCORE_NAMES):
        return name if not name or face_named(name) else ""


def _from_group(table: Table) -> tuple[float, float]:
    shots = table.whole("group_shots")
    with table.placed(_GROUP_NAMES):
        scatter = scatter_from_group(table.quantity("group"), shots, table.quantity("group_distance"))
        return scatter, doubt_of_group(shots)


def _from_score(table: Table, shaft_diameter: float) -> tuple[float, float]:
    score, maximum, arrows = (table.whole(name) for name in ("score", "score_maximum", "score_arrows"))
    distance = table.quantity("score_distance")
    with table.placed(_SCORE_NAMES):
        face = face_named(table.text("score_face"))
        scatter = scatter_from_score(score, maximum, arrows, face, distance, shaft_diameter)
        return scatter, doubt_of_score(scatter, arrows, face, distance, shaft_diameter)
