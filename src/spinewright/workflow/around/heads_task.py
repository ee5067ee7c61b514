"""Says what broadheads do against field points of the same weight, and what the tune aims at for fixed blades."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import GRAIN, Kind, System, show, show_distance
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.heads_found import Found, Logged, find
from spinewright.workflow.around.heads_tables import (
    ALWAYS,
    distance_words,
    ends,
    far,
    groups,
    length,
    paper,
    place,
    plot,
    sizes,
    span,
)
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.equipment import Head
    from spinewright.outlook import Range

__all__ = ["account"]

_EDGE = 1.2816  # sds of a normal that hold the central 80 %
_NEAREST, _FURTHEST = 5.0, 100.0  # m
_MOST_EACH = 12
_SAME_MASS = 1.5 * GRAIN
#: Where an answer of the head goes, by the name the head itself gives it.
_FIELDS = {
    "point weight": "mass",
    "length of the point": "long",
    "area of one blade": "blade-area",
    "number of blades": "blades",
    "cutting width": "width",
    "kind of head": "blades",
}


def account(state: BenchState, answers: Answers, progress: Callable[[float], None]) -> Account:
    """Foretold, logged, and the aim. Raises InputError, or SolveError where too few bows have an answer."""
    from spinewright.outlook.heads import steady
    from spinewright.workflow.situations import situation_of

    voice = Voice(state.scope.hand, state.scope.system)
    head, each = _head(state, answers), answers.whole("each")
    if not 1 <= each <= _MOST_EACH:
        raise InputError(f"'{each}' of each is not shot at a walk", f"write 1 to {_MOST_EACH}", Place(field="each"))
    situation = situation_of(state)
    distance = answers.maybe("distance") or situation.distance
    if not _NEAREST <= distance <= _FURTHEST:
        raise InputError(
            f"nobody shoots heads from {show_distance(distance, voice.system)}",
            "write a distance from 6 to 109 yd",
            Place(field="distance"),
        )
    if not steady(state.now, head):
        return _unsteady(answers.task.title)
    found = find(situation, head, distance)
    progress(1.0)
    return Account(
        "heads",
        answers.task.title,
        _answer(state, found, voice),
        _sentences(state, found, each, voice),
        tuple(table for table in (sizes(found, voice), ends(found, voice), groups(found, voice)) if table.rows),
        (plot(found, voice),),
        _cautions(state, answers, found, voice),
        (*_RESTS, _aimed_at(voice)),
        (paper(found, head, each, voice),),
    )


_RESTS = (
    "Head and field point are flown from the same release, over bows that could all be yours; how askew the arrow "
    "leaves follows the gap between bare and fletched that this bow has shown. In brackets what holds in four cases "
    "of five.",
    "Folded blades of a mechanical head steer next to nothing here; one that opens early is not in it.",
    "The head is the one you stated; where nothing was stated, an invented one of middling size with three blades.",
    "A head that is not straight on its shaft, an insert that is not square and vanes that touch are not in it: spin "
    "every head first. Practice reports more than this computes.",
)


def _aimed_at(voice: Voice) -> str:
    size = "half an inch" if voice.system is System.INCH else "13 mm"
    return f"That fixed blades want a slightly stiff arrow is common practice; {size} is the size this program aims at."


def _unsteady(title: str) -> Account:
    answer = "Do not shoot this head: the vanes of this arrow do not turn it back with blades so large in front."
    return Account(
        "heads",
        title,
        answer,
        cautions=(
            "An arrow that its vanes do not steady can go anywhere: larger or more vanes, or a smaller head.",
            *ALWAYS,
        ),
        rests_on=_RESTS[2:4],
    )


def _head(state: BenchState, answers: Answers) -> Head:
    """The head that was stated, over the one on the arrow, over one of middling size."""
    from spinewright.equipment import HeadKind
    from spinewright.outlook import fixed_head

    kind = HeadKind.FIXED if answers.choice("kind") == "fixed" else HeadKind.MECHANICAL
    on_arrow = state.now.build.head
    base = on_arrow if on_arrow.kind is kind else fixed_head(on_arrow.mass)
    stated = {
        "blade_count": None if answers.maybe("blades") is None else answers.whole("blades"),
        "blade_area": answers.maybe("blade-area"),
        "width": answers.maybe("width"),
        "length": answers.maybe("long"),
    }
    if kind is HeadKind.MECHANICAL and base is not on_arrow:
        base = replace(base, blade_area=3e-5, blade_count=2, width=0.016)  # folded; invented, of middling size
    try:
        replace(base, mass=answers.maybe("mass") or base.mass)
        return replace(base, kind=kind, mass=on_arrow.mass, **{k: v for k, v in stated.items() if v is not None})  # type: ignore[arg-type]
    except InputError as error:
        field = _FIELDS.get(error.place.field or "", "kind")
        raise InputError(f"{error.place.field}: {error.what}", error.right, Place(field=field)) from None


def _angle(value: Range, voice: Voice) -> str:
    return " to ".join(show(v, Kind.ANGLE, voice.system, digits=1) for v in (value.low, value.high))


def _percent(share: float) -> str:
    return "over 99 %" if share > 0.99 else f"{100 * share:.0f} %"


def _answer(state: BenchState, found: Found, voice: Voice) -> str:
    first = found.effects.heads[0]
    told = (
        f"At {distance_words(found.effects.distance, voice)} the head is foretold {far(first.far, voice)} away from a "
        "field point of the same weight."
    )
    why = _not_yet(state, found)
    return f"No fixed blades with this arrow yet: {why}. {told}" if why else told


def _not_yet(state: BenchState, found: Found) -> str:
    """Why fixed blades are not shot yet; '' where nothing known speaks against it."""
    from spinewright.equipment import HeadKind, LimitKind, LimitState, safety_limits

    if found.effects.heads[0].head.kind is not HeadKind.FIXED:
        return ""
    if any(one.what is LimitKind.WEAKEST_SPINE and one.state is LimitState.BROKEN for one in safety_limits(state.now)):
        return "its shaft is weaker than the maker allows"
    if found.shot:
        return "bare lies to the weak side of fletched" if found.weak >= 0.5 else ""
    if found.weak >= 0.5:
        return "its shaft most likely leaves this bow too bent"
    return "nothing that was shot shows that it is not weak"


def _sentences(state: BenchState, found: Found, each: int, voice: Voice) -> tuple[str, ...]:
    from spinewright.equipment import Purpose
    from spinewright.evidence import shots_needed

    said = (
        []
        if found.shot
        else [
            "Nothing was shot with this setup yet, so all of this is foretold from bow and arrow alone: shoot bare "
            "and fletched with field points first."
        ]
    )
    turn = found.effects.turn
    said.append(
        f"The arrow leaves askew by {_angle(turn, voice)} in its first swing; each degree carries this head "
        f"{far(_times(found.effects.heads[0].per_turn), voice)} at {distance_words(found.effects.distance, voice)}."
    )
    aim = place(*found.stiff_aim, voice)
    said.append(
        f"For fixed blades the tune aims at a slightly stiff arrow, bare {aim} of fletched at 20 yd; yours is believed "
        f"at {span(found.gap_sideways, voice)}, {span(found.gap_height, voice, height=True)}."
    )
    if state.scope.purpose is Purpose.FIXED_BLADES:
        said.append("The tune of this bench aims there already.")
    else:
        said.append(
            "The tune of this bench aims at bare on fletched; with the purpose 'fixed-blade heads' it aims there."
        )
    said += [_verdict(one, found, voice) for one in found.logged]
    if not found.logged:
        sd = found.scatter * found.effects.distance
        inch = 0.0254 * max(1.0, found.effects.distance / 18.288)
        said.append(
            f"No groups with both heads are logged yet. With your scatter about {shots_needed(sd, inch)} arrows of "
            f"each show a difference of {length(inch, voice)} at {distance_words(found.effects.distance, voice)}; "
            f"{each} know it to {length(_EDGE * sd * (2 / each) ** 0.5, voice)} each way."
        )
    return tuple(said)


def _times(per_turn: Range) -> Range:
    """Per radian to per degree."""
    from spinewright.outlook import Range
    from spinewright.units import DEGREE

    return Range(per_turn.middle * DEGREE, per_turn.low * DEGREE, per_turn.high * DEGREE)


def _verdict(one: Logged, found: Found, voice: Voice) -> str:
    from spinewright.evidence import more_shots, shots_needed

    gap, test = one.gap, one.gap.best
    where = f"{distance_words(gap.distance, voice)}{'' if one.now else ', with an earlier setup'}"
    told = (
        f"At {where}, {gap.bare.count} with the {one.kind.value} lay {place(gap.y, gap.z, voice)} from "
        f"{gap.fletched.count} with field points"
    )
    if test.p_value is None:
        return f"{told}: {test.why_not}"
    ellipse = test.ellipse
    known = "" if ellipse is None else f", known to {length(ellipse.major, voice)}"
    if test.p_value >= 0.05:
        needed = shots_needed(found.scatter * gap.distance, max(gap.size, 0.01))
        more = more_shots(needed, gap.bare.count, gap.fletched.count)
        again = f"; about {more} more of each would show one as large" if 0 < more <= 60 else ""
        return f"{told}{known}: no more than your scatter makes{again}."
    if one.foretold is None:
        return f"{told}{known}: beyond your scatter."
    seen, foretold = gap.size, one.foretold.heads[0].far
    half = 0.0 if ellipse is None else ellipse.major
    agrees = seen - half <= foretold.high and seen + half >= foretold.low
    verdict = "as foretold" if agrees else "not as foretold, so trust the groups"
    return f"{told}{known}: beyond your scatter, and {verdict}: {far(foretold, voice)}."


def _weak(found: Found) -> list[str]:
    """The warning of a weak arrow under fixed blades, with how likely it is."""
    care = "A weak arrow with fixed blades goes astray: bring it to the slightly stiff side with field points first."
    share = _percent(found.weak)
    if found.shot:
        said = f"In {share} of what fits everything shot, bare lies well to the weak side of fletched. {care}"
        return [said] if found.weak >= 0.1 else []
    bent = f"; in {share} of the bows that could be yours this shaft leaves more bent than a sound one"
    return [f"Nobody knows yet whether this arrow is weak, and most that were never cut are{bent}. {care}"]


def _cautions(state: BenchState, answers: Answers, found: Found, voice: Voice) -> tuple[str, ...]:
    from spinewright.equipment import HeadKind, LimitKind, LimitState, safety_limits

    said = []
    for one in safety_limits(state.now):
        weakest = one.what is LimitKind.WEAKEST_SPINE and one.state is LimitState.UNKNOWN
        if one.state is LimitState.BROKEN or weakest:
            said.append(one.sentence(voice.system))
    if found.effects.heads[0].head.kind is HeadKind.FIXED:
        said += _weak(found)
    mass = answers.maybe("mass")
    if mass is not None and abs(mass - state.now.build.head.mass) > _SAME_MASS:
        said.append(
            f"The head weighs {show(mass, Kind.MASS, voice.system)}, the point on the arrow "
            f"{show(state.now.build.head.mass, Kind.MASS, voice.system)}: that is another arrow. What follows is for "
            "the same weight."
        )
    return (*said, *ALWAYS)
