"""Axes, signs and hands: what left and right mean, and the mirror between hands.

Seen from behind the bow at full draw: x forward, y to the archer's left, z up. Everything below the
logbook works in the *right-handed frame*: a left-hander's sideways numbers are mirrored (y -> -y) when
events are replayed, and mirrored back when they are put into words. That one mirror is why a left-hander's
session gives exactly the mirrored advice.
"""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Hand", "height_word", "side_word"]


class Hand(StrEnum):
    """The bow's hand: a right-handed bow is held in the left hand and drawn with the right."""

    RIGHT = "right"
    LEFT = "left"

    @property
    def sideways_sign(self) -> float:
        """+1 for a right-hander, -1 for a left-hander; multiplies y on the way in and on the way out."""
        return 1.0 if self is Hand.RIGHT else -1.0

    @property
    def other(self) -> Hand:
        """The other hand."""
        return Hand.LEFT if self is Hand.RIGHT else Hand.RIGHT


def side_word(y: float, hand: Hand = Hand.RIGHT) -> str:
    """'left' or 'right' as the archer sees it, for ``y`` [any unit] in the right-handed frame."""
    return "left" if y * hand.sideways_sign >= 0 else "right"


def height_word(z: float) -> str:
    """'high' or 'low' for ``z`` [any unit], positive up."""
    return "high" if z >= 0 else "low"
