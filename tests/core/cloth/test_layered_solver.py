# SPDX-License-Identifier: GPL-3.0-or-later
"""Equations solved layer by layer against a dense solver."""

import numpy as np
import pytest

from addon.core.cloth.layered_solver import LayeredSolver, layers_from
from tests.core.laminate.grids import cylinder


@pytest.mark.parametrize("kind", [np.float64, np.complex128])
def test_same_as_a_dense_solver(kind: type) -> None:
    """numpy.linalg.solve on a matrix that joins what triangles join."""
    rng = np.random.default_rng(2)
    points, triangles = cylinder(np.linspace(0.0, 1.5, 30))
    count = len(points)
    factor = np.zeros((len(triangles), count), dtype=kind)
    for row, corners in enumerate(triangles):
        factor[row, corners] = rng.normal(size=3) + (1j * rng.normal(size=3) if kind is np.complex128 else 0.0)
    dense = factor.conj().T @ factor + 0.1 * np.eye(count)
    rows, columns = np.nonzero(dense)
    # an entry may be given in several shares
    solver = LayeredSolver(
        layers_from(triangles, count, 0),
        np.concatenate([rows, rows]),
        np.concatenate([columns, columns]),
        np.concatenate([0.25 * dense[rows, columns], 0.75 * dense[rows, columns]]),
    )
    right = rng.normal(size=(count, 2)).astype(kind)
    np.testing.assert_allclose(solver.solve(right), np.linalg.solve(dense, right), rtol=1e-8, atol=1e-10)


def test_layers_count_edges() -> None:
    triangles = np.array([[0, 1, 2], [1, 3, 2], [3, 4, 2]])
    np.testing.assert_array_equal(layers_from(triangles, 5, 0), [0, 1, 1, 2, 2])
    with pytest.raises(ValueError, match="not connected"):
        layers_from(triangles, 6, 0)
