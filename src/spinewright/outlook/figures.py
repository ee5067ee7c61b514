"""Every figure of a build that a build sheet shows: masses, bending, speed and energy, with their doubts and limits."""

from __future__ import annotations

from dataclasses import dataclass, replace

from spinewright.equipment import (
    DrawCurve,
    HeadKind,
    Launch,
    Limit,
    LimitKind,
    LimitState,
    MassModel,
    Setup,
    ShaftMaterial,
    VirtualMassFit,
    fit_virtual_mass,
    mass_model,
    safety_limits,
)
from spinewright.mechanics import build_rod, frequencies, mode_nodes
from spinewright.units import System

__all__ = ["ArrowFigures", "BuildFigures", "build_figures", "sheet_cautions"]

MODES = 3


@dataclass(frozen=True, slots=True, eq=False)
class ArrowFigures:
    """One arrow, fletched or bare.

    masses       total mass [kg], balance point [m from the nock throat], FOC [1], inertia [kg m2]
    frequencies  [Hz] of the free arrow's first three bending modes
    nodes        [m from the nock throat] where each of these modes stands still on the shaft
    launch       speed [m/s], energy [J], momentum [kg m/s], mass per force [kg/N], efficiency, time on the string [s]
    speed_doubt  [m/s] one sd, from what is not known of the bow
    thrust_share [1] peak thrust of the shot over the steady thrust at which the shaft would give way
    """

    masses: MassModel
    frequencies: tuple[float, ...]
    nodes: tuple[tuple[float, ...], ...]
    launch: Launch
    speed_doubt: float
    thrust_share: float


@dataclass(frozen=True, slots=True, eq=False)
class BuildFigures:
    """A setup's figures.

    bow_fit   stored energy and virtual mass with their doubts, at the present peak weight
    limits    all limits of the fletched arrow; bare_limit the arrow-mass limit of the bare shaft
    """

    setup: Setup
    fletched: ArrowFigures
    bare: ArrowFigures
    bow_fit: VirtualMassFit
    limits: tuple[Limit, ...]
    bare_limit: Limit

    @property
    def broken(self) -> tuple[Limit, ...]:
        """Limits that are broken."""
        return tuple(one for one in (*self.limits, self.bare_limit) if one.state is LimitState.BROKEN)


def build_figures(setup: Setup) -> BuildFigures:
    """Figures of ``setup``; the virtual mass is fitted at the weight the bow had when its speeds were read.

    Turned limb bolts scale the draw curve; virtual mass and the share of energy given back are taken as unchanged.
    """
    read = fit_virtual_mass(DrawCurve.of(setup.bow), setup.bow.speeds)
    fit = replace(read, curve=DrawCurve.of(setup.bow, setup.present_peak_weight))
    bare_mass = next(one for one in safety_limits(setup, bare=True) if one.what is LimitKind.ARROW_MASS)
    return BuildFigures(
        setup=setup,
        fletched=_arrow(setup, fit, bare=False),
        bare=_arrow(setup, fit, bare=True),
        bow_fit=fit,
        limits=tuple(safety_limits(setup)),
        bare_limit=bare_mass,
    )


def _arrow(setup: Setup, fit: VirtualMassFit, *, bare: bool) -> ArrowFigures:
    masses = mass_model(setup.build, bare=bare)
    rod = build_rod(masses)
    acceleration = fit.energy_factor * fit.curve.peak / (masses.total_mass + fit.mass)
    return ArrowFigures(
        masses=masses,
        frequencies=tuple(float(f) for f in frequencies(rod, MODES)),
        nodes=tuple(tuple(float(s) for s in mode_nodes(rod, mode)) for mode in range(1, MODES + 1)),
        launch=fit.launch(masses.total_mass),
        speed_doubt=fit.speed_sd(masses.total_mass),
        thrust_share=1.0 / rod.buckling_margin(acceleration),
    )


def sheet_cautions(figures: BuildFigures, system: System) -> tuple[str, ...]:
    """What to mind with this build, the gravest first: broken limits, limits nobody stated, usual care of the trade."""
    found = [one.sentence(system) for one in figures.limits if one.state is LimitState.BROKEN]
    if figures.bare_limit.state is LimitState.BROKEN:
        found.append(f"Bare shaft. {figures.bare_limit.sentence(system)}")
    found += [one.sentence(system) for one in figures.limits if one.state is LimitState.UNKNOWN]
    if figures.bow_fit.conflict:
        found.append(f"Speed: {figures.bow_fit.conflict}.")
    if figures.setup.build.head.kind is not HeadKind.FIELD:
        found.append("Never a broadhead on an unfletched shaft: bare shafts carry field points of the same mass.")
    found.append("Bare shafts only at a backstop that forgives a wide miss, each at its own aiming spot.")
    if figures.setup.build.shaft.material is not ShaftMaterial.ALUMINIUM:
        found.append(
            "Flex and look at a carbon shaft after every hard or sideways hit; see that the nock is whole and seated."
        )
    found.append("The range's rules and the makers' limits stand above this sheet.")
    return tuple(dict.fromkeys(found))
