# SPDX-License-Identifier: GPL-3.0-or-later
"""Nonnegative least squares beside scipy's, and its conditions of a minimum."""

import numpy as np
import pytest
import scipy.optimize
from numpy.testing import assert_allclose, assert_array_equal

from addon.core.shaping.nonnegative_least_squares import nonnegative_least_squares


@pytest.mark.parametrize("seed", range(40))
def test_same_as_scipy(seed: int) -> None:
    """scipy.optimize.nnls on the matrix itself; 1e-7 because ours squares its condition number."""
    rng = np.random.default_rng(seed)
    unknowns = int(rng.integers(1, 60))
    matrix = rng.normal(size=(unknowns + int(rng.integers(0, 40)), unknowns))
    right = rng.normal(size=len(matrix))
    expected, _ = scipy.optimize.nnls(matrix, right)
    for start in (None, rng.random(unknowns) < 0.5, np.ones(unknowns, bool)):
        found = nonnegative_least_squares(matrix.T @ matrix, matrix.T @ right, start)
        assert_allclose(found, expected, rtol=0.0, atol=1e-7)


def test_nearly_equal_rows() -> None:
    """Planes of neighboring skin points: the minimum conditions hold to 1e-6 at a Gram matrix of condition 1e8."""
    rng = np.random.default_rng(5)
    rows = np.repeat(rng.normal(size=(12, 30)), 5, axis=0) + 1e-3 * rng.normal(size=(60, 30))
    rows /= np.linalg.norm(rows, axis=1)[:, None]
    gram = rows @ rows.T + 1e-7 * np.eye(60)
    moment = rng.normal(size=60) + 1.0
    found = nonnegative_least_squares(gram, moment)
    slope = moment - gram @ found
    assert (found >= 0.0).all() and (found > 0.0).sum() >= 5
    assert slope.max() <= 1e-6
    assert np.abs(slope[found > 0.0]).max() <= 1e-6


def test_by_hand() -> None:
    """One unknown wants to be negative: it stays 0 and the other is as if it were alone."""
    gram = np.array([[2.0, 1.0], [1.0, 2.0]])
    assert_allclose(nonnegative_least_squares(gram, np.array([4.0, -1.0])), [2.0, 0.0], atol=1e-14)
    assert_allclose(nonnegative_least_squares(gram, np.array([3.0, 3.0])), [1.0, 1.0], atol=1e-14)
    assert_array_equal(nonnegative_least_squares(gram, np.array([-1.0, -1.0])), [0.0, 0.0])
    assert len(nonnegative_least_squares(np.zeros((0, 0)), np.zeros(0))) == 0


def test_shapes() -> None:
    with pytest.raises(ValueError, match=r"gram: shape \(2, 2\), expected \(3, 3\)"):
        nonnegative_least_squares(np.eye(2), np.ones(3))
