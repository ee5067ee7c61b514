"""Builds side by side, as tables and a plot."""

from __future__ import annotations

from spinewright.equipment import HeadKind, LimitKind, safety_limits
from spinewright.logbook import BenchState
from spinewright.units import FOOT, INCH, Kind, System
from spinewright.workflow.around.account import Account, Cell, Plot, Series, Table
from spinewright.workflow.around.build_order import Ranked, Row, Said, distance_of, in_order, range_of, text_of, wind_of
from spinewright.workflow.around.build_words import answer_of, cautions_of, limit_of, rests_of, sentences_of
from spinewright.workflow.showing import Voice

__all__ = ["account_of"]


def account_of(state: BenchState, title: str, ranked: Ranked) -> Account:
    """The account of a ranking."""
    voice = Voice(state.scope.hand, state.scope.system)
    said = Said(voice, ranked.asked, ranked.asked.use.face is not None)
    rows = in_order(ranked, said.points)
    left = [*_left_out(ranked, voice.system), *ranked.impossible]
    tables = [_order_table(rows, said), _flight_table(rows, said), _arrow_table(rows, said)] if rows else []
    if left:
        tables.append(Table("Not ranked", ("build", "why"), tuple(left), ""))
    return Account(
        "builds",
        title,
        answer_of(ranked, rows, said),
        (*limit_of(ranked, said), *sentences_of(rows, said)),
        tuple(tables),
        (_plot(rows, said),) if rows else (),
        tuple(cautions_of(ranked, rows)),
        tuple(rests_of(ranked, said, state)),
    )


def _left_out(ranked: Ranked, system: System) -> list[tuple[str, str]]:
    found = []
    for built, compared in ranked.found:
        if compared.broken:
            found.append((built.name, " ".join(one.sentence(system) for one in compared.broken)))
        elif compared.draws is None:
            found.append((built.name, f"{compared.reason[:1].upper()}{compared.reason[1:]}."))
    return found


def _order_table(rows: list[Row], said: Said) -> Table:
    voice, body = said.voice, []
    for number, row in enumerate(rows, 1):
        fits = row.compared.fits
        behind: Cell = said.worth(row.behind) if row.apart else "within doubt"
        if row.behind.low == row.behind.high == 0.0:
            behind = "the best"
        body.append(
            (
                f"{number} {row.built.name}",
                voice.quantity(row.compared.setup.build.carbon_length, Kind.LENGTH),
                voice.interval(fits.middle, fits.low, fits.high, Kind.LENGTH),
                f"{100 * row.compared.reach:.0f} in 100",
                said.worth(row.worth),
                behind,
                "not said" if row.built.cost is None else f"{row.built.cost:.2f}",
            )
        )
    worth = "points an arrow" if said.points else "miss, all together"
    columns = ("build", "compared at", "should fit at", "can be cut to fit", worth, "behind the best", "cost a dozen")
    return Table(
        "In order",
        columns,
        tuple(body),
        "Lengths are of the shaft, end to end. Brackets hold four cases of five. 'Can be cut to fit' is how likely the "
        "length that fits lies, to 1/4 in (6 mm), between the shortest safe one and the uncut shaft.",
    )


def _flight_table(rows: list[Row], said: Said) -> Table:
    use, voice = said.asked.use, said.voice
    near, far = (distance_of(voice, metres) for metres in (use.distance, use.further))
    bladed = any(row.compared.setup.build.head.kind is not HeadKind.FIELD for row in rows)
    body = []
    for number, row in enumerate(rows, 1):
        speed = range_of(row, "speed")
        body.append(
            (
                f"{number} {row.built.name}",
                voice.interval(speed.middle, speed.low, speed.high, Kind.SPEED),
                said.length(range_of(row, "drop")),
                said.length(range_of(row, "drift")),
                said.length(range_of(row, "own")),
                said.length(range_of(row, "apart")),
            )
        )
    columns = (
        "build",
        "speed",
        f"drop {near} to {far}",
        f"drift in {wind_of(voice, use.wind)}",
        "your own mistakes",
        "heads from field points" if bladed else "arrows from each other",
    )
    note = f"Drift, mistakes and differences at {near}. The last two are root mean square misses."
    return Table("In flight", columns, tuple(body), note)


def _arrow_table(rows: list[Row], said: Said) -> Table:
    voice, widest = said.voice, said.asked.widest
    body = []
    for number, row in enumerate(rows, 1):
        setup = row.compared.setup
        mass = next(one for one in safety_limits(setup) if one.what is LimitKind.ARROW_MASS)
        body.append(
            (
                f"{number} {row.built.name}",
                voice.quantity(mass.present, Kind.MASS),
                voice.quantity(mass.present - (mass.bound or 0.0), Kind.MASS),
                voice.quantity(mass.present / setup.present_peak_weight, Kind.MASS_PER_FORCE),
                voice.quantity(setup.build.shaft.outer_diameter, Kind.LENGTH),
                "not looked up" if widest is None else "kept",
            )
        )
    columns = ("build", "mass", "over the safe least", "for the draw weight", "shaft diameter", "your round's limit")
    return Table("The arrow", columns, tuple(body), "Fletched, at the length compared, from your own figures.")


def _plot(rows: list[Row], said: Said) -> Plot:
    """How far each is behind the best, over its speed; the numbers are those of the tables."""
    inch = said.voice.system is System.INCH
    factor, unit = (1.0, "points an arrow") if said.points else (1.0 / INCH, "in") if inch else (1e3, "mm")
    pace, paced = (FOOT, "ft/s") if inch else (1.0, "m/s")
    groups: dict[str, list[int]] = {"within doubt of the best": [], "behind it": [], "less likely to fit": []}
    for k, row in enumerate(rows):
        name = "behind it" if row.apart else "within doubt of the best"
        groups[name if row.likely else "less likely to fit"].append(k)

    def series(name: str, some: list[int]) -> Series:
        behind = [rows[k].behind for k in some]
        return Series(
            name,
            x=tuple(range_of(rows[k], "speed").middle / pace for k in some),
            y=tuple(factor * one.middle for one in behind),
            low=tuple(factor * one.low for one in behind),
            high=tuple(factor * one.high for one in behind),
            line=False,
            labels=tuple(str(k + 1) for k in some),
        )

    words = "; ".join(f"{k} {row.built.name}, {text_of(said.worth(row.behind))}" for k, row in enumerate(rows, 1))
    return Plot(
        "How far each build is behind the best",
        f"speed ({paced})",
        f"behind the best ({unit})",
        tuple(series(name, some) for name, some in groups.items() if some),
        f"Behind the best, by their numbers in the table: {words}.",
    )
