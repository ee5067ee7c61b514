"""The sheet that is read together before a cut: what is taken, what it teaches, what is expected, where to sign."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from spinewright.equipment import Setup
from spinewright.evidence.trade import SIGN_TABLE, TradeKind
from spinewright.logbook import BenchState
from spinewright.units import INCH, MILLIMETRE, Kind, System, counted, show
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Cell, Plot, Series, Table, text_of
from spinewright.workflow.around.cut_words import length_of
from spinewright.workflow.showing import Json, Voice

if TYPE_CHECKING:
    from spinewright.outlook.after_cut import AfterCut

__all__ = [
    "EXPECTED_RESTS",
    "TEACHING",
    "Plan",
    "Table",
    "effect",
    "expectation",
    "paper",
    "sides",
    "signs",
    "table",
    "what_is_cut",
]

TEACHING = (
    "A shorter shaft of the same static spine bends less at the shot: a cut makes an arrow act stiffer, never weaker. "
    "So a weak arrow may be cut, a little at a time, and a stiff one never."
)
EXPECTED_RESTS = (
    "What the cut should do is worked out for a hundred bows and more that fit everything logged, at 20 yd, with the "
    "bow as it is set now; the ranges hold four in five of them. It is a prediction: shoot and look before another cut."
)
_APART = 2.0  # in or 50 mm: how far the drawn bare holes lie from the fletched ones, for the eye alone


@dataclass(frozen=True, slots=True)
class Plan:
    """The cut that is planned: the bench, the setup after it, how many shafts (None = not said), what is expected."""

    state: BenchState
    cut: Setup
    shafts: int | None
    expected: AfterCut | None


def what_is_cut(plan: Plan, voice: Voice) -> str:
    """'6 shafts from 29 1/4 in to 28 3/4 in'."""
    many = "the shafts" if plan.shafts is None else counted(plan.shafts, "shaft")
    before, after = (show(one.build.carbon_length, Kind.LENGTH, voice.system) for one in (plan.state.now, plan.cut))
    return f"{many} from {before} to {after}"


def table(plan: Plan, voice: Voice) -> Table:
    """What is cut, now and after."""
    now, cut, mark = plan.state.now.build, plan.cut.build, plan.state.safe_length
    rows: list[tuple[Cell, ...]] = [
        ("shaft, end to end", *(voice.quantity(one.carbon_length, Kind.LENGTH) for one in (now, cut))),
        ("arrow, nock throat to shaft end", *(voice.quantity(one.throat_length, Kind.LENGTH) for one in (now, cut))),
        ("taken off, gone for good", "", _ruled(now.carbon_length - cut.carbon_length, voice)),
        (
            "whole arrow weighs, worked out",
            *(voice.quantity(one.total_mass(bare=False), Kind.MASS) for one in (now, cut)),
        ),
    ]
    if mark is not None:
        left = [one.throat_length - mark for one in (now, cut)]
        rows.append(("shortest safe length, nock throat to the mark", *(voice.quantity(mark, Kind.LENGTH),) * 2))
        rows.append(("more than that by", *(_more(one, voice) for one in left)))
    rows.append(("static spine of the shaft", *(voice.quantity(now.shaft.static_spine, Kind.SPINE),) * 2))
    note = "Lengths are as good as they were measured; the weight is worked out from its parts, to about a grain."
    return Table("What is cut", ("", "now", "after the cut"), tuple(rows), note)


def _more(left: float, voice: Voice) -> Cell:
    return _ruled(left, voice) if left >= -1e-6 else "nothing: it is too short"


def _ruled(length: float, voice: Voice) -> Cell:
    return {**voice.quantity(length, Kind.LENGTH), "text": length_of(length, voice)}


def sides(voice: Voice) -> str:
    """Which side is weak and which is stiff, as this archer sees it."""
    stiff, weak = (_side(kind, "hole_y", voice) for kind in (TradeKind.STIFF, TradeKind.WEAK))
    lean = _side(TradeKind.STIFF, "lean_y", voice)
    return (
        f"Seen by the archer: bare holes {stiff} of the fletched ones read stiff (their nocks lean {lean}), {weak} of "
        "them weak. That is a rule of the trade for this hand; contact and a rest that stands wrong can fake either."
    )


def signs(voice: Voice) -> Plot:
    """The picture that teaches: where bare lies from fletched with a stiff and with a weak arrow."""
    unit, apart = ("in", _APART) if voice.system is System.INCH else ("mm", _APART * 25.0)
    spread = 0.15 * apart
    group = ((-spread, -0.4 * spread), (0.6 * spread, spread), (spread, -spread))
    holes = [Series("fletched", tuple(x for x, _ in group), tuple(y for _, y in group), line=False)]
    for kind in (TradeKind.STIFF, TradeKind.WEAK):
        at = apart if _side(kind, "hole_y", voice) == "right" else -apart
        holes.append(Series(f"bare, {kind} arrow", (at,), (0.0,), line=False))
    stiff, weak = (_side(kind, "hole_y", voice) for kind in (TradeKind.STIFF, TradeKind.WEAK))
    words = (
        f"A target seen by the archer: the bare hole of a stiff arrow lies {stiff} of the fletched ones, that of a "
        f"weak arrow {weak}; drawn as an example, not measured."
    )
    side = f"left below 0, right above ({unit}), an example"
    return Plot("Stiff or weak, seen by the archer", side, f"height ({unit})", tuple(holes), words, even=True)


def effect(plan: Plan, voice: Voice) -> Plot:
    """The bare hole sideways before and after the cut, with the central 80 %."""
    expected = plan.expected
    if expected is None:
        raise ValueError("nothing was worked out")
    unit, size = ("in", INCH) if voice.system is System.INCH else ("mm", MILLIMETRE)
    way = -voice.hand.sideways_sign / size
    series = []
    for name, setup, gap in (("now", plan.state.now, expected.now), ("after the cut", plan.cut, expected.after)):
        ends = sorted((gap.low[0] * way, gap.high[0] * way))
        x = setup.build.carbon_length / size
        series.append(Series(name, (x,), (gap.middle[0] * way,), (ends[0],), (ends[1],), line=False))
    words = (
        "Bare hole sideways of the fletched ones at 20 yd, before and after the cut; the bars hold four bows in five."
    )
    return Plot(
        "What the cut should do", f"shaft length ({unit})", f"bare right of fletched, left below 0 ({unit})",
        tuple(series), words,
    )  # fmt: skip


def expectation(plan: Plan, voice: Voice) -> list[str]:
    """What the cut should do, with its doubt."""
    expected = plan.expected
    if expected is None:
        return []
    from spinewright.advice import GOOD_GAP

    near = show(GOOD_GAP, Kind.LENGTH, voice.system, digits=0)
    said = [
        f"Expected at 20 yd: bare {_gap(expected.now, voice)} of fletched now, {_gap(expected.after, voice)} after the "
        "cut, sideways, in four bows of five.",
        f"The chance that bare lies within {near} of where it is wanted goes from {_chance(expected.near_now)} to "
        f"{_chance(expected.near_after)}.",
    ]
    if not expected.seen:
        said.append("Bare and fletched were not compared yet, so this is only what bows like this one do: shoot first.")
    return said


def paper(plan: Plan, voice: Voice, plots: Sequence[Plot], cautions: Sequence[str]) -> papers.Paper:
    """The sheet to read together and sign."""
    cut = table(plan, voice)
    spares = plan.state.owned.spare_shafts
    blocks = [  # on one page: nobody signs under a plan that stands on another
        papers.words(f"To cut {what_is_cut(plan, voice)}."),
        papers.grid(cut.columns, [[text_of(cell) for cell in row] for row in cut.rows]),
        papers.words(cut.note),
        papers.heading("What cannot be undone"),
        papers.words(
            "What the saw takes is gone. If the arrows end too short or too stiff, only other shafts help"
            + (
                f"; {counted(spares, 'spare shaft')} of this kind {'is' if spares == 1 else 'are'} left."
                if spares
                else "."
            )
        ),
        papers.words(
            "The shortest safe length was marked on the arrow at full draw by a helper, the archer facing a backstop, "
            "as logged. This cut leaves the arrow that long or longer. Look at the mark on the arrow before you sign."
        ),
        *(papers.words(one, care=True) for one in cautions),
        papers.heading("What it is for"),
        papers.words(TEACHING),
        papers.words(sides(voice)),
        *(papers.words(one) for one in expectation(plan, voice)),
        _pictures(plots),
        papers.heading("Signed"),
        papers.words("Only for the length and the number of shafts above; any other plan needs another sheet."),
        papers.signature(f"I agree to cut {what_is_cut(plan, voice)}. The owner of the arrows:"),
        papers.signature("I have shown the mark, and cut no further than this. The one who cuts:"),
    ]
    return papers.Paper("consent", "Consent before a cut", (papers.fitted(blocks),))


def _pictures(plots: Sequence[Plot]) -> Json:
    drawn = [papers.picture(one.to_json(), 62.0) for one in plots]
    return drawn[0] if len(drawn) == 1 else papers.beside(drawn[:1], drawn[1:])


def _side(kind: TradeKind, name: str, voice: Voice) -> str:
    """The side of the trade's table as this archer sees it."""
    row = next(one for one in SIGN_TABLE if one.kind is kind)
    return "left" if getattr(row, name) * voice.hand.sideways_sign > 0 else "right"


def _gap(gap: object, voice: Voice) -> str:
    """'1.2 in right (2.0 in right to 0.4 in right)' of the sideways part; the mirror for the other hand."""
    low, middle, high = (getattr(gap, name)[0] for name in ("low", "middle", "high"))
    first, *ends = (_aside(one, voice) for one in (middle, low, high))
    return f"{first} ({ends[0]} to {ends[1]})"


def _aside(y: float, voice: Voice) -> str:
    size = show(abs(y), Kind.LENGTH, voice.system, digits=1 if voice.system is System.INCH else 0)
    if not any(digit in size for digit in "123456789"):
        return "in line"
    return f"{size} {'left' if y * voice.hand.sideways_sign > 0 else 'right'}"


def _chance(share: float) -> str:
    return "under 1 in 100" if share < 0.005 else f"{round(100 * share)} in 100"
