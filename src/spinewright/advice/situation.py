"""What the adviser knows of the person's situation beside the evidence."""

from __future__ import annotations

from dataclasses import dataclass

from spinewright.equipment import Archer, Head, Purpose, Setup, Shaft, TimeAtHand
from spinewright.evidence import History
from spinewright.units import INCH

__all__ = ["Situation"]


@dataclass(frozen=True, slots=True)
class Situation:
    """Everything advice is given on.

    heads_owned      points and weights the person owns, beside the one on the arrow
    shafts_owned     other shafts at hand (longer, stiffer or weaker)
    safe_length [m]  shortest safe carbon length, from the mark made on the arrow at full draw; None = no mark yet
    last_good        the setup of the last walk that was within tolerance, if any
    budget           share of hunts that may end too short, for the WHOLE hunt
    distance    [m]  where the archer tests
    rest_known       False when the rest was moved by clicks of unknown size: then nothing is concluded from it
    """

    archer: Archer
    history: History
    purpose: Purpose = Purpose.TARGET
    time: TimeAtHand = TimeAtHand.AFTERNOON
    heads_owned: tuple[Head, ...] = ()
    shafts_owned: tuple[Shaft, ...] = ()
    safe_length: float | None = None
    last_good: Setup | None = None
    budget: float = 0.02
    distance: float = 20 * 0.9144
    rest_known: bool = True

    @property
    def now(self) -> Setup:
        """The present setup."""
        return self.history.now

    @property
    def aim(self) -> tuple[float, float]:
        """Where the gap should end [m at 20 yd]: nowhere for targets, slightly stiff for fixed blades."""
        if self.purpose is Purpose.FIXED_BLADES:
            return (0.5 * INCH, 0.2 * INCH)
        return (0.0, 0.0)
