"""What the outlook's numbers say, in plain sentences and rows, in the archer's own units."""

from __future__ import annotations

from spinewright.outlook.bounds import MOST_BEND, MOST_TURN
from spinewright.outlook.differences import HeadsAndDifferences
from spinewright.outlook.maps import FLAT, Flatness, ForgivenessMap, flatness
from spinewright.outlook.mistakes import Mistake, Skill
from spinewright.outlook.own_mistakes import Line, MistakeEffect, OwnMistakes
from spinewright.outlook.values import FloatArray, Range
from spinewright.units import INCH, Hand, Kind, System, show, show_offset

__all__ = [
    "amount_words",
    "archer_words",
    "difference_rows",
    "flat_sentence",
    "gap_sentence",
    "mistake_rows",
    "show_length",
    "show_range",
    "sizes_sentence",
    "whose_words",
]

_KINDS = {Mistake.KICK: Kind.SPEED, Mistake.TORQUE: Kind.ANGLE}


def show_length(value: float, system: System) -> str:
    """A miss ``value`` [m] to a hundredth of an inch or a tenth of a millimetre; 'under 0.01 in' where that is none."""
    digits, least = (2, 0.01 * INCH) if system is System.INCH else (1, 0.1e-3)
    if abs(value) < 0.5 * least:
        return f"under {show(least, Kind.LENGTH, system, digits=digits)}"
    return show(value, Kind.LENGTH, system, digits=digits)


def show_range(value: Range, system: System) -> str:
    """'0.72 in (0.60 to 0.90)' of lengths [m]: the median and the bounds of the central 80 %."""
    middle, low, high = (show_length(one, system) for one in (value.middle, value.low, value.high))
    if low == high:
        return middle
    return f"{middle} ({_bare(low)} to {_bare(high)})"


def _bare(length: str) -> str:
    """A shown length without its unit."""
    return length.rpartition(" ")[0]


def mistake_rows(own: OwnMistakes, system: System) -> list[tuple[str, str, str, str, str]]:
    """Rows (mistake, its size, miss, miss of an arrow that does not bend, points); the last row is all together."""
    rows = []
    for effect in own.effects:
        amount = amount_words(effect, system)
        miss, rigid = show_range(effect.miss, system), show_length(effect.rigid_miss.middle, system)
        rows.append((str(effect.mistake), amount, miss, rigid, _points(effect.points)))
    rigid = show_length(own.rigid_miss.middle, system)
    rows.append(("all of them together", "a typical shot", show_range(own.miss, system), rigid, _points(own.points)))
    return rows


def amount_words(effect: MistakeEffect, system: System) -> str:
    """The size of a mistake in the archer's units."""
    kind = _KINDS.get(effect.mistake, Kind.LENGTH)
    digits = 2 if kind is not Kind.LENGTH or system is System.METRIC else 3
    return show(effect.amount, kind, system, digits=digits)


def archer_words(skill: Skill) -> str:
    """Who makes mistakes of the sizes stated for ``skill``."""
    return {
        Skill.NOVICE: "an archer who is still learning",
        Skill.CLUB: "a steady club archer",
        Skill.EXPERT: "an expert",
    }[skill]


def whose_words(line: Line) -> str:
    """Whose mistakes ``line`` is shot with: 'those of a steady club archer, your own for hand torque'."""
    mine = f", your own for {', '.join(str(one) for one in line.own)}" if line.own else ""
    return f"those of {archer_words(line.skill)}{mine}"


def sizes_sentence(own: OwnMistakes) -> str:
    """Whose mistakes the rows are, and what their numbers mean."""
    lost = " Points are what an arrow so shot loses on the face." if own.line.face is not None else ""
    how = "judged by your own groups" if own.line.judged else "as chosen"
    mine = f" Given by you: {', '.join(str(one) for one in own.line.own)}." if own.line.own else ""
    return (
        f"The sizes are stated, not measured: typical for {archer_words(own.line.skill)}, {how}.{mine} "
        "Beside a miss stands, in brackets, what holds in four cases of five. All together make a typical shot: about "
        f"two of three land closer.{lost}"
    )


def _points(points: float | None) -> str:
    return "" if points is None else f"{points:.2f}"


def difference_rows(value: HeadsAndDifferences, hand: Hand, system: System) -> list[tuple[str, str]]:
    """Rows (what, how far) of heads and differences between arrows, and of how the arrow leaves against its bounds."""
    offset = show_offset(value.offset_sideways.middle, value.offset_height.middle, hand, system)
    rows = [
        ("fixed-blade head against field point", f"{show_range(value.offset, system)}; each way by itself {offset}"),
        ("set with fixed blades, from field points", show_range(value.apart, system)),
        ("spread of a set with field points", show_range(value.spread_field, system)),
        ("spread of a set with fixed blades", show_range(value.spread_headed, system)),
    ]
    rows += [(f"  of which {name}", show_range(part, system)) for name, part in value.by_difference.items()]
    bounded = (("swings in flight", value.turn, MOST_TURN), ("nock end bent", value.bend, MOST_BEND))
    rows += [
        (f"{what}, {show(most, Kind.ANGLE, system, digits=1)} allowed", _show_angles(angle, system))
        for what, angle, most in bounded
    ]
    return [*rows, ("shaft off the rest as the vanes pass", show_range(value.swing, system))]


def _show_angles(value: Range, system: System) -> str:
    middle, low, high = (show(one, Kind.ANGLE, system, digits=1) for one in (value.middle, value.low, value.high))
    return f"{middle} ({_bare(low)} to {_bare(high)})"


def flat_sentence(chart: ForgivenessMap, own: bool, system: System) -> str:
    """What the map of your ``own`` mistakes (else of heads and differences) lets one choose, in plain sentences."""
    found = flatness(chart.own if own else chart.apart, chart.safe)
    if found is None:
        return "Fewer than two builds on this map keep all bounds, so there is nothing to choose between."
    span = f"{_bare(show_length(found.least, system))} to {show_length(found.most, system)}"
    if found.flat:
        why = "less than anyone sees" if found.most - found.least < FLAT else "less than the doubt about it"
        return f"Nearly flat: {span} over all that keeps the bounds, {why}. Do not choose a build by this."
    most = f"{span} over all that keeps the bounds, least"
    if found.best == chart.grid.here_at:
        return f"{most} where you are."
    less = _against_here(chart, chart.own if own else chart.apart, found, system)
    return f"{most} at {_build(chart, found, system)}.{less}"


def _against_here(chart: ForgivenessMap, draws: FloatArray, found: Flatness, system: System) -> str:
    """How much less the best build has than the present one, each bow by itself; nothing if that is out of bounds."""
    if not chart.safe[chart.grid.here_at]:
        return " Where you are does not keep them."
    less = Range.of(draws[chart.grid.here_at] - draws[found.best])
    told = "" if less.low > 0.0 else ", so the two cannot be told apart yet"
    return (
        f" On one and the same bow that is {_less(less.middle, system)} than where you are, in four cases of five from "
        f"{_less(less.low, system)} to {_less(less.high, system)}{told}."
    )


def _less(value: float, system: System) -> str:
    """'0.12 in less', or more where ``value`` [m] is negative."""
    return f"{show_length(abs(value), system)} {'less' if value >= 0.0 else 'more'}"


def _build(chart: ForgivenessMap, found: Flatness, system: System) -> str:
    p, k = found.best
    length = show(float(chart.grid.lengths[k]), Kind.LENGTH, system)
    digits = 0 if system is System.INCH else 1
    return f"{length} with {show(float(chart.grid.point_masses[p]), Kind.MASS, system, digits=digits)} in front"


def gap_sentence(chart: ForgivenessMap) -> str:
    """How well the place where bare meets fletched is known on this map."""
    if chart.gap is None:
        return "Where bare would meet fletched is not predicted here."
    low, middle, high = (chart.gap[q, :, :, 0] - chart.settings.aim[0] for q in range(3))
    within = (low <= 0.0) & (high >= 0.0)
    if within.all():
        return "Where bare meets fletched sideways is not known yet: it could be anywhere on this map."
    if not within.any():
        side = "weak" if middle.mean() < 0.0 else "stiff"
        return f"Bare meets fletched sideways nowhere on this map: all of it most likely reads too {side}."
    line = ", the dashed line the middle of it" if middle.min() < 0.0 < middle.max() else ""  # drawn only then
    return f"The band shows where bare meets fletched sideways with 80 % probability{line}."
