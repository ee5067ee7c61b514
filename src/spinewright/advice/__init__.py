"""The moves a person can make, their cost and what cannot be undone; choosing one; explaining it.

Lives here: candidate moves, what may not be proposed, the weighing one move ahead, the words. Does not live here:
storage, screens, or what is believed (``belief``).
"""

from spinewright.advice.choosing import Advice, Refused, advise, candidate_moves, ground_for
from spinewright.advice.diagnosis import Diagnosis, Reading, diagnose, shots_to_know
from spinewright.advice.moves import Move, MoveKind
from spinewright.advice.situation import Situation
from spinewright.advice.weighing import GOOD_GAP, Weighed
from spinewright.advice.words import Explanation, explain

__all__ = [
    "GOOD_GAP",
    "Advice",
    "Diagnosis",
    "Explanation",
    "Move",
    "MoveKind",
    "Reading",
    "Refused",
    "Situation",
    "Weighed",
    "advise",
    "candidate_moves",
    "diagnose",
    "explain",
    "ground_for",
    "shots_to_know",
]
