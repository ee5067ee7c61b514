"""What an ablation changes of the adviser: one of its parts left out, or one step of looking ahead more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from enum import StrEnum
from typing import Any
from unittest.mock import patch

import numpy as np

from spinewright.advice import weighing
from spinewright.belief import Sighting
from spinewright.belief.aiming import Aim
from spinewright.belief.physics import Physics, run_physics
from spinewright.belief.response import ResponsePrior
from spinewright.equipment import Archer
from spinewright.evidence import BowCheck, ContactCheck, Evidence, History, Visit

__all__ = ["Without", "eyes", "parts_to_leave_out", "without"]


#: How many moves ahead the product looks, by the name of its setting.
_DEPTH = "LOOK_AHEAD"


class Without(StrEnum):
    """What is left out; the product looks one step ahead, and without that limit two."""

    NOTHING = "nothing"
    PHYSICS = "the physics"
    SLOPES = "the learnt slopes"
    LEAN = "the nock's lean"
    AIM = "the aim of other walks"
    LOOK_AHEAD = "the look ahead"
    SECOND_STEP = "the limit to one step ahead"


def parts_to_leave_out() -> tuple[Without, ...]:
    """Every ablation."""
    return tuple(part for part in Without if part is not Without.NOTHING)


def eyes(history: History, part: Without) -> History:
    """The history as the adviser sees it: without leans when those are left out."""
    if part is not Without.LEAN:
        return history
    return replace(history, seen=tuple(replace(s, what=_straight(s.what)) for s in history.seen))


def _straight(what: Evidence) -> Evidence:
    if not isinstance(what, Visit):
        return what
    return replace(what, impacts=tuple(replace(i, lean_y=None, lean_z=None) for i in what.impacts))


@contextmanager
def without(part: Without) -> Iterator[None]:
    """Inside, the adviser works without ``part``."""
    with ExitStack() as stack:
        if part is Without.PHYSICS:
            stack.enter_context(patch("spinewright.belief.eras.run_physics", _no_physics))
        if part is Without.SLOPES:
            stack.enter_context(patch("spinewright.belief.believe.ResponsePrior", _NoSlopes))
        if part is Without.AIM:
            stack.enter_context(patch("spinewright.belief.believe.taken_together", _each_alone))
        if part is Without.LOOK_AHEAD:
            stack.enter_context(patch.object(weighing, _DEPTH, 0))
        if part is Without.SECOND_STEP:
            stack.enter_context(patch.object(weighing, _DEPTH, 2))
        yield


def _no_physics(*arguments: Any, **named: Any) -> Physics:  # noqa: ANN401 - handed on as they came
    """The physics run, then every gap, tear and lean put to a sliver of what the bows show (speeds are kept)."""
    physics = run_physics(*arguments, **named)
    silent = np.array(["speed" not in str(o.what) for o in physics.outputs])
    values = physics.values.copy()
    values[:, silent] *= 1e-3
    return replace(physics, values=values)


def _each_alone(sightings: Sequence[Sighting], *_others: object) -> tuple[list[Sighting], Aim]:
    """Every walk told by its own fletched arrows."""
    return list(sightings), Aim()


class _NoSlopes:
    """Stands in for the prior of the learnt part: the same with every slope next to nothing."""

    @staticmethod
    def of(
        archer: Archer, bow: BowCheck | None, contact: ContactCheck | None, **known: bool | float | None
    ) -> ResponsePrior:
        prior = ResponsePrior.of(archer, bow, contact, **known)  # type: ignore[arg-type]  # handed on as they came
        slopes = tuple(replace(s, middle=1e-3 * s.middle) for s in prior.slopes)
        return replace(prior, slopes=slopes)  # type: ignore[arg-type]  # four slopes in, four out
