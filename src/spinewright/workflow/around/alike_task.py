"""Makes a set alike: which shafts go together, which stay out, where weight helps, and what that gains."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from spinewright.equipment import LimitState, ShaftMaterial, safety_limits
from spinewright.errors import EquipmentError, InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import Kind, System, show
from spinewright.workflow.around import alike_tables as tables
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.shaft_list import Listed, listed_shafts, shafts_of
from spinewright.workflow.showing import Voice
from spinewright.workflow.situations import situation_of

if TYPE_CHECKING:
    from spinewright.outlook.alike import Group, Moves, Shafts

__all__ = ["account"]

_DISTANCE = (5.0, 120.0)  # m
_WORTH = 0.9  # weight is worth adding when it leaves this share of the spread or less
#: Weight that screws in behind the points is handier, so the nocks have to be better by this factor: less is
#: within what a few dozen bows tell.
_HANDIER = 1.25
_ALONE = 0.75  # one shaft is named as the odd one when the set without it spreads this share or less


def account(state: BenchState, answers: Answers, progress: Callable[[float], None]) -> Account:
    """The groups and what they gain. Raises InputError with line and column."""
    from spinewright.outlook.alike import Asked, chosen_groups, moves_of

    listed = listed_shafts(answers)
    count, sets = min(answers.whole_between("count", 2, 144), len(listed.numbers)), answers.whole_between("sets", 1, 6)
    situation = situation_of(state)
    distance = answers.maybe("distance") or situation.distance
    if not _DISTANCE[0] <= distance <= _DISTANCE[1]:
        raise InputError("nothing can be said at that distance", "between 5 and 120 m", Place(field="distance"))
    blades = answers.choice("heads") == "fixed-blade heads"
    asked = Asked(situation.history, state.archer, distance, blades)
    progress(0.05)
    moves = moves_of(asked)
    progress(0.6)
    shafts = shafts_of(listed, upright=answers.choice("stiff-sides") == "upright")
    groups = chosen_groups(shafts, moves, count, sets, lambda share: progress(0.6 + 0.35 * share))
    step = answers.quantity("step")
    if not 6e-6 <= step <= 6.5e-3:
        raise InputError("no weight is that small or that large", "between 0.1 and 100 gr", Place(field="step"))
    weights = [_weights(listed, shafts.only(one.which), one, moves, step) for one in groups]
    voice = Voice(state.scope.hand, state.scope.system)
    found = tables.Sorted(listed, shafts, moves, tuple(groups), tuple(weights), distance, blades)
    return Account(
        "alike",
        answers.task.title,
        tables.answer(found, voice.system),
        (*_sentences(found, state, voice),),
        tables.all_tables(found, voice),
        tables.plots(found, voice),
        _cautions(state, listed, voice),
        _rests(found),
        (tables.paper(found, voice),),
    )


def _weights(listed: Listed, shafts: Shafts, group: Group, moves: Moves, step: float) -> tables.Weights | None:
    """What to add to each shaft of a group, where that is worth it."""
    import numpy as np

    from spinewright.outlook.alike import weighted

    if listed.mass is None:
        return None
    added = np.round((shafts.mass.max() - shafts.mass) / step) * step
    if not added.any():
        return None
    ways = {front: weighted(shafts, moves, added, front=front) for front in (True, False)}
    front = ways[True].middle <= _HANDIER * ways[False].middle
    after = ways[front]
    worth = after.middle <= _WORTH * group.spread.middle
    return tables.Weights(tuple(float(one) for one in added), front, after, worth)


def _sentences(found: tables.Sorted, state: BenchState, voice: Voice) -> list[str]:
    from spinewright.outlook.values import Range
    from spinewright.outlook.words import show_range

    system = voice.system
    own, doubt = 2.0**0.5 * state.archer.scatter * found.distance, math.exp(1.2816 * state.archer.scatter_doubt)
    ours = show_range(Range(own, own / doubt, own * doubt), system)
    said = [
        f"Your own shooting spreads by {ours} there, counted the same way. The two add by their squares, so the "
        "smaller one hardly shows."
    ]
    said += [tables.weight_sentence(k, found, system) for k in range(len(found.groups)) if found.weights[k] is not None]
    said += _odd_one(found, system)
    if found.listed.uneven:
        said.append(
            f"These arrows differ by {show(found.listed.uneven, Kind.LENGTH, system)} in length, and what that does is "
            "not in the numbers: cut them alike first, then weigh them again."
        )
    if found.left:
        said.append(
            "What is left out lies furthest from the set and need not be bad: the table says how far and by what. "
            "Shafts as near as the set is wide serve as spares."
        )
    open_ = max((one.gap for one in found.groups if not one.proven), default=0.0)
    if open_:
        said.append(
            f"The search was stopped before its end: another choice may be better by up to {100 * open_:.1f} %."
        )
    return said + _other_shaft(found, state, system)


def _odd_one(found: tables.Sorted, system: System) -> list[str]:
    """Where every shaft had to go in: whether one of them alone makes most of the spread."""
    from spinewright.outlook.alike import spread_of
    from spinewright.outlook.words import show_range

    first = found.groups[0]
    if len(first.which) < len(found.listed.numbers) or len(first.which) < 4:
        return []
    every = range(len(first.which))
    without = [(spread_of(found.shafts.only([j for j in every if j != k]), found.moves), k) for k in every]
    least, k = min(without, key=lambda one: one[0].middle)
    if least.middle > _ALONE * first.spread.middle:
        return []
    number = found.listed.numbers[k]
    return [f"Shaft {number} alone makes much of that: without it the set spreads {show_range(least, system)}."]


def _other_shaft(found: tables.Sorted, state: BenchState, system: System) -> list[str]:
    spines = found.listed.spines
    if spines is None:
        return []
    mean, ours = sum(spines) / len(spines), state.now.build.shaft.static_spine
    if abs(mean / ours - 1.0) <= 0.1:
        return []
    here, there = (show(one, Kind.SPINE, system) for one in (mean, ours))
    return [
        f"Their mean spine is {here} and this bench's shaft is written down as {there}: see that the spine test is the "
        "one you answered, and that these are its shafts."
    ]


def _cautions(state: BenchState, listed: Listed, voice: Voice) -> tuple[str, ...]:
    said = _limits(state, listed, voice)
    if state.now.build.shaft.material is not ShaftMaterial.ALUMINIUM:
        said.append(
            "Flex and look at every carbon shaft before it goes into a set; a damaged one is broken and thrown away."
        )
        said.append("At the saw wear a dust mask and eye protection; carbon dust is harmful.")
    said.append(
        "Weight is only ever added to reach the heaviest shaft, never taken away: the lightest arrow still has to "
        "weigh what the bow's maker asks for, or 5 gr per lb of measured peak weight."
    )
    return tuple(said)


def _limits(state: BenchState, listed: Listed, voice: Voice) -> list[str]:
    """Limits that the lightest or the weakest shaft breaks."""
    build, said = state.now.build, []
    shaft = build.shaft
    if listed.spines is not None:
        shaft = replace(shaft, static_spine=max(listed.spines))
    if listed.mass is not None and not listed.finished and listed.cut_to is not None:
        density = min(listed.mass) / listed.cut_to
        try:
            shaft = replace(shaft, linear_density=density)
        except EquipmentError as error:
            place = Place(field="shafts")
            raise InputError(error.what, "see that bare shafts were weighed, not arrows", place) from None
    if listed.mass is not None and listed.finished:
        lighter = min(listed.mass) - build.total_mass(bare=False)
        density = shaft.linear_density + lighter / build.carbon_length
        try:
            shaft = replace(shaft, linear_density=density)
        except EquipmentError as error:
            raise InputError(
                "finished arrows cannot weigh that on this bench's build", error.right, Place(field="shafts")
            ) from None
    for limit in safety_limits(replace(state.now, build=replace(build, shaft=shaft))):
        if limit.state is LimitState.BROKEN:
            said.append(f"With the lightest or weakest of these shafts: {limit.sentence(voice.system)}")
    return said


def _rests(found: tables.Sorted) -> tuple[str, ...]:
    said = [
        "What a difference does on the target is worked out for a few dozen bows that fit everything logged so far; "
        "the ranges hold four in five of them. Each difference is taken as small and its effect as straight.",
        "Of all possible sets of that size the one with the least expected spread is searched for to the end, unless "
        "it is said that it was stopped; nothing else is then better by more than 0.1 %. Further sets are the best of "
        "what is left over.",
        "Vanes, nocks, glue and points differ too and are not in these numbers. Which way a shaft bends and, unless "
        "they are turned upright, how stiff sides stand is left to chance.",
    ]
    if found.listed.cut_to is not None:
        said.append("Weights are counted at one length, each shaft taken as equally heavy all along.")
    if found.listed.around is not None:
        said.append(
            "A stiff side is called shown where the tester's own scatter would do it on one of all these shafts less "
            "than once in twenty times. Read a quarter round, a stiff side halfway between two readings is not "
            "seen: read every 45 degrees to be sure of it."
        )
    return tuple(said)
