"""The build sheet as rows of text: what a person needs to build and check the same arrow again."""

from __future__ import annotations

from math import hypot

from spinewright.equipment import LimitState, Setup
from spinewright.outlook import ArrowFigures, BuildFigures
from spinewright.units import Hand, Kind, System, show
from spinewright.workflow.build_words import adjustment_rows
from spinewright.workflow.showing import Voice

__all__ = ["BuildRow", "build_rows", "settings_rows", "sheet_text"]

BuildRow = tuple[str, str, str]  # label, fletched, bare


def sheet_text(figures: BuildFigures, system: System, hand: Hand = Hand.RIGHT) -> list[tuple[str, str]]:
    """Rows (label, value) of the whole sheet: arrow, fletched against bare, bow, settings, limits."""
    rows = _shaft_rows(figures, system)
    rows += [
        (label, f"{fletched}; bare {bare}" if bare else fletched)
        for label, fletched, bare in build_rows(figures, system)
    ]
    rows += bow_rows(figures, system) + settings_rows(figures.setup, hand, system)
    for limit in figures.limits:
        words = {LimitState.KEPT: "kept", LimitState.BROKEN: "BROKEN", LimitState.UNKNOWN: "not known"}
        rows.append((f"limit: {limit.what}", words[limit.state]))
    return rows


def _shaft_rows(figures: BuildFigures, system: System) -> list[tuple[str, str]]:
    build = figures.setup.build
    shaft = build.shaft
    return [
        ("static spine", show(shaft.static_spine, Kind.SPINE, system)),
        ("shaft", show(shaft.linear_density, Kind.LINEAR_DENSITY, system)),
        ("shaft length, end to end", show(build.carbon_length, Kind.LENGTH, system)),
        ("arrow length, nock throat to shaft end", show(build.throat_length, Kind.LENGTH, system)),
        ("point", f"{show(build.head.mass, Kind.MASS, system)} {build.head.kind}"),
    ]


def build_rows(figures: BuildFigures, system: System) -> list[BuildRow]:
    """Rows (label, fletched, bare) of everything in which the two arrows may differ."""
    fletched, bare = (_arrow_rows(arrow, system) for arrow in (figures.fletched, figures.bare))
    return [(label, one, other) for (label, one), (_, other) in zip(fletched, bare, strict=True)]


def _arrow_rows(arrow: ArrowFigures, system: System) -> list[tuple[str, str]]:
    launch, masses, doubt = arrow.launch, arrow.masses, arrow.speed_doubt
    twice = 2.0 * doubt / launch.speed  # energy goes with the square of the speed
    inch = system is System.INCH
    inertia = f"{masses.inertia * 1e3:.3f} g m2"
    hertz = ", ".join(f"{f:.1f}" for f in arrow.frequencies)
    return [
        ("total mass", show(masses.total_mass, Kind.MASS, system, digits=1 if inch else 2)),
        ("balance from the nock throat", show(masses.balance, Kind.LENGTH, system, digits=2 if inch else 1)),
        ("FOC", show(masses.foc, Kind.FRACTION, system, digits=1)),
        ("moment of inertia", inertia),
        ("natural frequencies", f"{hertz} Hz"),
        *((f"nodes, mode {k}", _places(nodes, system)) for k, nodes in enumerate(arrow.nodes, start=1)),
        ("speed", show(launch.speed, Kind.SPEED, system, doubt=doubt)),
        ("kinetic energy", show(launch.energy, Kind.ENERGY, system, doubt=twice * launch.energy)),
        ("momentum", show(launch.momentum, Kind.MOMENTUM, system, doubt=doubt * launch.arrow_mass)),
        ("mass per draw weight", show(launch.mass_per_force, Kind.MASS_PER_FORCE, system, digits=2)),
        ("time on the string", show(launch.time_on_string, Kind.TIME, system, digits=1)),
    ]


def _places(nodes: tuple[float, ...], system: System) -> str:
    digits = 1 if system is System.INCH else 0
    texts = [show(node, Kind.LENGTH, system, digits=digits) for node in nodes]
    unit = texts[0].partition(" ")[2] if texts else ""
    return f"{', '.join(text.partition(' ')[0] for text in texts)} {unit}".strip()


def bow_rows(figures: BuildFigures, system: System) -> list[tuple[str, str]]:
    """Rows (label, value) of the bow: what it stores and how much of it moves along."""
    bow = figures.setup.bow
    return [
        ("peak weight", show(figures.setup.present_peak_weight, Kind.FORCE, system, digits=1)),
        ("draw length", show(bow.draw_length, Kind.LENGTH, system)),
        ("brace height", show(bow.brace_height, Kind.LENGTH, system)),
        *energy_rows(figures, system),
    ]


def energy_rows(figures: BuildFigures, system: System) -> list[tuple[str, str]]:
    """Rows (label, value) of the bow that are computed: stored energy, the mass that moves along, the draw curve."""
    fit = figures.bow_fit
    stored = fit.curve.stored_energy
    read = (
        f"{fit.readings} chronograph reading{'s' if fit.readings != 1 else ''}"
        if fit.readings
        else "no chronograph reading"
    )
    return [
        ("stored energy", show(stored, Kind.ENERGY, system, doubt=_energy_doubt(figures) * stored)),
        ("virtual mass", f"{show(fit.mass, Kind.MASS, system, doubt=fit.mass_sd)} ({read})"),
        ("draw curve", fit.curve.stated),
    ]


def _energy_doubt(figures: BuildFigures) -> float:
    """One sd [1] of ln(stored energy): the draw curve's own, and the scale's."""
    return hypot(figures.bow_fit.curve.energy_doubt, 0.005)


def settings_rows(setup: Setup, hand: Hand, system: System) -> list[tuple[str, str]]:
    """Rows (label, value) of every adjustment against the recorded start; sides as ``hand`` sees them."""
    return adjustment_rows(setup, Voice(hand, system))
