"""Smooth surfaces between the builds of a map."""

from __future__ import annotations

import numpy as np
import pytest

from spinewright.outlook import fine_places, finer
from spinewright.outlook.surface import fill_from_nearest, through

X, Y = np.array([1.0, 2.0, 3.0, 4.5, 5.0]), np.array([10.0, 12.0, 15.0])


def test_a_surface_goes_through_its_builds() -> None:
    values = np.random.default_rng(1).normal(size=(3, 5))
    fine = finer(X, Y, values)
    rows, columns = (np.searchsorted(of, at) for of, at in ((fine.y, Y - 1e-9), (fine.x, X - 1e-9)))
    assert fine.values[np.ix_(rows, columns)] == pytest.approx(values, abs=1e-9)


def test_what_is_quadratic_stays_so_in_between() -> None:
    def smooth(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.asarray(2.0 - x[None, :] ** 2 + 0.3 * x[None, :] * y[:, None] + 0.1 * y[:, None] ** 2)

    fine = finer(X, Y, smooth(X, Y))
    assert fine.values == pytest.approx(smooth(fine.x, fine.y), abs=1e-8)


def test_few_builds_are_enough_for_a_surface() -> None:
    assert finer(X[:2], Y[:2], np.array([[0.0, 1.0], [2.0, 3.0]])).values.max() == pytest.approx(3.0)


def test_a_build_without_an_answer_takes_its_neighbours() -> None:
    values = np.array([[1.0, 2.0, 0.0], [4.0, 0.0, 6.0]])
    fill_from_nearest(values, np.array([[True, True, False], [True, False, True]]))
    assert values.tolist() == [[1.0, 2.0, 2.0], [4.0, 2.0, 6.0]]
    nothing = np.zeros((2, 2))
    fill_from_nearest(nothing, np.zeros((2, 2), dtype=np.bool_))
    assert not nothing.any()


def test_fine_places_hold_the_builds() -> None:
    fine = fine_places(X)
    assert np.all(np.diff(fine) > 0.0)
    assert np.isin(X, fine).all()


def test_a_polynomial_through_its_places_is_exact() -> None:
    at = np.array([0.0, 1.0, 2.5])
    places = np.linspace(0.0, 3.0, 7)
    assert through(at, places) @ (at**2 - at) == pytest.approx(places**2 - places)
