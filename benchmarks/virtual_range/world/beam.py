"""The arrow of the range as cubic finite elements: banded mass, stiffness and thrust matrices, and their solution.

Degrees of freedom: deflection [m] and slope [1] of each node, nock throat first. A banded symmetric matrix is kept as
(4, n): row k holds the entries k places below the diagonal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from spinewright.equipment import ArrowBuild

__all__ = ["ELEMENTS", "Beam", "Lump", "add_shape", "arrow_beam", "banded_times", "dense", "factor", "shape", "solve"]

FloatArray = NDArray[np.float64]

ELEMENTS = 20


@dataclass(frozen=True, slots=True)
class Lump:
    """A mass [kg] at ``place`` [m] from the nock throat, with its own rotary ``inertia`` [kg m2]."""

    mass: float
    place: float
    inertia: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Beam:
    """Banded matrices of one arrow.

    step [m] element length; mass, stiffness, thrust (4, n): ``thrust`` is what a forward acceleration of 1 m/s2 takes
    from the stiffness; total [kg], balance [m] from the throat, inertia [kg m2] about it
    """

    step: float
    mass: FloatArray
    stiffness: FloatArray
    thrust: FloatArray
    total: float
    balance: float
    inertia: float

    @property
    def length(self) -> float:
        """Nock throat to front shaft end [m]."""
        return float(self.step * (self.mass.shape[1] // 2 - 1))


def arrow_lumps(build: ArrowBuild, *, bare: bool) -> list[Lump]:
    """Everything fixed to the shaft, put where the range thinks it is: a point's mass a third of the way out of it."""
    rear, front = build.throat_length - build.carbon_length, build.throat_length
    found = [Lump(build.nock.mass, max(rear + build.nock.offset, 0.0))]
    found += [Lump(part.mass, rear + part.offset) for part in (build.bushing, build.wrap) if part is not None]
    vanes = build.fletching
    tail = build.tape_mass if bare else vanes.total_mass
    found.append(Lump(tail, vanes.from_rear + 0.5 * vanes.length))
    found += [Lump(part.mass, front - part.offset) for part in (build.insert, build.collar) if part is not None]
    head = build.head
    found.append(Lump(head.mass, front + head.length / 3.0 - 0.005, head.mass * (head.length + 0.015) ** 2 / 12.0))
    return [lump for lump in found if lump.mass > 0.0]


def arrow_beam(build: ArrowBuild, *, bare: bool, stiffness_factor: float, on_nock: float = 0.0) -> Beam:
    """The beam of a build; ``on_nock`` [kg] of string moves with the nock."""
    shaft = build.shaft
    rear = build.throat_length - build.carbon_length
    places = _elements(build.throat_length)
    density = np.where(places + 0.5 * build.throat_length / ELEMENTS > rear, shaft.linear_density, 0.0)
    density *= shaft.linear_density * build.carbon_length / (density.sum() * build.throat_length / ELEMENTS)
    lumps = arrow_lumps(build, bare=bare)
    if on_nock > 0.0:
        lumps.append(Lump(on_nock, 0.0))
    return beam(build.throat_length, shaft.bending_stiffness * stiffness_factor, density, lumps)


def _elements(length: float) -> FloatArray:
    return np.asarray(np.arange(ELEMENTS) * length / ELEMENTS)


def beam(length: float, bending: float, density: FloatArray, lumps: Sequence[Lump]) -> Beam:
    """A free beam of ``bending`` stiffness [N m2], ``density`` [kg/m] (one an element) and ``lumps``."""
    count = len(density)
    step = length / count
    n = 2 * (count + 1)
    mass, stiffness, thrust = np.zeros((4, n)), np.zeros((4, n)), np.zeros((4, n))
    for e in range(count):
        _place(mass, 2 * e, density[e] * step / 420.0 * _mass_shape(step))
        _place(stiffness, 2 * e, bending / step**3 * _stiffness_shape(step))
    for lump in lumps:
        _add_lump(mass, lump, step, count)
    for e in range(count):
        middle = (e + 0.5) * step
        ahead = density[e] * 0.5 * step + step * density[e + 1 :].sum()
        ahead += sum(lump.mass for lump in lumps if lump.place > middle)
        _place(thrust, 2 * e, ahead / (30.0 * step) * _thrust_shape(step))
    return Beam(step, mass, stiffness, thrust, *_rigid(mass, step))


def _place(banded: FloatArray, first: int, block: FloatArray) -> None:
    for j in range(4):
        for k in range(4 - j):
            banded[k, first + j] += block[j + k, j]


def _mass_shape(h: float) -> FloatArray:
    rows = [[156, 22 * h, 54, -13 * h], [22 * h, 4 * h * h, 13 * h, -3 * h * h]]
    rows += [[54, 13 * h, 156, -22 * h], [-13 * h, -3 * h * h, -22 * h, 4 * h * h]]
    return np.array(rows, dtype=float)


def _stiffness_shape(h: float) -> FloatArray:
    rows = [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h]]
    rows += [[-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]]
    return np.array(rows, dtype=float)


def _thrust_shape(h: float) -> FloatArray:
    rows = [[36, 3 * h, -36, 3 * h], [3 * h, 4 * h * h, -3 * h, -h * h]]
    rows += [[-36, -3 * h, 36, -3 * h], [3 * h, -h * h, -3 * h, 4 * h * h]]
    return np.array(rows, dtype=float)


def _add_lump(mass: FloatArray, lump: Lump, step: float, count: int) -> None:
    """A lump within an element, or carried rigidly beyond the last node."""
    e = min(int(lump.place / step), count - 1)
    beyond = lump.place - count * step
    if beyond > 0.0:
        value, slope = np.array([0.0, 0.0, 1.0, beyond]), np.array([0.0, 0.0, 0.0, 1.0])
    else:
        value, slope = np.empty(4), np.empty(4)
        shape(lump.place / step - e, step, value, slope)
    _place(mass, 2 * e, lump.mass * np.outer(value, value) + lump.inertia * np.outer(slope, slope))


def _rigid(mass: FloatArray, step: float) -> tuple[float, float, float]:
    """Total mass, balance point and inertia about it, from the two rigid motions."""
    n = mass.shape[1]
    shift, turn = np.zeros(n), np.zeros(n)
    shift[0::2], turn[1::2] = 1.0, 1.0
    turn[0::2] = step * np.arange(n // 2)
    moved = banded_times(mass, shift)
    total = float(shift @ moved)
    balance = float(turn @ moved) / total
    return total, balance, float(turn @ banded_times(mass, turn)) - total * balance**2


def dense(banded: FloatArray) -> FloatArray:
    """The whole symmetric matrix of a banded one."""
    n = banded.shape[1]
    whole = np.zeros((n, n))
    for k in range(4):
        for j in range(n - k):
            whole[j + k, j] = whole[j, j + k] = banded[k, j]
    return whole


@njit(cache=True, error_model="numpy")
def shape(part: float, step: float, value: FloatArray, slope: FloatArray) -> None:
    """Cubic shape functions and their slopes [1/m] at ``part`` (0..1) of an element."""
    t = part
    value[0] = 1 - 3 * t * t + 2 * t**3
    value[1] = step * (t - 2 * t * t + t**3)
    value[2] = 3 * t * t - 2 * t**3
    value[3] = step * (t**3 - t * t)
    slope[0] = (6 * t * t - 6 * t) / step
    slope[1] = 1 - 4 * t + 3 * t * t
    slope[2] = (6 * t - 6 * t * t) / step
    slope[3] = 3 * t * t - 2 * t


@njit(cache=True, error_model="numpy")
def add_shape(banded: FloatArray, first: int, value: FloatArray, factor_: float) -> None:
    """Add ``factor_`` value value^T at four degrees of freedom from ``first`` on."""
    for j in range(4):
        for k in range(4 - j):
            banded[k, first + j] += factor_ * value[j + k] * value[j]


@njit(cache=True, error_model="numpy")
def banded_times(banded: FloatArray, vector: FloatArray) -> FloatArray:
    """A banded matrix times a vector."""
    n = banded.shape[1]
    out = np.zeros(n)
    out += banded[0] * vector
    for k in range(1, 4):
        for j in range(n - k):
            out[j + k] += banded[k, j] * vector[j]
            out[j] += banded[k, j] * vector[j + k]
    return out


@njit(cache=True, error_model="numpy")
def factor(banded: FloatArray) -> None:
    """L D L^T in place: D on the diagonal, L below it."""
    n = banded.shape[1]
    for j in range(n - 3):  # written out: this is where the range spends its time
        d, one, two, three = banded[0, j], banded[1, j], banded[2, j], banded[3, j]
        first, second, third = one / d, two / d, three / d
        banded[0, j + 1] -= first * one
        banded[1, j + 1] -= first * two
        banded[2, j + 1] -= first * three
        banded[0, j + 2] -= second * two
        banded[1, j + 2] -= second * three
        banded[0, j + 3] -= third * three
        banded[1, j], banded[2, j], banded[3, j] = first, second, third
    for j in range(max(n - 3, 0), n):
        for k in range(1, n - j):
            part = banded[k, j] / banded[0, j]
            for i in range(k, n - j):
                banded[i - k, j + k] -= part * banded[i, j]
        for k in range(1, n - j):
            banded[k, j] /= banded[0, j]


@njit(cache=True, error_model="numpy")
def solve(factored: FloatArray, right: FloatArray) -> None:
    """Solve in place with a factored matrix."""
    n = factored.shape[1]
    for j in range(n - 3):
        here = right[j]
        right[j + 1] -= factored[1, j] * here
        right[j + 2] -= factored[2, j] * here
        right[j + 3] -= factored[3, j] * here
    for j in range(max(n - 3, 0), n):
        for k in range(1, n - j):
            right[j + k] -= factored[k, j] * right[j]
    for j in range(n):
        right[j] /= factored[0, j]
    for j in range(n - 1, max(n - 4, -1), -1):
        for k in range(1, n - j):
            right[j] -= factored[k, j] * right[j + k]
    for j in range(n - 4, -1, -1):
        below = right[j] - factored[1, j] * right[j + 1]
        below -= factored[2, j] * right[j + 2]
        right[j] = below - factored[3, j] * right[j + 3]
