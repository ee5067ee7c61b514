"""What can be changed on a bow, or between bow, archer and arrows, that nothing shot before wholly holds for."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Changed"]


class Changed(StrEnum):
    """What was changed on the bow, or who shoots what."""

    STRING = "string"
    WEIGHT = "weight"
    CAM = "cam"
    REST = "rest"
    ARCHER = "archer"
    BOW = "bow"
