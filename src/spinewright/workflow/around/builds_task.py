"""Ranks the arrows a person could build from their own shafts and points, and says which cannot be told apart."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from spinewright.equipment import Face, HeadKind, Purpose, face_named
from spinewright.equipment.limits import REACH_MARGIN
from spinewright.errors import EquipmentError, InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import YARD
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.build_lists import Built, OwnHead, OwnShaft, heads_of, rebuilt, shafts_of
from spinewright.workflow.around.build_order import Ranked
from spinewright.workflow.around.build_tables import account_of
from spinewright.workflow.around.looked_up import Rule, kept_rules
from spinewright.workflow.situations import situation_of

if TYPE_CHECKING:
    from spinewright.outlook import Use

__all__ = ["account"]

_MOST = 40  # builds in one comparison


@dataclass(frozen=True, slots=True)
class _Purpose:
    """What a purpose takes when nothing is answered: distance [m] and face; what is misjudged; which heads."""

    distance: float
    face: str
    misjudged: str
    head: HeadKind = HeadKind.FIELD


# Compound rounds of 18 m on 40 cm and 50 m on the 80 cm six-ring face: World Archery rulebook, Book 2 (from memory);
# the other distances are common practice.
_PURPOSES: Mapping[str, _Purpose] = MappingProxyType(
    {
        "indoor spots": _Purpose(18.0, "40 cm triple, inner ten", ""),
        "field or 3-d": _Purpose(40.0 * YARD, "60 cm", "range"),
        "long shots in wind": _Purpose(50.0, "80 cm six-ring", "wind"),
        "fixed heads": _Purpose(30.0 * YARD, "", "range", HeadKind.FIXED),
        "mechanical heads": _Purpose(30.0 * YARD, "", "range", HeadKind.MECHANICAL),
    }
)


def account(state: BenchState, answers: Answers, progress: Callable[[float], None]) -> Account:
    """The builds in order of what they are worth for the purpose. Raises InputError with line and column."""
    from spinewright.outlook import Comparison, compare

    wish, situation = answers.choice("for"), situation_of(state)
    purpose = _PURPOSES[wish]
    built, impossible = _builds(state, shafts_of(state, answers), heads_of(state, answers, purpose.head))
    mark, rule = state.safe_length, None if answers.has("widest-shaft") else _thickest(state)
    asked = Comparison(
        history=situation.history,
        archer=state.archer,
        arrows=tuple(one.setup for one in built),
        use=_use(answers, purpose),
        shortest=state.now.rest_reach + REACH_MARGIN if mark is None else mark,
        marked=mark is not None,
        aim=replace(situation, purpose=_aimed(purpose.head)).aim,
        widest=answers.maybe("widest-shaft") if rule is None else rule.bound,
    )
    found = compare(asked, progress) if built else ()
    if not found:
        raise InputError("no listed arrow can be built for this bow", impossible[0][1], Place(field="shafts"))
    pairs = tuple(zip(built, found, strict=True))
    return account_of(state, answers.task.title, Ranked(wish, asked, pairs, tuple(impossible), rule))


def _thickest(state: BenchState) -> Rule | None:
    """The kept limit that allows the thinnest shafts only; None where none was kept."""
    kept = [rule for rule in kept_rules(state, "shaft diameter") if not rule.least]
    return min(kept, key=lambda rule: rule.bound, default=None)


def _aimed(head: HeadKind) -> Purpose:
    return Purpose.FIXED_BLADES if head is HeadKind.FIXED else Purpose.TARGET


def _builds(
    state: BenchState, shafts: tuple[OwnShaft, ...], heads: tuple[OwnHead, ...]
) -> tuple[list[Built], list[tuple[str, str]]]:
    """Every shaft with every head, uncut; and those that cannot be, each with the reason."""
    if len(shafts) * len(heads) > _MOST:
        raise InputError(
            f"{len(shafts)} shafts and {len(heads)} points make {len(shafts) * len(heads)} builds",
            f"at most {_MOST} at once: leave out what you would not shoot",
            Place(field="shafts"),
        )
    built, impossible = [], []
    for shaft in shafts:
        for head in heads:
            costs = [one for one in (shaft.cost, head.cost) if one is not None]
            name = f"{shaft.name}, {head.name}"
            try:
                setup = rebuilt(state.now, shaft, head.head, shaft.shaft.uncut_length or state.now.build.carbon_length)
            except EquipmentError as error:
                impossible.append((name, f"{error.what[:1].upper()}{error.what[1:]}."))
                continue
            built.append(Built(name, setup, sum(costs) if len(costs) == 2 else None))
    return built, impossible


def _use(answers: Answers, purpose: _Purpose) -> Use:
    """What the arrows are shot at. Raises InputError for what cannot be compared."""
    from spinewright.outlook import Use

    distance = answers.maybe("distance") or purpose.distance
    if not 5.0 <= distance <= 120.0:
        raise InputError("that distance cannot be compared", "between 5 and 120 m", Place(field="distance"))
    further = answers.maybe("drop-to") or 1.1 * distance
    if not distance < further <= 1.5 * distance:
        raise InputError(
            "drop is counted to a distance that is longer, by half at the most", "write for example one a tenth longer",
            Place(field="drop-to"),
        )  # fmt: skip
    wind = answers.quantity("wind")
    if not 0.1 <= wind <= 15.0:
        raise InputError("that crosswind cannot be compared", "between 0.1 and 15 m/s", Place(field="wind"))
    share = answers.quantity("range-error")
    if not 0.0 <= share <= 0.3:
        raise InputError("nobody judges a distance that badly", "at most 30 %", Place(field="range-error"))
    return Use(
        distance=distance,
        further=further,
        wind=wind,
        range_error=share if purpose.misjudged == "range" else 0.0,
        wind_error=answers.quantity("wind-error") if purpose.misjudged == "wind" else 0.0,
        face=_face(answers, purpose),
    )


def _face(answers: Answers, purpose: _Purpose) -> Face | None:
    """The face points are counted on; game has none."""
    name = answers.text("face") or purpose.face
    return face_named(name) if name and purpose.face else None
