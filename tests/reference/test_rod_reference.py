"""The rod against published and independently computed values, and against scikit-fem's Hermite beams."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
import skfem
from numpy.typing import NDArray
from scipy.linalg import eigh
from skfem.assembly.form.form import FormExtraParams
from skfem.element import DiscreteField
from tests.unit.mechanics_samples import GRAIN, INCH

from spinewright.equipment import MassModel
from spinewright.mechanics import Rod, build_rod, frequencies, mode_nodes

FloatArray = NDArray[np.float64]


def beam(
    *lumps: tuple[float, float, float], length: float = 1.0, density: float = 1.0, stiffness: float = 1.0
) -> MassModel:
    """A uniform beam with lumps (position, mass, own inertia); its totals are not needed here."""
    table = np.array(lumps, dtype=np.float64).reshape(-1, 3)
    return MassModel(
        length=length,
        carbon_start=0.0,
        linear_density=density,
        EI=stiffness,
        lumps=(),
        positions=table[:, 0],
        masses=table[:, 1],
        inertias=table[:, 2],
        total_mass=float("nan"),
        balance=float("nan"),
        inertia=float("nan"),
        foc=float("nan"),
    )


def root_of_frequency(rod: Rod, mode: int = 1) -> float:
    return float(rod.omega_squared[mode - 1] ** 0.25)


def pushed(rod: Rod, thrust: float) -> FloatArray:
    """Squares of frequency of the unit beam under an end thrust of fixed direction; the first is the toppling."""
    k = rod.omega_squared.size
    stiffness = np.diag(np.concatenate([[0.0], rod.omega_squared]))
    return np.asarray(np.linalg.eigvalsh(stiffness - thrust / rod.mass * rod.thrust[:, : k + 1]))


@pytest.mark.parametrize(("mode", "value"), [(1, 4.73004), (2, 7.85320), (3, 10.99561)])
def test_bare_beam(mode: int, value: float) -> None:
    # published: Thomson, Theory of Vibration with Applications, App. D
    assert root_of_frequency(build_rod(beam()), mode) == pytest.approx(value, abs=6e-6)


@pytest.mark.parametrize(
    ("front", "rear", "value"), [(0.5, 0.0, 4.12814), (0.1, 0.1, 4.15566), (0.3, 0.05, 4.05462), (0.5, 0.1, 3.86593)]
)
def test_masses_on_the_ends(front: float, rear: float, value: float) -> None:
    # computed twice, by finite elements and by the frequency equation as in Blevins 1979, chapter 8
    rod = build_rod(beam((1.0, front, 0.0), (0.0, rear, 0.0)))
    assert root_of_frequency(rod) == pytest.approx(value, abs=6e-6)


def test_nodes_of_the_bare_beam() -> None:
    # computed from the free-free mode cosh + cos - sigma (sinh + sin)
    assert mode_nodes(build_rod(beam())) == pytest.approx([0.22416, 0.77584], abs=6e-6)


@pytest.mark.parametrize(
    ("front", "thrust", "value"),
    [
        (0.0, 0.0, 500.564),
        (0.0, 4.0, 400.330),
        (0.0, 10.0, 249.722),
        (0.0, 15.0, 138.039),
        (0.0, 20.0, 57.201),
        (0.5, 0.0, 290.413),
        (0.5, 4.0, 199.033),
        (0.5, 10.0, 69.969),
        (0.5, 15.0, 6.170),
    ],
)
def test_pushed_with_fixed_direction(front: float, thrust: float, value: float) -> None:
    # computed twice, by finite elements and by Ritz-Legendre
    squares = pushed(build_rod(beam((1.0, front, 0.0))), thrust)
    assert squares[1] == pytest.approx(value, abs=6e-4)
    assert squares[0] <= 1e-9  # a rod pushed from behind topples


@pytest.mark.parametrize(("thrust", "value"), [(10.0, 439.935), (20.0, 381.396)])
def test_pushed_along_its_own_tail(thrust: float, value: float) -> None:
    # computed twice; the thrust turns with the nock: its sideways part -P w'(0) works on w(0)
    assert _tangent_squares(thrust)[0] == pytest.approx(value, abs=2e-3)


def test_first_two_frequencies_meet_under_a_thrust_that_follows() -> None:
    # computed between 109.5 and 110; Beal 1965, AIAA J 3:486: 109.7 (from memory)
    before, after = (_tangent_squares(thrust)[_tangent_squares(thrust) < 1500.0] for thrust in (109.5, 110.0))
    assert before.size == 2
    assert after.size == 0


def _tangent_squares(thrust: float) -> FloatArray:
    """Real squares of the bending frequencies, lowest first; those that met have gone complex and are left out."""
    rod = build_rod(beam(), functions=20)
    k = rod.omega_squared.size
    nudge = 1e-6
    at_nock = rod.evaluate(0.0)[0, 1:]
    slope = (rod.evaluate(nudge)[0, 1:] - at_nock) / nudge
    matrix = np.diag(np.concatenate([[0.0], rod.omega_squared])) - thrust * rod.thrust[:, : k + 1]
    matrix -= thrust * np.outer(at_nock, slope)
    values = np.linalg.eigvals(matrix)
    real = values[np.abs(values.imag) < 1e-6 * np.abs(values.real) + 1e-6].real
    return np.sort(real[real > 1.0])


def test_example_arrow() -> None:
    # computed twice: 0.340 spine, 8.9 gr/in, 28 in, 125 gr at the front end, 10 gr at the rear end
    masses = beam(
        (28 * INCH, 125 * GRAIN, 0.0),
        (0.0, 10 * GRAIN, 0.0),
        length=28 * INCH,
        density=8.9 * GRAIN / INCH,
        stiffness=2.5462 / 0.340,
    )
    assert frequencies(build_rod(masses)) == pytest.approx([91.2, 278.2, 573.9], abs=0.06)


# --- scikit-fem: Hermite beam elements, assembled here from the weak form -----------------------------------------


class Beams:
    """A uniform beam of Hermite elements with lumps at its ends."""

    def __init__(self, masses: MassModel, elements: int = 64) -> None:
        mesh = skfem.MeshLine(np.linspace(0.0, masses.length, elements + 1))
        self.basis = skfem.Basis(mesh, skfem.ElementLineHermite())
        density, stiffness = masses.linear_density, masses.EI
        front = masses.masses[masses.positions > 0.0].sum()

        def bending(u: DiscreteField, v: DiscreteField, _: FormExtraParams) -> FloatArray:
            return np.asarray(stiffness * u.hess[0, 0] * v.hess[0, 0])

        def inertia(u: DiscreteField, v: DiscreteField, _: FormExtraParams) -> FloatArray:
            return np.asarray(density * u * v)

        def compression(u: DiscreteField, v: DiscreteField, w: FormExtraParams) -> FloatArray:
            return np.asarray((density * (masses.length - w.x[0]) + front) * u.grad[0] * v.grad[0])

        self.stiffness, self.mass, self.thrust = (
            skfem.BilinearForm(form).assemble(self.basis).toarray() for form in (bending, inertia, compression)
        )
        self.values, self.slopes = self.basis.nodal_dofs[0], self.basis.nodal_dofs[1]
        for position, mass, own in zip(masses.positions, masses.masses, masses.inertias, strict=True):
            node = -1 if position > 0.0 else 0
            self.mass[self.values[node], self.values[node]] += mass
            self.mass[self.slopes[node], self.slopes[node]] += own

    def squares(self, acceleration: float = 0.0) -> FloatArray:
        return np.asarray(eigh(self.stiffness - acceleration * self.thrust, self.mass, eigvals_only=True))


INVENTED = beam(
    (0.73, 8.4e-3, 9e-7), (0.0, 0.9e-3, 2e-7), length=0.73, density=0.0223, stiffness=7.1
)  # an invented arrow, its lumps on its ends


def test_free_vibration_with_end_masses_against_finite_elements() -> None:
    found = np.sqrt(build_rod(INVENTED).omega_squared[:4])
    assert found == pytest.approx(np.sqrt(Beams(INVENTED).squares()[2:6]), rel=2e-5)


def test_axially_pushed_against_finite_elements() -> None:
    rod, acceleration = build_rod(INVENTED), 6500.0
    k = rod.omega_squared.size
    found = np.linalg.eigvalsh(
        np.diag(np.concatenate([[0.0], rod.omega_squared])) - acceleration * rod.thrust[:, : k + 1]
    )
    exact = Beams(INVENTED).squares(acceleration)
    # finite elements: translation is 0, the toppling below it, the rod's matrix has no translation
    assert found[0] == pytest.approx(exact[0], rel=1e-5)
    assert found[1:4] == pytest.approx(exact[2:5], rel=1e-4)


def test_buckling_against_finite_elements() -> None:
    rod = build_rod(INVENTED)
    beams = Beams(INVENTED)
    just_under, just_over = (beams.squares(factor * rod.critical_acceleration) for factor in (0.999, 1.001))
    assert (just_under < -1.0).sum() == 1
    assert (just_over < -1.0).sum() == 2


def test_static_deflection_against_finite_elements_and_the_spine_test() -> None:
    # three-point bending over the whole length: deflection F S^3 / (48 EI) (any strength-of-materials text)
    rod, load = build_rod(INVENTED, functions=30), 8.63
    places = np.array([0.0, 0.365, 0.73])
    shapes = rod.evaluate(places)[:, 2:]
    bent = shapes @ ((shapes.T @ (load * np.array([0.5, -1.0, 0.5]))) / rod.omega_squared)
    deflection = 0.5 * (bent[0] + bent[2]) - bent[1]
    assert deflection == pytest.approx(load * 0.73**3 / (48 * INVENTED.EI), rel=2e-4)
    beams = Beams(INVENTED)
    force = np.zeros(beams.mass.shape[0])
    force[beams.values[32]] = load
    held = np.setdiff1d(np.arange(force.size), [beams.values[0], beams.values[-1]])
    sag = np.linalg.solve(beams.stiffness[np.ix_(held, held)], force[held])
    assert deflection == pytest.approx(sag[np.flatnonzero(held == beams.values[32])[0]], rel=2e-4)


def test_the_units_of_a_frequency() -> None:
    # computed: f1 of a bare uniform shaft = (4.73004^2 / 2 pi L^2) sqrt(EI / mu)
    masses = beam(length=0.7, density=0.02, stiffness=6.0)
    expected = 4.730041**2 / (2 * pi * 0.7**2) * sqrt(6.0 / 0.02)
    assert frequencies(build_rod(masses))[0] == pytest.approx(expected, rel=1e-6)
