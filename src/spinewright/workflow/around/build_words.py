"""What is said of builds in order: the answer, what follows, what to mind, and what it rests on."""

from __future__ import annotations

from spinewright.equipment import Head, HeadKind, LimitState, Setup, ShaftMaterial, safety_limits
from spinewright.logbook import BenchState
from spinewright.units import System
from spinewright.workflow.around.build_order import Ranked, Row, Said, distance_of, equals, text_of, wind_of

__all__ = ["answer_of", "cautions_of", "limit_of", "rests_of", "sentences_of"]

_NAMED = 5  # builds called by name in one sentence


def answer_of(ranked: Ranked, rows: list[Row], said: Said) -> str:
    """What comes first and what cannot be told apart from it."""
    if not rows:
        return (
            "None of these can be shot safely and within your limits from this bow as listed: the reasons stand below."
        )
    first, text = rows[0], text_of(said.worth(rows[0].worth))
    what = f"{text} points an arrow" if said.points else f"a miss of {text}"
    lead = f"For {ranked.wish}, {first.built.name} comes first, with {what}."
    if not first.likely:
        lead = f"None is likely to fit this bow. For {ranked.wish}, {first.built.name} comes nearest, with {what}."
    others = [row.built.name for row in equals(rows)[1:]]
    if not others:
        return lead + (" No other that is likely to fit is within doubt of it." if len(rows) > 1 else "")
    reach = f"{100 * first.compared.reach:.0f} in 100"
    return f"{lead} Within doubt of it: {_listed(others)}. Of these it is the likeliest to fit ({reach})."


def limit_of(ranked: Ranked, said: Said) -> list[str]:
    """Which kept limit said how thick a shaft may be, and what it leaves out."""
    rule = ranked.rule
    if rule is None:
        return []
    out = [built.name for built, _ in ranked.found if built.setup.build.shaft.outer_diameter > rule.bound + 1e-9]
    read = ", ".join(filter(None, (f"read on {rule.dated.isoformat()}", rule.where)))
    left = f"leaves out {_listed(out)}" if out else "leaves none of these out"
    return [
        f"The limit you kept, shaft diameter {rule.sentence(said.voice.system)} ({read}), {left}. Where another holds, "
        "answer the thickest shaft your round allows."
    ]


def sentences_of(rows: list[Row], said: Said) -> list[str]:
    """How to choose among equals, what is less likely to fit, and how to begin."""
    if not rows:
        return []
    found, alike = [], equals(rows)
    priced = [(row.built.cost, row.built.name) for row in alike if row.built.cost is not None]
    if len(alike) > 1:
        found.append("What is within doubt cannot be told apart here: choose by cost, by what is at hand, or by feel.")
    if len(alike) > 1 and priced:
        cost, name = min(priced)
        found.append(f"The cheapest of those is {name}, {cost:.2f} a dozen.")
    doubtful = [row.built.name for row in rows if not row.likely]
    if doubtful and len(doubtful) < len(rows):
        found.append(f"Less likely to fit than not, so listed after the others: {_listed(doubtful)}.")
    longer = "1 1/2 in" if said.voice.system is System.INCH else "38 mm"
    found.append(
        f"Leave test shafts about {longer} longer than compared and cut in steps: the cutting plan ('cut-plan') says "
        "where. Bare shafts decide whether an arrow fits."
    )
    return found


def cautions_of(ranked: Ranked, rows: list[Row]) -> list[str]:
    """What to mind before any of these is built or shot."""
    found = []
    if not ranked.asked.marked:
        found.append(
            "No shortest safe length is marked yet, so a computed one stands in for it. Cut nothing before a helper "
            "has made the mark on an arrow at full draw, facing a backstop."
        )
    short = [row.built.name for row in rows if _computed_short(row.compared.setup)]
    if short:
        found.append(
            f"Shorter than 1 in (25 mm) past the rest as computed, and safe by your mark alone: {_listed(short)}. Look "
            "at full draw, facing a backstop and with a helper, before shooting."
        )
    if any(built.setup.build.head.kind is not HeadKind.FIELD for built, _ in ranked.found):
        found.append("Never a broadhead on an unfletched shaft: bare shafts carry field points of the same mass.")
    if any(row.built.setup.bow.weakest_spine is None for row in rows):
        found.append("Look up the weakest spine the shaft's maker allows for this bow: nobody has stated it here.")
    if any(row.built.setup.build.shaft.material is not ShaftMaterial.ALUMINIUM for row in rows):
        found.append("At the saw wear a dust mask and eye protection. Flex and look at carbon before it is shot.")
    found.append("The makers' limits, your round's rules and the range's rules stand above this list.")
    return found


def rests_of(ranked: Ranked, said: Said, state: BenchState) -> list[str]:
    """Where the numbers come from and what they cannot know."""
    use, voice = said.asked.use, said.voice
    near = distance_of(voice, use.distance)
    found = [
        "Where an arrow fits is carried over from what this bow has shown, by spine, front mass and length, with a "
        "wide doubt for another shaft.",
    ]
    if not state.history.seen:
        found.append("Nothing was shot yet: the arrow in the file is taken as a sensible choice for the bow.")
    if use.face is not None:
        found.append(
            f"Points are the mean of one arrow on the {use.face.name} face at {near}; a line cut counts up. The "
            "archer's own scatter is held, what the arrow adds is changed."
        )
        found.append(
            "Most of each bracket is how well that scatter is known, which is the same for all: what is behind the "
            "best is counted without it."
        )
    else:
        found.append(
            f"The miss is root mean square at {near}: the archer, the stated mistakes, the arrows' differences and "
            "what is misjudged, all together."
        )
    if use.range_error:
        found.append(f"Distances are taken as misjudged by {100 * use.range_error:.0f} %, one time in three by more.")
    if use.wind_error:
        found.append(
            f"Crosswinds are taken as misjudged by {wind_of(voice, use.wind_error)}, one time in three by more."
        )
    if any(_without_blades(built.setup.build.head) for built, _ in ranked.found):
        found.append("Where a mechanical head's blades are not listed, folded ones of an invented size stand in.")
    tuned, seen = ("1 in", "1/4 in") if voice.system is System.INCH else ("25 mm", "6 mm")
    found.append(f"Every build is taken as tuned, bare within {tuned} of fletched at 20 yd.")
    found.append(f"Less than 0.05 points an arrow, or {seen} of miss, counts as no difference.")
    found.append("The sizes of the mistakes and differences are stated from memory, not measured on you.")
    found.append(
        "Vanes, bushing, wrap, collar and nock fit are taken from the present arrow. Costs are your own numbers."
    )
    return found


def _computed_short(setup: Setup) -> bool:
    return any(one.warning_only and one.state is LimitState.BROKEN for one in safety_limits(setup))


def _without_blades(head: Head) -> bool:
    return head.kind is HeadKind.MECHANICAL and not head.blade_area


def _listed(names: list[str]) -> str:
    shown = "; ".join(names[:_NAMED])
    return shown if len(names) <= _NAMED else f"{shown}; and {len(names) - _NAMED} more"
