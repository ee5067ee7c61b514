"""The steps from the bench as it stands back to earlier settings, one sentence each, in the archer's words."""

from __future__ import annotations

from math import remainder, tau

from spinewright.advice import Move, MoveKind
from spinewright.advice.phrases import Style, move_phrase
from spinewright.equipment import Setup
from spinewright.logbook import BenchState
from spinewright.units import Kind, show

__all__ = ["back_to"]

_NOTHING = 1e-7  # m, rad or turns


def back_to(good: Setup, state: BenchState) -> list[str]:
    """One sentence for every knob that stands elsewhere than in ``good``; another arrow comes last."""
    now, style = state.now, Style(state.scope.hand, state.scope.system)
    turned = remainder(good.nock_angle - now.nock_angle, tau)
    moves: tuple[tuple[MoveKind, float, Setup | None], ...] = (
        (MoveKind.REST_SIDEWAYS, good.rest_y - now.rest_y, None),
        (MoveKind.REST_HEIGHT, good.rest_z - now.rest_z, None),
        (MoveKind.NOCK_POINT, good.nock_z - now.nock_z, None),
        (MoveKind.BOLTS, good.bolt_turns - now.bolt_turns, None),
        (MoveKind.TURN_NOCK, turned if good.build.shaft == now.build.shaft else 0.0, good),
    )
    if not state.rest_known:
        moves = moves[2:]
    steps = [move_phrase(Move(kind, to, by, 0.0), now, style) for kind, by, to in moves if abs(by) > _NOTHING]
    if not state.rest_known:
        steps.insert(0, "Set the rest by the recorded centre shot: how far it was moved is not known.")
    if good.build != now.build:
        length = show(good.build.carbon_length, Kind.LENGTH, style.system)
        mass = show(good.build.head.mass, Kind.MASS, style.system)
        steps.append(f"Shoot arrows built as they were then ({length} of shaft, {mass} point).")
    return steps
