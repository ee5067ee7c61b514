"""What can be chosen for a forgiveness map: whose mistakes are made, and how large each is."""

from __future__ import annotations

from spinewright.logbook import SkillLevel
from spinewright.units import System
from spinewright.workflow.benches.examples import example_in
from spinewright.workflow.mistake_sizes import SIZES
from spinewright.workflow.showing import Json

__all__ = ["mistakes_json"]

_WHO = {
    SkillLevel.LEARNING: "an archer who is still learning",
    SkillLevel.STEADY: "a steady club archer",
    SkillLevel.EXPERT: "an expert",
}


def mistakes_json(system: System) -> Json:
    """The levels by their keys, '' = judged by the archer's own groups, and the mistakes that can be given a size."""
    own: list[Json] = [{"key": "", "words": "an archer who groups as you do"}]
    return {
        "levels": own + [{"key": str(level), "words": who} for level, who in _WHO.items()],
        "sizes": [
            {"key": key, "what": field.what, "example": example_in(field.kind, field.example, system)}
            for key, field in SIZES.items()
        ],
    }
