"""Says how far bare may lie from fletched further back, what the logged walks there show, and what would settle it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import Kind, System, parse
from spinewright.workflow.around.account import Account
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.further_found import NEAREST, Found, Walked, Wish, find, settle
from spinewright.workflow.around.further_tables import far, length, paper, percent, place, plot, seen, shots, table
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.advice import Situation

__all__ = ["account"]

_USUAL = {System.INCH: "30 yd, 40 yd, 50 yd", System.METRIC: "30 m, 40 m, 50 m"}
_FURTHEST = 100.0  # m
_MOST_DISTANCES = 6
_MOST_EACH = 12  # of each with one setup, as the next move asks at most
_LEAST_BACKSTOP = 0.6  # m from the aiming spot; from memory, never less however steady the archer


def account(state: BenchState, answers: Answers, progress: Callable[[float], None]) -> Account:
    """What tuned looks like at each distance. Raises InputError, or SolveError where no bow has an answer."""
    from spinewright.workflow.situations import situation_of

    voice = Voice(state.scope.hand, state.scope.system)
    wish = _wish(answers, voice.system)
    situation = situation_of(state)
    found = find(situation, wish)
    progress(1.0)
    return Account(
        "further",
        answers.task.title,
        _answer(found, wish, voice),
        _sentences(found, wish, situation, voice),
        tuple(one for one in (table(found, wish, voice), shots(found, wish, voice), seen(found, voice)) if one.rows),
        (plot(found, voice),),
        _cautions(state, found, voice),
        _rests(voice),
        (paper(found, wish, voice),),
    )


def _rests(voice: Voice) -> tuple[str, ...]:
    best, stray = ("2 to 2 1/2 in", "0.8 in") if voice.system is System.INCH else ("50 to 65 mm", "20 mm")
    return (
        "How a small gap grows comes from the flight of the bare shaft of this build, over bows that could all be "
        f"yours; the lighter bare shaft is in it. Let practice have the last word: about {best} at 50 yd is the best "
        "that is hoped for (common practice).",
        f"How far bare shafts stray from what 20 yd foretell is from memory: {stray} each way, in two cases of three, "
        "for every 20 yd beyond.",
        "Shots are counted for your own scatter; bare shafts are taken to scatter 1.3 times as wide (from memory). "
        "Four walks in five then show a gap as large as the limit.",
        "Wind is not in it: shoot this on a calm day, bare and fletched in turns, each at its own aiming spot.",
    )


def _wish(answers: Answers, system: System) -> Wish:
    found: set[float] = set()
    for piece in (answers.text("distances") or _USUAL[system]).split(","):
        try:
            distance = parse(piece, Kind.DISTANCE)
        except InputError as error:
            raise error.at(field="distances") from None
        if not NEAREST <= distance <= _FURTHEST:
            raise InputError(
                f"'{piece.strip()}' is not further back",
                "write distances from 22 yd to 109 yd",
                Place(field="distances"),
            )
        found.add(distance)
    if len(found) > _MOST_DISTANCES:
        raise InputError("too many distances", f"at most {_MOST_DISTANCES}", Place(field="distances"))
    near, each = answers.quantity("near"), answers.whole("each")
    if not 0.001 <= near <= 0.1:
        raise InputError("that is no near miss", "write a length from 1 mm (0.04 in) to 4 in", Place(field="near"))
    if not 1 <= each <= _MOST_EACH:
        raise InputError(f"'{each}' of each is not shot at a walk", f"write 1 to {_MOST_EACH}", Place(field="each"))
    return Wish(tuple(sorted(found)), near, each)


def _answer(found: Found, wish: Wish, voice: Voice) -> str:
    last = found.tuned[-1]
    off = [one for one in found.walked if one.chance < 0.05]
    if off:
        return (
            f"At {far(off[-1].distance, voice)} bare lay further off than a tuned bow shows: go back to 20 yd and look "
            "again before you go further."
        )
    most, best = length(last.still[0], voice), length(last.radius, voice)
    return (
        f"At {far(last.distance, voice)} bare may lie up to {most} to either side of fletched if it is within "
        f"{length(wish.near, voice)} at 20 yd, in four cases of five. The best to hope for there is about {best}."
    )


def _sentences(found: Found, wish: Wish, situation: Situation, voice: Voice) -> tuple[str, ...]:
    said = []
    if situation.aim != (0.0, 0.0):
        aim = place(*situation.aim, voice)
        said.append(f"For fixed blades 'tuned' is a slightly stiff arrow: bare {aim} of fletched at 20 yd.")
    if found.forecast is None:
        said.append(
            "Nothing was shot with this setup yet, so nothing is foretold for your own bow: shoot bare and fletched "
            "at 20 yd first."
        )
    for one in found.walked:
        said.append(_verdict(one, found, voice))
    low = min(found.tuned, key=lambda one: settle(one, found.scatter[1]) or 1000)
    enough = settle(low, found.scatter[1])
    if enough is None:
        said.append("At none of these distances do your groups settle it: what differs from walk to walk hides it.")
    elif enough > _MOST_EACH:
        said.append(
            f"Even at {far(low.distance, voice)} it takes about {enough} of each, more than one setup is worth: it "
            "cannot be settled in an afternoon with your groups, so take what 20 yd told."
        )
    elif enough > wish.each:
        said.append(
            f"It settles soonest at {far(low.distance, voice)}, with about {enough} of each; {wish.each} of each show "
            "only a gap far beyond the limit."
        )
    else:
        said.append(f"{wish.each} of each settle it at {far(low.distance, voice)}.")
    return tuple(said)


def _verdict(one: Walked, found: Found, voice: Voice) -> str:
    where, what = far(one.distance, voice), place(*one.seen, voice)
    told = f"At {where} you logged bare {what} from fletched, each way known to {length(1.2816 * one.sd, voice)}"
    if one.chance < 0.05:
        return f"{told}: a tuned bow shows as much in {percent(one.chance)} of walks, so this one is most likely not."
    limit = next((min(t.still) for t in found.tuned if abs(t.distance - one.distance) < 0.5), None)
    if limit is not None and 1.2816 * one.sd > limit:
        return f"{told}: a tuned bow may show that, but so may many others; more of each would say."
    return f"{told}: that is what a tuned bow shows there."


def _cautions(state: BenchState, found: Found, voice: Voice) -> tuple[str, ...]:
    from spinewright.equipment import HeadKind, LimitState, safety_limits

    said = [one.sentence(voice.system) for one in safety_limits(state.now, bare=True) if one.state is LimitState.BROKEN]
    last = found.tuned[-1]
    off = (
        max(last.still)
        if found.forecast is None
        else max(map(abs, (*found.forecast[-1].low, *found.forecast[-1].high)))
    )
    reach = max(off + 3 * 1.3 * found.scatter[2] * last.distance, _LEAST_BACKSTOP)
    said.append(
        f"A bare shaft goes wide: at {far(last.distance, voice)} have a backstop that stops an arrow "
        f"{length(reach, voice)} from the aiming spot and more, with nobody near or behind it, and keep to the range's "
        "rules."
    )
    step = "ten yards" if voice.system is System.INCH else "ten metres"
    said.append(f"Go back {step} at a time, and only once bare and fletched agree where you stand.")
    if state.now.build.head.kind is not HeadKind.FIELD:
        said.append("Never a broadhead on an unfletched shaft: bare shafts carry field points of the same mass.")
    said.append("Flex and look at a carbon shaft after every hard or sideways hit.")
    return tuple(said)
