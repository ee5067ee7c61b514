"""What is said of a cutting plan: answer, sentences, tables, plot, what to mind and what it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spinewright.advice.phrases import Style, length_phrase
from spinewright.equipment import HeadKind, ShaftMaterial
from spinewright.logbook import BenchState
from spinewright.units import INCH, Kind, System, show_offset
from spinewright.workflow.around.account import Cell, Plot, Series, Table
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.outlook.cutting import CutPlan, Foreseen, PointInstead

__all__ = ["answer_of", "cautions_of", "length_of", "plot_of", "point_of", "rests_of", "sentences_of", "tables_of"]

_MISSING = {
    "mark": "a helper marks the shortest safe length on the arrow at full draw, facing a backstop",
    "checks": "the bow check and the contact check are made whole: contact looks like spine",
    "fault": "what a check found is put right",
    "shots": "bare and fletched are shot with the arrow as it is",
    "prediction": "a change that can be put back is foretold and shot",
    "failed": "such a change comes out as foretold: the last one did not",
}
_TOLERANCE = 1e-6  # m


def answer_of(plan: CutPlan, voice: Voice, step: float) -> str:
    """The one thing to do, or what stands before it."""
    return f"{_lead(plan, voice, step)} {_not_yet(plan)}".strip()


def _lead(plan: CutPlan, voice: Voice, step: float) -> str:
    now = length_of(plan.length, voice)
    if plan.verdict == "stiff":
        return (
            f"Do not cut: at {now} the arrow reads stiff, or more likely too stiff than too weak, and a stiff arrow is "
            "never cut. A heavier point or a longer or weaker shaft is the way."
        )
    if plan.verdict == "other":
        return (
            f"Do not cut for this: the arrow should fit below {length_of(plan.shortest, voice)}, the shortest length, "
            "so no cut makes it stiff enough. A stiffer shaft or a lighter point is the way."
        )
    if plan.verdict == "first":
        after = plan.cuts[0].setup.build.carbon_length
        return (
            f"Cut the test shafts from {now} to {length_of(after, voice)} first, at the nock end; after that "
            f"{_steps(after, plan, voice, step)}."
        )
    if plan.verdict in ("tuned", "near"):
        agree = (
            f"bare and fletched agree to {_tuned(voice)} in {_in_100(plan.now.within)} cases, and the next cut would "
            "part them"
        )
        off = "less is to come off than half a step, as far as is known"
        return f"No cut: at {now} {agree if plan.verdict == 'tuned' else off}."
    if plan.verdict == "end":
        point = f": try the {point_of(plan.instead, voice)} point" if plan.instead else ", or begin with another shaft"
        return f"No whole step remains at {now}. Change the point, not the length{point}."
    if plan.verdict == "risk":
        shoot = "Shoot bare and fletched" if "shots" in plan.missing else "Shoot more"
        return f"No cut yet: {_risk(plan)}. {shoot} with the arrow as it is, or change what can be put back."
    if plan.verdict == "point" and plan.instead is not None:
        why = _why_point(plan, voice)
        return f"Try the {point_of(plan.instead, voice)} point before you cut: it can be put back, and {why}."
    after = plan.cuts[0].setup.build.carbon_length
    steps = _steps(plan.length, plan, voice, step)
    return f"The next cut is to {length_of(after, voice)}, at the nock end; at {now} {steps}."


def _risk(plan: CutPlan) -> str:
    return (
        f"the next would end too short in {_in_100(plan.cuts[0].too_short)} cases, where {_in_100(plan.budget)} is "
        "what a whole tune may risk"
    )


def _why_point(plan: CutPlan, voice: Voice) -> str:
    if plan.risk > plan.budget or plan.instead is None:
        return _risk(plan).replace("the next", "the next cut")
    chances = f"{_in_100(plan.instead.foreseen.within)} against {_in_100(plan.cuts[0].within)}"
    return f"it is as likely as the next cut to bring bare within {_tuned(voice)} of fletched at 20 yd ({chances})"


def _not_yet(plan: CutPlan) -> str:
    """What has to come before the saw. The first test length needs the mark alone: nothing can be shot before it."""
    if plan.verdict not in ("first", "cut"):
        return ""
    missing = [one for one in plan.missing if plan.verdict == "cut" or one == "mark"]
    if not missing:
        return "" if plan.verdict == "first" else "'next' says when."
    listed = [_MISSING[str(one)] for one in missing]
    return f"But not before {_joined(listed)}."


def _steps(length: float, plan: CutPlan, voice: Voice, step: float) -> str:
    from spinewright.outlook.cutting import steps_left

    count = steps_left(length, plan.shortest, step)
    steps = f"{count} step{'' if count == 1 else 's'} of {length_of(step, voice)}"
    if count == 0:
        steps = f"no step of {length_of(step, voice)}"
    verb = "remain" if count > 1 else "remains"
    what = "the shortest safe length" if plan.marked else "the shortest length as computed"
    return f"{steps} {verb} before {what}, {length_of(plan.shortest, voice)}"


def sentences_of(plan: CutPlan, voice: Voice, step: float, *, said: bool) -> tuple[str, ...]:
    """What else is to be said, in the order of the work."""
    fits, answer = plan.fits, plan.answer
    found = [
        f"The arrow should fit at {voice.interval(fits.middle, fits.low, fits.high, Kind.LENGTH)['text']}, end to end, "
        "in four cases of five.",
        f"A cut of {length_of(step, voice)} should move the bare hole {_sideways(answer.middle, voice)} at 20 yd, in "
        f"four cases of five between {_sideways(answer.low, voice)} and {_sideways(answer.high, voice)}; "
        + (
            "that was learnt from your shots." if plan.learnt else "not learnt yet from two lengths or points of yours."
        ),
    ]
    if not said:
        found.append(
            "No expected length was said, so the test length starts from what is believed: look it up in the shaft "
            "maker's chart and answer it."
        )
    if plan.test <= plan.shortest + _TOLERANCE:
        found.append("The first test length falls on the shortest safe one: a stiffer shaft would leave room to cut.")
    found.append(_quarter(plan, voice))
    found.append(_when_point(plan, voice))
    room = max(plan.test, plan.length) - plan.shortest
    if room > _TOLERANCE:
        found.append(
            f"Every cut takes the nock end, so glue the vanes of fletched test shafts {length_of(room, voice)} further "
            "forward than they are to stand in the end, or fletch them anew."
        )
    found.append(
        "Cut bare and fletched test shafts alike, square the end, reseat the nock, find its best angle again, then "
        "shoot before the next cut."
    )
    return tuple(found)


def _quarter(plan: CutPlan, voice: Voice) -> str:
    small = length_of(0.25 * INCH, voice)
    moves = voice.quantity(plan.shows, Kind.LENGTH)["text"]
    if not plan.learnt:
        return f"A last cut of {small} is not planned: whether it shows on the target is not learnt yet."
    if not plan.room:
        return f"There is no room for a last cut of {small}."
    if plan.quarter is not None:
        return f"A last cut of {small} would show: it should move the bare hole by about {moves} at 20 yd."
    return f"A last cut of {small} is not planned: it should move the bare hole by about {moves} only."


def _when_point(plan: CutPlan, voice: Voice) -> str:
    rule = (
        "Change the point instead when less than a step is to come off and a lighter one is as likely to do it, when a "
        "cut would too likely end too short, or when no step remains; it can be put back."
    )
    if plan.instead is None:
        return rule + " No lighter point that suits is listed."
    like = plan.instead.like
    size = voice.interval(-like.middle, -like.high, -like.low, Kind.LENGTH)["text"]
    return f"{rule} Yours of {point_of(plan.instead, voice)} answers like a cut of {size}."


def tables_of(plan: CutPlan, voice: Voice) -> tuple[Table, ...]:
    """The steps from here, and the points."""
    named = [("now", plan.now), *((f"cut {k}", cut) for k, cut in enumerate(plan.cuts, 1))]
    if plan.quarter is not None:
        named.append(("last small cut", plan.quarter))
    body = tuple(
        (name, voice.quantity(one.setup.build.carbon_length, Kind.LENGTH), *_foretold(one, voice))
        for name, one in named
    )
    foretold = ("bare from fletched", "sideways between", f"under {_tuned(voice)}", "too short")
    columns = ("step", "stays", *foretold)
    note = (
        "Lengths are of the shaft, end to end. Bare from fletched at 20 yd as foretold today, sideways in four cases "
        "of five; every walk makes the rest of the table anew."
    )
    tables = [Table("Cut by cut", columns, body, note)]
    if plan.points:
        pointed = tuple(
            (
                point_of(one, voice),
                voice.interval(one.like.middle, one.like.low, one.like.high, Kind.LENGTH),
                *_foretold(one.foreseen, voice),
                "safe" if one.safe else "too light",
            )
            for one in plan.points
        )
        note = "A minus works like a cut. A point that is too light for the bow is never shot."
        heads = ("point", "like in length", *foretold, "mass")
        tables.append(Table("Another point, at the present length", heads, pointed, note))
    return tuple(tables)


def _foretold(one: Foreseen, voice: Voice) -> tuple[Cell, ...]:
    gap = one.gap
    sides = (gap.low[0], gap.high[0])
    return (
        voice.offset(gap.middle),
        f"{_sideways(sides[0], voice)} and {_sideways(sides[1], voice)}",
        _in_100(one.within),
        _in_100(one.too_short),
    )


def plot_of(plan: CutPlan, voice: Voice) -> Plot:
    """Bare from fletched, sideways, over the length that stays."""
    factor, unit = (INCH, "in") if voice.system is System.INCH else (1e-3, "mm")
    sign = voice.hand.sideways_sign
    seen = sorted((plan.now, *plan.cuts), key=lambda one: one.setup.build.carbon_length)

    def line(end: str) -> tuple[float, ...]:
        return tuple(sign * getattr(one.gap, end)[0] / factor for one in seen)

    low, high = ("low", "high") if sign > 0 else ("high", "low")
    lengths = tuple(one.setup.build.carbon_length / factor for one in seen)
    series = [Series("foretold", lengths, line("middle"), line(low), line(high))]
    series.append(Series("now", (plan.length / factor,), (sign * plan.now.gap.middle[0] / factor,), line=False))
    words = "; ".join(
        f"{length_of(one.setup.build.carbon_length, voice)}: {_sideways(one.gap.middle[0], voice)}" for one in seen
    )
    return Plot(
        "What each length should show at 20 yd",
        f"shaft, end to end ({unit})",
        f"bare from fletched, left is up ({unit})",
        tuple(series),
        f"Bare from fletched at 20 yd over the length that stays: {words}.",
    )


def cautions_of(plan: CutPlan, state: BenchState) -> tuple[str, ...]:
    """What to mind at the saw, the gravest first."""
    build = state.now.build
    found = []
    if plan.length < plan.shortest - _TOLERANCE:
        found.append(
            "The shaft is shorter than its shortest safe length: do not draw it."
            if plan.marked
            else "The shaft is shorter than the shortest length as computed: check it at full draw, facing a backstop "
            "and with a helper, before shooting."
        )
    if not plan.marked:
        found.append(
            "No cut before the shortest safe length is marked on the arrow at full draw, facing a backstop, by a "
            "helper. What is computed here never replaces that mark."
        )
    found.append("A shaft cannot be made longer again. A stiff arrow is never cut.")
    if build.shaft.material is not ShaftMaterial.ALUMINIUM:
        found.append(
            "At the saw wear a dust mask and eye protection; carbon dust is harmful. Flex and look at each shaft after."
        )
    else:
        found.append("At the saw wear eye protection, and take the burr off the end.")
    found.append(
        "A lighter point makes a lighter arrow: never below the bow maker's figure or 5 gr per lb of peak weight."
    )
    if build.head.kind is not HeadKind.FIELD:
        found.append("Never a broadhead on an unfletched shaft: bare shafts carry field points of the same mass.")
    return tuple(found)


def rests_of(plan: CutPlan, voice: Voice) -> tuple[str, ...]:
    """Where the numbers come from and what they cannot know."""
    longer, half = ("1 1/2 in", "half an inch") if voice.system is System.INCH else ("38 mm", "13 mm")
    found = [
        "How length and point answer on this bow is learnt from your shots; before them wide guesses of the trade "
        "stand in.",
        f"A first test length about {longer} over the expected one, cuts at the nock end alone and steps of {half} "
        "are common practice.",
        f"'Under {_tuned(voice)}' and 'too short' are chances as believed today. 'next' weighs a cut against "
        "everything else and has the last word.",
    ]
    if not plan.marked:
        found.append(
            "The shortest length stands in from draw length and rest, with 1 in (25 mm) of shaft past the rest."
        )
    return tuple(found)


def length_of(value: float, voice: Voice) -> str:
    """A length as it is set on a saw, its steps read off a ruler too."""
    text = str(voice.quantity(value, Kind.LENGTH)["text"])
    return length_phrase(value, _style(voice)) if voice.system is System.INCH and _on_a_ruler(value) else text


def _on_a_ruler(value: float) -> bool:
    parts = value / INCH * 32
    return abs(parts - round(parts)) < 1e-3


def _style(voice: Voice) -> Style:
    return Style(voice.hand, voice.system)


def _tuned(voice: Voice) -> str:
    return _style(voice).tuned


def point_of(one: PointInstead, voice: Voice) -> str:
    """A point by its mass."""
    return str(voice.quantity(one.foreseen.setup.build.head.mass, Kind.MASS)["text"])


def _sideways(y: float, voice: Voice) -> str:
    text = show_offset(y, 0.0, voice.hand, voice.system)
    return "nothing" if text == "centre" else text


def _in_100(share: float) -> str:
    return f"{100 * share:.0f} in 100"


def _joined(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{'; '.join(parts[:-1])}; and {parts[-1]}"
