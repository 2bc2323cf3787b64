# SPDX-License-Identifier: GPL-3.0-or-later
"""What must hold for each signed distance, whatever the body."""

import numpy as np
from numpy.testing import assert_allclose

from addon.core.base.arrays import Array
from addon.core.bodies.body import Body


def check_unit_slope(body: Body, points: Array, rng: np.random.Generator) -> None:
    """No two points differ in distance by more than they are apart (1e-9 for rounding and for minima found by search)."""
    others = points + rng.normal(scale=10.0, size=points.shape)
    apart = np.linalg.norm(points - others, axis=1)
    assert (np.abs(body.distance(points) - body.distance(others)) <= apart + 1e-9).all()


def check_gradient(body: Body, points: Array, share: float = 1.0, tolerance: float = 1e-5) -> None:
    """Unit, and equal to central differences of the distance except at a share of kinks (inside)."""
    distance, gradient = body.distance_and_gradient(points)
    assert_allclose(distance, body.distance(points), rtol=0.0, atol=1e-9)
    assert_allclose(np.linalg.norm(gradient, axis=1), 1.0, rtol=0.0, atol=1e-12)
    step = 1e-4
    slopes = [(body.distance(points + step * way) - body.distance(points - step * way)) / (2 * step) for way in np.eye(3)]
    off = np.abs(np.stack(slopes, axis=1) - gradient).max(axis=1)
    assert (off < tolerance).mean() >= share


def check_support(body: Body, points: Array, rng: np.random.Generator) -> None:
    """A convex distance is nowhere below its supporting plane: d(q) >= d(p) + n . (q - p), to 1e-6."""
    distance, gradient = body.distance_and_gradient(points)
    others = rng.permutation(points)
    assert (body.distance(others) >= distance + np.einsum("ij,ij->i", gradient, others - points) - 1e-6).all()


def check_convex(body: Body, points: Array, rng: np.random.Generator) -> None:
    """Along a line between two points the distance is nowhere above the chord, to 1e-9."""
    others = rng.permutation(points)
    share = rng.uniform(size=len(points))
    between = body.distance(points + share[:, None] * (others - points))
    assert (between <= (1.0 - share) * body.distance(points) + share * body.distance(others) + 1e-9).all()
