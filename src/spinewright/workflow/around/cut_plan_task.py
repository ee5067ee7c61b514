"""Where to cut test shafts first, how many steps remain, and when another point is better; with a card to print."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from spinewright.errors import EquipmentError, InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import INCH, Kind, parse
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.cut_card import card_of
from spinewright.workflow.around.cut_words import answer_of, cautions_of, plot_of, rests_of, sentences_of, tables_of
from spinewright.workflow.showing import Voice
from spinewright.workflow.situations import situation_of

__all__ = ["account"]


def account(state: BenchState, answers: Answers, progress: Callable[[float], None]) -> Account:
    """The plan for the shafts as they are. Raises InputError with the question, SolveError without an answer."""
    from spinewright.outlook.cutting import CutWish, cut_plan

    situation = situation_of(state)
    expected, step, spare = answers.maybe("expected"), answers.quantity("step"), answers.quantity("spare")
    _check(expected is None or 0.4 <= expected <= 0.9, "expected", "no shaft ends at that length", "write 28 in")
    _check(0.25 * INCH <= step <= 1.0 * INCH, "step", "that is no step to cut by", "between 1/4 in and 1 in")
    _check(0.0 <= spare <= 4.0 * INCH, "spare", "nobody leaves a test shaft that much longer", "between 0 in and 4 in")
    heads = list(situation.heads_owned)
    for line in answers.lines("point"):
        try:
            heads.append(replace(state.now.build.head, mass=parse(line, Kind.MASS)))
        except (InputError, EquipmentError) as error:
            raise type(error)(error.what, error.right, Place(field="point")) from None
    plan = cut_plan(situation, CutWish(expected, spare, step, tuple(heads)), progress)
    voice = Voice(state.scope.hand, state.scope.system)
    said = expected is not None or state.history.expected_length is not None
    cautions = cautions_of(plan, state)
    return Account(
        "cut-plan",
        answers.task.title,
        answer_of(plan, voice, step),
        sentences_of(plan, voice, step, said=said),
        tables_of(plan, voice),
        (plot_of(plan, voice),),
        cautions,
        rests_of(plan, voice),
        (card_of(plan, voice, cautions),),
    )


def _check(holds: bool, field: str, what: str, right: str) -> None:
    if not holds:
        raise InputError(what, right, Place(field=field))
