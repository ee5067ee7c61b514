"""Where the mass of a build sits: lumps along the shaft, balance point, FOC and moment of inertia, bare or fletched."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from spinewright.equipment.arrow import ArrowBuild, Component, Head, HeadKind

if TYPE_CHECKING:  # numpy is imported where it is used, so that naming a build costs no start-up time
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["Lump", "MassModel", "mass_model"]

# A point or head is taken as two uniform rods: the shank inside the shaft and the part that stands out. Computed from
# the volumes of a turned field point (25 mm out, 7.6 mm thick, tapering) on the standard 8-32 screw and pilot.
SHANK_LENGTH = 0.019  # m
_SHANK_SHARE = {HeadKind.FIELD: 1 / 3, HeadKind.FIXED: 1 / 4, HeadKind.MECHANICAL: 1 / 4}
_OUTSIDE_CENTRE = 0.4  # of the length that stands out: it tapers, so less than half


@dataclass(frozen=True, slots=True)
class Lump:
    """One thing on the shaft: ``mass`` [kg], ``position`` [m] from the throat, ``inertia`` [kg m2] about itself."""

    name: str
    mass: float
    position: float
    inertia: float


@dataclass(frozen=True, slots=True, eq=False)
class MassModel:
    """A build as mechanics and flight see it. Positions run from the nock throat (0) to the front shaft end (length).

    length         [m]     nock throat to front shaft end
    carbon_start   [m]     rear end of the shaft itself; shaft mass lies from here to ``length``
    linear_density [kg/m]  of the shaft
    EI             [N m2]  bending stiffness, taken constant on [0, length]
    lumps                  everything fixed to the shaft; a position beyond ``length`` stands out in front
    positions, masses, inertias  (n,) [m], [kg], [kg m2] of the lumps, read-only
    total_mass     [kg]
    balance        [m]     balance point from the nock throat
    inertia        [kg m2] transverse, about the balance point
    foc            [1]     (balance - length/2) / length; the trade prints it in per cent
    """

    length: float
    carbon_start: float
    linear_density: float
    EI: float
    lumps: tuple[Lump, ...]
    positions: NDArray[np.float64]
    masses: NDArray[np.float64]
    inertias: NDArray[np.float64]
    total_mass: float
    balance: float
    inertia: float
    foc: float


def mass_model(build: ArrowBuild, *, bare: bool) -> MassModel:
    """The masses of ``build``: fletched, or ``bare`` (vanes gone, tape where they would be).

    Balance and inertia are sums over the shaft tube as a uniform rod and the lumps. FOC as in ASTM F2031's arrow
    length: measured to the front end of the shaft, the point left out.
    """
    import numpy as np

    shaft = build.shaft
    length, start = build.throat_length, build.throat_length - build.carbon_length
    lumps = _lumps(build, bare=bare)
    table = np.array(
        (
            [lump.position for lump in lumps],
            [lump.mass for lump in lumps],
            [lump.inertia for lump in lumps],
        )
    )
    table.setflags(write=False)
    tube = shaft.linear_density * build.carbon_length
    middle = (start + length) / 2.0
    # so few that plain sums take a fraction of the time of array operations
    total = tube + sum(lump.mass for lump in lumps)
    balance = (tube * middle + sum(lump.mass * lump.position for lump in lumps)) / total
    inertia = tube * (build.carbon_length**2 / 12.0 + (middle - balance) ** 2)
    inertia += sum(lump.mass * (lump.position - balance) ** 2 + lump.inertia for lump in lumps)
    return MassModel(
        length=length,
        carbon_start=start,
        linear_density=shaft.linear_density,
        EI=shaft.bending_stiffness,
        lumps=lumps,
        positions=table[0],
        masses=table[1],
        inertias=table[2],
        total_mass=total,
        balance=balance,
        inertia=inertia,
        foc=(balance - length / 2.0) / length,
    )


def _lumps(build: ArrowBuild, *, bare: bool) -> tuple[Lump, ...]:
    start, length = build.throat_length - build.carbon_length, build.throat_length
    rear = (("nock", build.nock), ("bushing", build.bushing), ("wrap", build.wrap))
    front = (("insert", build.insert), ("collar", build.collar))
    found = [_component(name, part, start + part.offset) for name, part in rear if part is not None]
    found.append(_tail(build, bare=bare))
    found += [_component(name, part, length - part.offset) for name, part in front if part is not None]
    found.append(_head(build.head, length))
    return tuple(lump for lump in found if lump.mass > 0.0)


def _component(name: str, part: Component, position: float) -> Lump:
    return Lump(name, part.mass, position, part.mass * part.length**2 / 12.0)


def _tail(build: ArrowBuild, *, bare: bool) -> Lump:
    """The vanes, or on a bare shaft the tape wrapped where they would be."""
    vanes = build.fletching
    mass = build.tape_mass if bare else vanes.count * vanes.mass
    position = vanes.from_rear + vanes.length / 2.0
    return Lump("tape" if bare else "vanes", mass, position, mass * vanes.length**2 / 12.0)


def _head(head: Head, length: float) -> Lump:
    """The head as two uniform rods, see the constants at the top."""
    inside = _SHANK_SHARE[head.kind]
    outside = 1.0 - inside
    ahead = _OUTSIDE_CENTRE * head.length
    centre = outside * ahead - inside * SHANK_LENGTH / 2.0
    square = outside * (head.length**2 / 12.0 + (ahead - centre) ** 2)
    square += inside * (SHANK_LENGTH**2 / 12.0 + (SHANK_LENGTH / 2.0 + centre) ** 2)
    return Lump("head", head.mass, length + centre, head.mass * square)
