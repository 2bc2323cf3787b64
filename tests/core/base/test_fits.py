# SPDX-License-Identifier: GPL-3.0-or-later
"""Circle and plane against published answers, null-space data and repeated trials."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.fits.fit_circle import fit_circle, linear_circle
from addon.core.fits.fit_plane import fit_plane

# Gander, Golub, Strebel, BIT 34 (1994) 558-578, doi 10.1007/BF01934268: points and both answers, printed to four digits.
GANDER = [(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)]

# scikit-spatial (BSD), tests/unit/objects/test_circle.py: exact cases.
SPATIAL_CIRCLES = [
    ([(1, 1), (2, 2), (3, 1)], (2, 1), 1),
    ([(1, 0), (0, 1), (1, 2)], (1, 1), 1),
]


def turned(seed: int) -> np.ndarray:
    """A random rotation (3, 3)."""
    q, r = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return q * np.linalg.det(q)


def test_circle_of_gander_geometric_and_linear_are_not_confused() -> None:
    """The linear (Kasa, Coope) answer differs from the published geometric one; computed once by hand from its equations."""
    fit = fit_circle(GANDER)
    assert_allclose([*fit.center, fit.radius], [4.7398, 2.9835, 4.7142], atol=1e-4)
    center, radius = linear_circle(GANDER)
    assert_allclose([*center, radius], [4.742331, 3.835123, 4.108762], atol=1e-6)


@pytest.mark.parametrize(("points", "center", "radius"), SPATIAL_CIRCLES)
def test_circle_of_scikit_spatial(points: list[tuple[int, int]], center: tuple[int, int], radius: float) -> None:
    fit = fit_circle(points)
    assert_allclose([*fit.center, fit.radius], [*center, radius], atol=1e-9)


def test_circle_null_space() -> None:
    """Residuals orthogonal to the Jacobian leave the optimum where it was (Cox and Forbes, NPL DITC 211/92)."""
    t = np.arange(12) * np.pi / 6
    r = 50 + 0.2 * np.cos(2 * t)
    fit = fit_circle(np.column_stack([12 + r * np.cos(t), -7 + r * np.sin(t)]))
    assert_allclose([*fit.center, fit.radius, fit.rms_mm], [12, -7, 50, 0.2 / np.sqrt(2)], atol=1e-6)


def test_circle_covariance_is_that_of_repeated_trials() -> None:
    rng = np.random.default_rng(5)
    t = np.linspace(0, 1.5, 60)
    clean = np.column_stack([40 * np.cos(t), 40 * np.sin(t)])
    fits = [fit_circle(clean + rng.normal(0, 0.05, clean.shape)) for _ in range(300)]
    found = np.array([[*fit.center, fit.radius] for fit in fits])
    stated = np.sqrt(np.mean([np.diag(fit.covariance) for fit in fits], axis=0))
    assert_allclose(found.std(axis=0) / stated, 1.0, atol=0.15)


def test_plane_null_space_and_inclined() -> None:
    i, j = np.meshgrid(np.arange(4), np.arange(4), indexing="ij")
    points = np.column_stack([10.0 * i.ravel(), 10.0 * j.ravel(), 5 + 0.05 * (-1.0) ** (i + j).ravel()])
    fit = fit_plane(points)
    assert_allclose(fit.normal, (0, 0, 1), atol=1e-12)
    assert_allclose(fit.point, (15, 15, 5), atol=1e-9)
    assert_allclose(fit.rms_mm, 0.05, atol=1e-9)
    x, y = np.random.default_rng(1).uniform(-5, 5, (2, 30))
    inclined = fit_plane(np.column_stack([x, y, 0.1 * x + 0.2 * y + 5]))
    assert_allclose(inclined.normal, (-0.0975900, -0.1951800, 0.9759001), atol=1e-6)
    assert_allclose(inclined.point @ inclined.normal, 4.8795004, atol=1e-6)


def test_plane_covariance_is_that_of_repeated_trials() -> None:
    rng = np.random.default_rng(6)
    clean = np.column_stack([rng.uniform(-20, 20, 80), rng.uniform(-5, 5, 80), np.zeros(80)])
    fits = [fit_plane(clean + rng.normal(0, 0.1, (80, 1)) * [0, 0, 1]) for _ in range(300)]
    errors = [np.array([fit.point[2], *(-fit.tangents @ [0.0, 0.0, 1.0])]) for fit in fits]
    squares = [error @ np.linalg.solve(fit.covariance, error) for error, fit in zip(errors, fits, strict=True)]
    assert_allclose(np.mean(squares), 3.0, atol=0.5)  # chi-squared of three freedoms


def test_what_cannot_be_fitted_is_refused() -> None:
    line = np.outer(np.arange(9.0), [1, 2, 3])
    with pytest.raises(ValueError, match="line"):
        fit_plane(line)
    with pytest.raises(ValueError, match="line"):
        fit_circle(line[:, :2])
