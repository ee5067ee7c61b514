"""The arrow with the string's mass on its nock, reduced to the few shapes that a power stroke needs.

The modes include the nock's mass (a typical one; the rest is added bow by bow), because modes without it converge
slowly at the nock. What the dropped shapes give way statically at nock and rest is kept.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spinewright.mechanics.legendre import bending_table
from spinewright.mechanics.rod import GRID_CELLS, Rod, rod_of_parts
from spinewright.mechanics.rod_assembly import CROOKED, keep_modes, tabulate
from spinewright.mechanics.stroke_moment import RodArrays
from spinewright.mechanics.values import FloatArray

__all__ = ["HeldRod", "hold", "rod_arrays"]

_FEWEST_FOR_NOCK_SHAPE = 3  # with fewer shapes kept there is no room for the nock's own


@dataclass(frozen=True, slots=True, eq=False)
class HeldRod:
    """Translation, rotation and k bending shapes of the arrow with a mass on its nock, each of unit mass.

    free            the arrow by itself
    nock_mass       [kg] included in the shapes
    body (4,)       mass, balance, inertia with the nock mass; length
    stiffness      (k,) [rad2/s2]   squares of the kept shapes' frequencies
    thrust         (k+1, k+2) [1/m] G over rotation and kept shapes, last column for a shaft crooked by a unit parabola
    thrust_high    (k+1, k+2)       the same for what G does through the dropped shapes, per a^2 / stiffness factor
    table  (cells + 1, 2, 2k + 4)   along the shaft, values and slopes times the cell's length: kept shapes; what G adds
                                    to them through the dropped ones (rotation, kept, crooked shaft); flexibility of
                                    the dropped shapes between nock and here, and here and here
    crooked (2,)    place and direction of the free arrow when crooked by a unit parabola, its ends on the line
    """

    free: Rod
    nock_mass: float
    body: FloatArray
    stiffness: FloatArray
    thrust: FloatArray
    thrust_high: FloatArray
    table: FloatArray
    crooked: FloatArray


def hold(free: Rod, nock_mass: float, *, leaves_string: bool = False, dropped: bool = True) -> HeldRod:
    """``free`` with ``nock_mass`` [kg] on its nock.

    ``leaves_string``: the rest goes on after the string has gone, so the last shape kept is the nock's own (with at
    least three), which lets the nock mass go again. Without ``dropped`` the dropped shapes are left out altogether.
    """
    rod = rod_of_parts(free.parts, free.length, free.EI, free.modes, nock_mass)
    bending, k = rod.omega_squared.size, free.modes
    functions = bending_table(rod.rigid.shape[1], GRID_CELLS)
    at_nock = (functions[0][0] - rod.rigid[0] + rod.balance * rod.rigid[1])[:bending]
    modes = k - 1 if leaves_string and _FEWEST_FOR_NOCK_SHAPE <= k < bending else k
    stiffness, thrust, high, rows = keep_modes(rod.omega_squared, rod.shapes, rod.thrust, at_nock, (modes, k))
    body = np.array([rod.mass, rod.balance, rod.inertia, rod.length])
    table = tabulate(functions, rod.rigid, (rod.length, body), (stiffness, rows, rod.kappa))
    if not dropped:
        high[:], table[:, :, k:] = 0.0, 0.0
    return HeldRod(
        free=free,
        nock_mass=nock_mass,
        body=body,
        stiffness=stiffness,
        thrust=thrust,
        thrust_high=high,
        table=table,
        crooked=np.array([2.0 / 3.0 + CROOKED * free.rigid[0, 0], CROOKED * free.rigid[1, 0]]),
    )


def rod_arrays(held: HeldRod) -> RodArrays:
    """``held`` as the kernel wants it."""
    free = held.free
    body = np.concatenate([held.body, [free.mass, free.balance, free.inertia]])
    return RodArrays(body, held.stiffness, held.thrust, held.thrust_high, held.table)
