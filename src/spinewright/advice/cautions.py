"""The cautions that belong to a move and to the arrow as it is; usual safety practice of the trade."""

from __future__ import annotations

from spinewright.advice.moves import Move, MoveKind
from spinewright.advice.situation import Situation
from spinewright.equipment import HeadKind, LimitState, Purpose, ShaftMaterial, safety_limits
from spinewright.units import System

__all__ = ["cautions_for"]

#: Moves that leave bow and arrow as they are and are shot.
_SHOT_AS_IT_IS = (MoveKind.SHOOT, MoveKind.STEP_BACK, MoveKind.CHECK_CONTACT, MoveKind.TURN_NOCK)
_SHOOTING_BARE = (
    "Bare shafts only at a backstop that forgives a wide miss, each at its own aiming spot; never a broadhead on an "
    "unfletched shaft."
)
_CUT = (
    "Before the saw: the shortest safe length stands marked on the arrow, and this cut leaves more than that.",
    "At the saw wear a dust mask and eye protection; carbon dust is harmful.",
    "After the cut: square the end, seat the nock fully, find and mark its best angle again, flex and look at it.",
)
_MARK = (
    "Be at full draw only facing a backstop, with a helper who makes the mark and a whole arrow with its nock seated.",
)
_CARBON = "Flex and look at a carbon shaft after every hard or sideways hit; a damaged one is broken and thrown away."
_BOLTS = "Stay within the bow maker's limits for the limb bolts; press work is for a qualified technician."
_WEAK_FIXED = "A weak arrow with fixed blades groups nowhere and steers wide: do not shoot heads before it reads stiff."


def cautions_for(move: Move, situation: Situation, system: System) -> tuple[str, ...]:
    """Cautions for doing ``move`` now, the gravest first."""
    found = [
        limit.sentence(system)
        for bare in (False, True)
        for limit in safety_limits(situation.now, bare=bare)
        if limit.state is LimitState.BROKEN
    ]
    if situation.safe_length is not None and situation.now.build.carbon_length < situation.safe_length - 1e-6:
        found.append("The shaft is shorter than its marked shortest safe length: do not draw it.")
    if move.kind is MoveKind.CUT:
        found += _CUT
    if move.kind is MoveKind.MARK_LENGTH:
        found += _MARK
    if move.kind is MoveKind.BOLTS or move.kind is MoveKind.TECHNICIAN:
        found.append(_BOLTS)
    if move.kind not in (MoveKind.CHECK_BOW, MoveKind.STOP, MoveKind.KEEP, MoveKind.SHOOTER, MoveKind.TECHNICIAN):
        found.append(_SHOOTING_BARE)
    if move.after is not None or move.kind in _SHOT_AS_IT_IS:
        if situation.now.build.shaft.material is not ShaftMaterial.ALUMINIUM:
            found.append(_CARBON)
        found.append("The range's rules and the bow maker's limits stand above this advice.")
    if situation.purpose is Purpose.FIXED_BLADES or situation.now.build.head.kind is HeadKind.FIXED:
        found.append(_WEAK_FIXED)
    return tuple(dict.fromkeys(found))
