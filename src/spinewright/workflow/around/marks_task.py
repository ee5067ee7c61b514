"""Sight marks from shot marks, a speed and the sight's measures, with gaps, slopes and a strip to print."""

from __future__ import annotations

from collections.abc import Callable
from math import radians
from typing import TYPE_CHECKING

from spinewright.errors import InputError, Place, SolveError
from spinewright.logbook import BenchState
from spinewright.units import Kind, parse, show_distance
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.marks_strip import strip_papers
from spinewright.workflow.around.marks_tables import (
    fit_table,
    marks_plot,
    marks_tables,
    shot_table,
    slope_tables,
    worth,
)
from spinewright.workflow.around.sighting import Sighted, distances_of, sight_of
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.outlook.sight_marks import Known

__all__ = ["account", "safety_of"]

_STEEPEST = radians(60.0)
_MOST_SLOPES = 4
_USUAL_SLOPES = (radians(15.0), radians(30.0))


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """Marks for every distance asked for. Raises InputError."""
    import numpy as np

    voice = Voice(state.scope.hand, state.scope.system)
    sighted = sight_of(state, answers)
    distances = np.array(distances_of(answers.text("distances"), voice.system))
    slopes = _slopes(answers)
    try:
        known = sighted.fit.marks_at(distances)
        sloped = slope_tables(voice, sighted.fit, distances, slopes)
    except SolveError as error:
        raise InputError(error.step, "ask for shorter distances", Place(field="distances")) from error
    shot = [shot_table(voice, sighted)] if sighted.marks else []
    made = fit_table(voice, sighted, float(distances[-1]))
    tables = [*marks_tables(voice, sighted, known), *shot, *sloped, made]
    doubtful = sighted.amiss or len(sighted.odd) > 1
    papers = () if doubtful else strip_papers(voice, state, sighted, distances, answers.choice("strip"))
    said = list(_missing(voice, sighted, known))
    if not papers and not doubtful:
        said.append(
            "No strip is printed, because its length is not known to 5 %: shoot in a near and a far mark, written as "
            "lengths, or measure arrow speed and peep to pin at full draw."
        )
    return Account(
        "marks",
        answers.task.title,
        " ".join([*_contradictions(voice, sighted), *([] if doubtful else [_answer(voice, sighted, known)])]),
        tuple(said),
        tuple(tables),
        (marks_plot(voice, sighted, distances),) if len(distances) > 1 else (),
        cautions=(*safety_of(state), *_CAUTIONS),
        rests_on=_rests(sighted),
        papers=papers,
    )


_CAUTIONS = (
    "Shoot a mark in at the nearest distance first and step back from there, each time with the backstop well behind "
    "the target.",
    "On a slope know what stands behind and below the target: an arrow that misses uphill flies far.",
)


def safety_of(state: BenchState) -> tuple[str, ...]:
    """What is to be said of bow and arrow before anything is shot: the bench's own cautions, and broken limits."""
    from spinewright.equipment import LimitState, safety_limits

    limits = (*safety_limits(state.now), *safety_limits(state.now, bare=True))
    broken = (one.sentence(state.scope.system) for one in limits if one.state is LimitState.BROKEN)
    return tuple(dict.fromkeys((*state.cautions, *broken)))


def _slopes(answers: Answers) -> tuple[float, ...]:
    """Slopes [rad], each up; down goes with it."""
    lines = answers.lines("slope")
    if len(lines) > _MOST_SLOPES:
        raise InputError(f"there are {len(lines)} slopes", f"at most {_MOST_SLOPES}", Place(field="slope"))
    found = []
    for line in lines:
        angle = abs(parse(line, Kind.ANGLE, field="slope"))
        if not 0.0 < angle <= _STEEPEST:
            raise InputError(f"'{line}' is no slope to shoot on", "up to 60 deg", Place(field="slope"))
        found.append(angle)
    return tuple(sorted(dict.fromkeys(found))) or _USUAL_SLOPES


def _answer(voice: Voice, sighted: Sighted, known: Known) -> str:
    first, last = (voice.quantity(known.distance[k], Kind.DISTANCE)["text"] for k in (0, -1))
    span = f"for {first}" if len(known.distance) == 1 else f"from {first} to {last}"
    if not sighted.fit.settled:
        return f"How far the pin moves {span} is worked out, but no reading of your scale: " + (
            "shoot a second mark, or say how far the sight moves for 1." if sighted.marks else "shoot one mark in."
        )
    used = len(sighted.fit.marks)
    worst = int(known.height_sd.argmax())
    off, there = worth(voice, known.height_sd[worst]), voice.quantity(known.distance[worst], Kind.DISTANCE)["text"]
    made = f"{used} shot mark{'s' if used > 1 else ''}"
    if len(known.distance) == 1:
        return f"The mark {span} from {made} is good to {off} high or low on the target in four cases of five."
    return f"Marks {span} from {made}; the least sure is {there}, there within {off} high or low in four cases of five."


def _contradictions(voice: Voice, sighted: Sighted) -> list[str]:
    if sighted.left_out is not None:
        there = show_distance(sighted.marks[sighted.left_out].distance, voice.system)
        return [f"The mark at {there} does not go with everything else and is left out: shoot it again."]
    if sighted.odd:
        names = [show_distance(sighted.marks[k].distance, voice.system) for k in sighted.odd]
        some = " or ".join((", ".join(names[:-1]), names[-1])) if len(names) > 1 else names[0]
        return [
            f"The marks do not go together: {some} is wrong, or the speed or a measure of the sight is, and nobody can "
            "tell which. Look at the speed, and shoot them again."
        ]
    if sighted.amiss:
        return [
            "The marks, the speed and the sight's measures contradict each other, and no single mark mends it: look at "
            "the speed, at the scale and at peep to pin before you trust any of this, the brackets least of all."
        ]
    return []


def _missing(voice: Voice, sighted: Sighted, known: Known) -> list[str]:
    """What would sharpen the marks, and what is read beyond the marks that were shot."""
    from spinewright.outlook.slopes import nearest_rising

    said = []
    turn = nearest_rising(sighted.fit, float(known.distance[-1]))
    if turn > known.distance[0]:
        there = voice.quantity(turn, Kind.DISTANCE)["text"]
        said.append(f"Nearer than about {there} the marks turn back, because the peep stands above the arrow.")
    worst = known.distance[int(known.height_sd.argmax())]
    shot = [mark.distance for mark in sighted.fit.marks]
    if not any(abs(one - worst) < 0.1 * worst for one in shot):
        there = voice.quantity(worst, Kind.DISTANCE)["text"]
        said.append(f"A mark shot in at {there} would help most.")
    beyond = [d for d in known.distance if shot and not 0.95 * min(shot) <= d <= 1.05 * max(shot)]
    if beyond and sighted.fit.settled:
        said.append("Marks outside the distances you shot at are a forecast: try each before it counts.")
    return said


def _rests(sighted: Sighted) -> tuple[str, ...]:
    usual = {
        "speed": "the speed is computed from the draw curve, no chronograph read this arrow",
        "radius": "peep to pin is taken from the draw length",
        "peep": "the height of the peep over the arrow is the usual one or the one in the file",
    }
    taken = [words for name, words in usual.items() if name not in sighted.measured]
    said = [
        "The flight is computed with drag; how much drag is learnt from the marks, as far as they tell it.",
        "In brackets stands what holds in four cases of five.",
        "The arrow is taken to leave along its own axis; a steady kick up or down is taken up by the marks, and its "
        "change from near to far is not known here.",
        "Still air at 20 °C and sea level, with 5 % of doubt: far from that, shoot marks anew.",
    ]
    if sighted.marks:
        said.insert(1, "Marks are taken as shot with bow and arrow as they are now; after a change shoot them anew.")
    if taken:
        said.insert(1, f"Not measured: {'; '.join(taken)}.")
    return tuple(said)
