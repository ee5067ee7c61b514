"""The tables, plot and set sheet of a set that is made alike."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import TYPE_CHECKING

from spinewright.units import Kind, System, show, show_distance
from spinewright.workflow.around import papers
from spinewright.workflow.around.account import Cell, Plot, Series, Table, text_of
from spinewright.workflow.around.shaft_list import Listed
from spinewright.workflow.showing import Voice

if TYPE_CHECKING:
    from spinewright.evidence.round_readings import RoundRead
    from spinewright.outlook.alike import Group, Moves, Shafts
    from spinewright.outlook.values import Range

__all__ = ["Sorted", "Weights", "all_tables", "answer", "paper", "plots", "weight_sentence"]

_LETTERS = "ABCDEF"


@dataclass(frozen=True, slots=True)
class Weights:
    """``added`` [kg] to each shaft of a group, ``front`` = behind the points, the spread ``after``, worth it or not."""

    added: tuple[float, ...]
    front: bool
    after: Range
    worth: bool


@dataclass(frozen=True, slots=True)
class Sorted:
    """Everything that was found, shafts by their place in the list."""

    listed: Listed
    shafts: Shafts
    moves: Moves
    groups: tuple[Group, ...]
    weights: tuple[Weights | None, ...]
    distance: float
    blades: bool

    @property
    def left(self) -> tuple[int, ...]:
        """The shafts in no group."""
        inside = {k for group in self.groups for k in group.which}
        return tuple(k for k in range(len(self.listed.numbers)) if k not in inside)


def answer(found: Sorted, system: System) -> str:
    """Which shafts, and what they are worth together."""
    from spinewright.outlook.alike import spread_of
    from spinewright.outlook.words import show_range

    first = found.groups[0]
    far = show_distance(found.distance, system)
    spread = show_range(first.spread, system)
    if not found.left and len(found.groups) == 1:
        return f"All {len(first.which)} go in: their differences spread the hits by {spread} at {far}."
    whole = show_range(spread_of(found.shafts, found.moves), system)
    if len(found.groups) > 1:
        sets = "; ".join(
            f"set {_LETTERS[k]} {_numbers(found, one.which)} ({show_range(one.spread, system)})"
            for k, one in enumerate(found.groups)
        )
        out = f" Leave out {_numbers(found, found.left)}." if found.left else ""
        return f"Put together, with the spread of hits each makes at {far}: {sets}; all in one would make {whole}.{out}"
    said = (
        f"Put shafts {_numbers(found, first.which)} together: their differences spread the hits by {spread} at {far}; "
        f"all {len(found.listed.numbers)} would by {whole}."
    )
    return said + (f" Leave out {_numbers(found, found.left)}." if found.left else "")


def weight_sentence(k: int, found: Sorted, system: System) -> str:
    """Whether weight is worth adding to group number ``k``."""
    from spinewright.outlook.words import show_range

    weights, group = found.weights[k], found.groups[k]
    if weights is None:
        return ""
    where = "behind the points" if weights.front else "at the nocks"
    before, after = show_range(group.spread, system), show_range(weights.after, system)
    most = _weight(max(weights.added), system)
    name = f"Set {_LETTERS[k]}"
    if not weights.worth:
        return f"{name}: adding weight is not worth it, the spread would go from {before} to {after}."
    return f"{name}: add up to {most} {where}, each by the table; the spread goes from {before} to {after}."


def all_tables(found: Sorted, voice: Voice) -> tuple[Table, ...]:
    """The sets, what is left out, and what each difference does."""
    made = [_set(found, k, voice) for k in range(len(found.groups))]
    if found.left:
        made.append(_left_out(found, voice))
    return (*made, _spreads(found, voice))


def plots(found: Sorted, voice: Voice) -> tuple[Plot, ...]:
    """Weight against spine, where both were measured."""
    listed = found.listed
    if listed.mass is None or listed.spines is None:
        return ()
    unit, size = ("gr", 6.479891e-5) if voice.system is System.INCH else ("g", 1e-3)
    spine = [one / 2.54e-5 for one in listed.spines]
    mass = [one / size for one in listed.mass]

    def points(name: str, which: tuple[int, ...]) -> Series:
        x, y = tuple(spine[k] for k in which), tuple(mass[k] for k in which)
        return Series(name, x, y, line=False, labels=tuple(str(listed.numbers[k]) for k in which))

    series = [points(f"set {_LETTERS[k]}", group.which) for k, group in enumerate(found.groups)]
    if found.left:
        series.append(points("left out", found.left))
    words = f"Weight over static spine of {len(mass)} shafts by their numbers; those that go together are marked alike."
    return (Plot("Weight and spine of each shaft", "static spine", f"weight ({unit})", tuple(series), words),)


def paper(found: Sorted, voice: Voice) -> papers.Paper:
    """A sheet for each set and a label for every shaft."""
    from spinewright.outlook.words import show_range

    far = show_distance(found.distance, voice.system)
    blocks = []
    for k, group in enumerate(found.groups):
        table = _set(found, k, voice)
        blocks += [
            papers.heading(table.title),
            papers.facts(
                [
                    ("expected spread", f"{show_range(group.spread, voice.system)} at {far}"),
                    ("shafts", str(len(group.which))),
                ]
            ),
            papers.grid(table.columns, [[text_of(cell) for cell in row] for row in table.rows]),
            papers.words(table.note),
        ]
    texts = {k: f"{found.listed.numbers[k]}: leave out" for k in found.left}
    for k, group in enumerate(found.groups):
        for place, shaft in enumerate(group.which):
            texts[shaft] = _label(found, k, place, voice.system)
    blocks += [
        papers.words("Flex and look at every shaft before it goes into the set.", care=True),
        papers.heading("Labels"),
        papers.labels([texts[k] for k in sorted(texts)]),
        papers.checkline(),
    ]
    return papers.Paper("alike", "A set made alike", tuple(blocks))


def _set(found: Sorted, k: int, voice: Voice) -> Table:
    group, weights = found.groups[k], found.weights[k]
    listed = found.listed
    columns, rows = ["shaft"], [[str(listed.numbers[one])] for one in group.which]

    def column(name: str, cells: list[Cell]) -> None:
        columns.append(name)
        for row, cell in zip(rows, cells, strict=True):
            row.append(cell)  # type: ignore[arg-type]

    if listed.mass is not None:
        column("weight", [_weight(listed.mass[one], voice.system) for one in group.which])
    if listed.around is not None:
        around = [listed.around[one] for one in group.which]
        column("spine", [show(one.spine, Kind.SPINE, voice.system, doubt=one.spine_doubt) for one in around])
        column("stiff side", [stiff_side(one) for one in around])
    elif listed.spines is not None:
        column("spine", [voice.quantity(listed.spines[one], Kind.SPINE) for one in group.which])
    if listed.straightness is not None:
        column("straightness", [_gauge(listed.straightness[one], voice.system) for one in group.which])
    if weights is not None and weights.worth:
        where = "add behind the point" if weights.front else "add at the nock"
        column(where, [_added(one, voice.system) for one in weights.added])
    return Table(f"Set {_LETTERS[k]}", tuple(columns), tuple(tuple(row) for row in rows), _note(listed, voice.system))


def _note(listed: Listed, system: System) -> str:
    said = ["Weights and straightness are as good as the scale and the gauge they were read on."]
    if listed.cut_to is not None:
        said.append(f"Weights are for shafts cut to {show(listed.cut_to, Kind.LENGTH, system)}.")
    if listed.around is not None:
        said.append(
            "Doubts are one standard deviation of the tester as it repeats. A stiff side is softest less stiffest "
            "over their mean; it lies so far round from the first reading, the way the shaft was turned, and half "
            "round from there."
        )
    return " ".join(said)


def stiff_side(one: RoundRead) -> str:
    """'1.8 % ± 0.3 at 60 ± 5 deg' or that none is shown."""
    size, doubt = 200 * one.size, 200 * one.size_doubt  # softest less stiffest, as the shaft's own key has it
    if not one.shown:
        return f"none shown (± {max(doubt, 0.1):.1f} %)"
    angle = round(math.degrees(one.stiff_at))
    if one.at_doubt is None:
        return f"at least {size:.1f} ± {max(doubt, 0.1):.1f} %, nearer {angle} deg"
    return f"{size:.1f} ± {max(doubt, 0.1):.1f} % at {angle} ± {max(1, round(math.degrees(one.at_doubt)))} deg"


def _weight(mass: float, system: System) -> str:
    """A weight as a grain scale shows it: shafts of one set differ by tenths of a grain."""
    return show(mass, Kind.MASS, system, digits=1 if system is System.INCH else 2)


def _gauge(reading: float, system: System) -> str:
    """A total indicator reading as the gauge shows it."""
    return show(reading, Kind.LENGTH, system, digits=4 if system is System.INCH else 3)


def _added(mass: float, system: System) -> str:
    return "nothing" if mass == 0.0 else _weight(mass, system)


def _left_out(found: Sorted, voice: Voice) -> Table:
    from spinewright.outlook.alike import away_from

    rows = []
    for k in found.left:
        away, part = away_from(found.shafts, found.moves, k, found.groups[0].which)
        rows.append((str(found.listed.numbers[k]), _why(found, k, part, voice.system), _range(away, voice)))
    note = (
        "How far its hits are expected to lie from the middle of set A, in four of five plausible bows in the brackets."
    )
    return Table("Left out", ("shaft", "most of all", "from set A"), tuple(rows), note)


def _why(found: Sorted, k: int, part: str, system: System) -> str:
    listed, which = found.listed, found.groups[0].which
    if part == "weight" and listed.mass is not None:
        off = listed.mass[k] - sum(listed.mass[j] for j in which) / len(which)
        return f"{_weight(abs(off), system)} {'heavier' if off > 0 else 'lighter'}"
    if part == "spine" and listed.spines is not None:
        off = listed.spines[k] - sum(listed.spines[j] for j in which) / len(which)
        return f"{'weaker' if off > 0 else 'stiffer'} by {show(abs(off), Kind.SPINE, system)} of spine"
    if part == "straightness" and listed.straightness is not None:
        return f"crooked by {_gauge(listed.straightness[k], system)}"
    return "its stiff side" if part == "stiff side" else part


def _spreads(found: Sorted, voice: Voice) -> Table:
    from spinewright.outlook.alike import PARTS, parts_of, spread_of

    first = found.groups[0].which
    sets = [("all", found.shafts), ("set A", found.shafts.only(first))]
    measured = dict(
        zip(
            PARTS,
            (found.listed.spines, found.listed.around, found.listed.mass, found.listed.straightness),
            strict=True,
        )
    )
    rows: list[tuple[Cell, ...]] = []
    parts = [parts_of(one, found.moves) for _, one in sets]
    every = (range(len(found.listed.numbers)), first)
    for name in PARTS:
        if measured[name] is not None:
            cells = [
                (_differ(found, name, which, voice.system), _range(one[name], voice))
                for which, one in zip(every, parts, strict=True)
            ]
            rows.append((name, *(cell for pair in cells for cell in pair)))
    rows.append(("together", *(cell for _, one in sets for cell in ("", _range(spread_of(one, found.moves), voice)))))
    heads = "with a stated fixed-blade head" if found.blades else "with field points"
    note = (
        f"How they differ: one standard deviation, of stiff side and straightness the mean. What it does: root mean "
        f"square distance of the hits from their common middle, {heads}, in four of five plausible bows within the "
        "brackets. What was not measured is not in it."
    )
    title = f"What each difference does at {show_distance(found.distance, voice.system)}"
    return Table(
        title,
        ("difference", *(one for name, _ in sets for one in (f"{name} differ by", "which does"))),
        tuple(rows),
        note,
    )


def _differ(found: Sorted, name: str, which: Sequence[int], system: System) -> str:
    """How far the shafts at these places differ in one of the parts."""
    listed = found.listed
    if name == "spine" and listed.spines is not None:
        return show(_sd([listed.spines[k] for k in which]), Kind.SPINE, system, digits=1)
    if name == "weight" and listed.mass is not None:
        return _weight(_sd([listed.mass[k] for k in which]), system)
    if name == "straightness" and listed.straightness is not None:
        return _gauge(fmean(listed.straightness[k] for k in which), system)
    if listed.around is not None:
        return f"{200 * fmean(listed.around[k].size for k in which):.1f} %"
    return ""


def _sd(values: Sequence[float]) -> float:
    return stdev(values) if len(values) > 1 else 0.0


def _range(one: Range, voice: Voice) -> Cell:
    from spinewright.outlook.words import show_range

    return {**voice.interval(one.middle, one.low, one.high, Kind.LENGTH), "text": show_range(one, voice.system)}


def _label(found: Sorted, k: int, place: int, system: System) -> str:
    group, weights = found.groups[k], found.weights[k]
    shaft = group.which[place]
    said = [f"{found.listed.numbers[shaft]}: set {_LETTERS[k]}"]
    if found.listed.mass is not None:
        said.append(_weight(found.listed.mass[shaft], system))
    if weights is not None and weights.worth and weights.added[place]:
        said.append(f"add {_weight(weights.added[place], system)} {'front' if weights.front else 'rear'}")
    around = found.listed.around
    if around is not None and around[shaft].shown:
        said.append(f"stiff at {round(math.degrees(around[shaft].stiff_at))} deg")
    return ", ".join(said)


def _numbers(found: Sorted, which: Sequence[int]) -> str:
    """'1-5, 7, 9' of the shafts at these places."""
    numbers, runs = sorted(found.listed.numbers[k] for k in which), list[list[int]]()
    for one in numbers:
        if runs and one == runs[-1][-1] + 1:
            runs[-1].append(one)
        else:
            runs.append([one])
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
