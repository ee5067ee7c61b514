"""Plans the proof of a tune in blind mixed order, and reads it: groups before and after, walk-back and torque."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from spinewright.errors import InputError, Place
from spinewright.logbook import BenchState
from spinewright.units import INCH, YARD, Kind, System, show, show_distance, side_word
from spinewright.workflow.around.account import Account, Cell, Plot, Series, Table
from spinewright.workflow.around.answers import Answers
from spinewright.workflow.around.proof_papers import sheets
from spinewright.workflow.around.proof_read import Plan, plan_of, shot_ends, torqued, walked
from spinewright.workflow.proof import proof_of
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.evidence import Comparison, Scatter, Visit
    from spinewright.evidence.proving import Shift, Walk

__all__ = ["account"]

_STEP = {System.INCH: (10 * YARD, "10 yd"), System.METRIC: (10.0, "10 m")}


def account(state: BenchState, answers: Answers, _progress: Callable[[float], None]) -> Account:
    """The plan, and what was read. Raises InputError for a plan or a table that cannot be."""
    from spinewright.evidence import compare
    from spinewright.workflow.situations import situation_of

    voice = Voice(state.scope.hand, state.scope.system)
    plan = plan_of(answers, situation_of(state).distance)
    ends = shot_ends(answers, plan, voice.hand)
    hit = answers.maybe("hit")
    if hit is not None and not 0.001 <= hit <= 1.0:
        raise InputError("that is no radius of a hit", "write for example 1.5 in", Place(field="hit"))
    found = compare(ends, hit_radius=hit, blind=answers.yes("unseen"))
    walks, turns = _walks(answers, voice), _turns(answers, voice)
    said = [
        *_who(answers),
        *_planned(plan),
        *_read(ends, found, plan),
        *(one for _, one in walks),
        *(one for _, one in turns),
    ]
    logged = proof_of(state)
    if logged:
        said += ["Of the proof groups that are logged:", *logged]
    tables = (
        _plan_table(plan, voice),
        _groups(found, plan, voice),
        _table("Walk-back", walks),
        _table("Torque", turns),
    )
    return Account(
        "proof",
        answers.task.title,
        _answer(plan, found),
        tuple(said),
        tuple(one for one in tables if one.rows),
        () if found is None else (_plot(ends, voice),),
        _cautions(state, voice),
        _RESTS,
        sheets(plan, voice),
    )


_ALWAYS = (
    "Stop when you tire or anything hurts: a tired archer proves nothing, and the rest of the ends can be shot "
    "another day.",
    "Walk-back: a tall backstop and the aiming spot near its top, since arrows from further back hit lower; nobody "
    "behind it.",
    "Torque: a small, gentle turn of the hand only, never so far that the string could leave a cam, and facing the "
    "backstop.",
    "Flex and look at a carbon shaft after every hard or sideways hit, and keep to the range's rules.",
)
_RESTS = (
    "The number of ends is such that a true change of that size is seen four times in five, and one that is not "
    "there is called one once in twenty times; every end has a centre of its own, which costs one arrow of it.",
    "Of each two ends one is before and one after, in an order drawn from the helper's number; so the day, the light "
    "and the archer's tiring fall on both alike.",
    "A tune mostly moves where bare shafts and broadheads go; over plausible bows the same mistakes cost an archer "
    "15 to 20 % less at most (computed; practice reports more). That the groups do not differ is a finding too.",
    "Arrows that look or feel different give the order away. If the change is on the bow, the helper sets it out of "
    "sight between ends.",
)


def _cautions(state: BenchState, voice: Voice) -> tuple[str, ...]:
    """Limits that are broken before what is always to be minded."""
    from spinewright.equipment import LimitState, safety_limits

    limits = safety_limits(state.now)
    return (*(one.sentence(voice.system) for one in limits if one.state is LimitState.BROKEN), *_ALWAYS)


def _answer(plan: Plan, found: Comparison | None) -> str:
    if found is not None:
        return found.sentences[0]
    arrows = 2 * plan.needed * plan.end
    told = (
        f"To tell a change of {_percent(plan.change)} shoot {plan.needed} ends of {plan.end} with each, {arrows} "
        "arrows in mixed order"
    )
    if plan.days == 1:
        return f"{told}: that is one day."
    return f"{told}: that cannot be settled in a day, it takes {plan.days}."


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _who(answers: Answers) -> list[str]:
    if not answers.text("owner"):
        return ["The owner of the bow has to shoot it: the technician's hand is not the customer's."]
    if answers.yes("owner"):
        return []
    return ["This is not shot by the owner of the bow, so it proves the tune for another hand: let the owner shoot it."]


def _planned(plan: Plan) -> list[str]:
    from spinewright.evidence.proving import change_told

    told = change_told(plan.shot, plan.end)
    said = []
    if plan.days > 1:
        said.append(
            f"In one day, {plan.today} ends with each, only a change of {_percent(told)} or more would show four times "
            "in five."
        )
    said.append(
        "A helper prints the sheets, marks the two sets A and B by the sealed order and hands over one set an end; "
        "the archer looks at neither the order nor the marks until the last end is measured."
    )
    return said


def _read(ends: Sequence[Visit], found: Comparison | None, plan: Plan) -> list[str]:
    if found is not None:
        said = list(found.sentences[1:])
        shot = min(sum(v.purpose == name for v in ends) for name in ("before", "after"))
        if shot < plan.needed:
            said.append(f"{plan.needed - shot} more ends with each are planned; the order goes on where it stopped.")
        return said
    if ends:
        return ["What was shot so far holds no two arrows of both before and after, so nothing can be compared yet."]
    return []


def _plan_table(plan: Plan, voice: Voice) -> Table:
    from spinewright.evidence.proving import change_told, ends_to_tell

    rows: list[tuple[Cell, ...]] = []
    for change in sorted({0.1, 0.2, 0.3, 0.4, plan.change}):
        ends = ends_to_tell(1.0 - change, plan.end)
        days = -(-ends // plan.today)
        rows.append((_percent(change), str(ends), str(2 * ends * plan.end), "1" if days == 1 else f"{days}"))
    today = change_told(plan.today, plan.end)
    note = (
        f"Ends of {plan.end} from {show_distance(plan.distance, voice.system)}, before and after alike, seen "
        f"four times in five. A day of yours holds {plan.today} ends with each, which tell {_percent(today)}."
    )
    return Table("What it takes", ("change", "ends with each", "arrows in all", "days"), tuple(rows), note)


def _groups(found: Comparison | None, plan: Plan, voice: Voice) -> Table:
    rows: tuple[tuple[Cell, ...], ...] = ()
    if found is not None:
        rows = tuple(
            (name, str(one.groups), str(one.shots), _scatter(one, plan, voice))
            for name, one in (("before", found.before), ("after", found.after))
        )
    note = (
        "Two arrows of three lie within it, each way, about the centre of their end; in brackets what holds four "
        f"times in five. The order was drawn from the number {plan.seed}."
    )
    return Table("Before and after", ("arrows", "ends", "counted", "scatter"), rows, note)


def _scatter(one: Scatter, plan: Plan, voice: Voice) -> Cell:
    far = plan.distance
    return voice.interval(far * one.sd, far * one.low, far * one.high, Kind.LENGTH)


def _walks(answers: Answers, voice: Voice) -> list[tuple[tuple[Cell, ...], str]]:
    """A row and a sentence for each walk-back."""
    from spinewright.evidence.proving import walk_back

    shots = walked(answers, voice.hand)
    return [
        _walk(when, walk_back(shots[when]), len(shots[when]), voice) for when in ("before", "after") if when in shots
    ]


def _walk(when: str, walk: Walk, count: int, voice: Voice) -> tuple[tuple[Cell, ...], str]:
    step, name = _STEP[voice.system]
    drift = _span([one * step for one in (walk.drift, walk.low, walk.high)], voice)
    where = f"{show_distance(walk.near, voice.system)} to {show_distance(walk.far, voice.system)}"
    if walk.p_bend is not None and walk.p_bend < 0.05:
        said = f"Walk-back {when}: the hits bend away with the distance; look for contact, wind or a bow held aslant."
    elif walk.p_value < 0.05:
        side = side_word(walk.drift, voice.hand)
        said = (
            f"Walk-back {when}: hits walk to the {side}, {drift} for every {name}; line of sight and line of the arrow "
            "are not in one upright plane, or the bow was held aslant."
        )
    else:
        said = f"Walk-back {when}: no drift beyond your scatter, {drift} for every {name}."
    return (when, where, str(count), drift, _chance(walk.p_value)), said


def _turns(answers: Answers, voice: Voice) -> list[tuple[tuple[Cell, ...], str]]:
    """A row and a sentence for each torque test."""
    from spinewright.evidence.proving import torque

    shots = torqued(answers, voice.hand)
    found = {when: torque(**shots[when]) for when in ("before", "after") if when in shots}
    told = [_turned(when, shift, voice) for when, shift in found.items()]
    if len(found) == 2:
        told.append(((), _against(found["before"], found["after"])))
    return told


def _turned(when: str, shift: Shift, voice: Voice) -> tuple[tuple[Cell, ...], str]:
    # a turn to the left that moves the hit left moves with the turn, whichever the hand
    moved = f"{_along(shift.left, voice)} ({_along(shift.low, voice)} to {_along(shift.high, voice)})"
    said = f"Torque {when}: turning the hand moves the hit {moved}."
    if shift.p_value >= 0.05:
        said = f"Torque {when}: no shift beyond your scatter, {moved}."
    return (when, f"{shift.shots[0] + shift.shots[1]}", moved, _chance(shift.p_value)), said


def _along(moved: float, voice: Voice) -> str:
    return f"{_length(abs(moved), voice)} {'with' if moved >= 0 else 'against'} the turn"


def _against(before: Shift, after: Shift) -> str:
    if max(before.low, after.low) <= min(before.high, after.high):
        return "Torque before and after cannot be told apart with these shots."
    less = "less" if abs(after.left) < abs(before.left) else "more"
    return f"After the tune the same turn of the hand moves the hit {less} than before."


def _table(title: str, told: Sequence[tuple[tuple[Cell, ...], str]]) -> Table:
    columns = {
        "Walk-back": ("when", "from", "shots", "sideways for every step back", "by chance"),
        "Torque": ("when", "shots", "moved", "by chance"),
    }[title]
    return Table(title, columns, tuple(row for row, _ in told if row), "In brackets what holds four times in five.")


def _span(values: Sequence[float], voice: Voice) -> str:
    middle, low, high = (f"{side_word(v, voice.hand)} {_length(abs(v), voice)}" for v in values)
    return f"{middle} ({low} to {high})"


def _length(value: float, voice: Voice) -> str:
    return show(value, Kind.LENGTH, voice.system, digits=2 if voice.system is System.INCH else 1)


def _chance(chance: float) -> str:
    return "under 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def _plot(ends: Sequence[Visit], voice: Voice) -> Plot:
    unit, size = ("in", INCH) if voice.system is System.INCH else ("mm", 0.001)
    series = []
    for name in ("before", "after"):
        places: list[tuple[float, float]] = []
        for end in (one for one in ends if one.purpose == name):
            counted = [i for i in end.impacts if i.counts]
            if len(counted) < 2:
                continue
            y = sum(i.y for i in counted) / len(counted)
            z = sum(i.z for i in counted) / len(counted)
            # to the right on the picture is to this archer's right
            places += [(-voice.hand.sideways_sign * (i.y - y) / size, (i.z - z) / size) for i in counted]
        series.append(Series(name, tuple(x for x, _ in places), tuple(z for _, z in places), line=False))
    return Plot(
        "Every arrow about the centre of its end",
        f"right of the centre, left below 0 ({unit})",
        f"above the centre ({unit})",
        tuple(series),
        "The holes of all ends before and after laid over one another by their centres.",
    )
