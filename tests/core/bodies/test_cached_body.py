# SPDX-License-Identifier: GPL-3.0-or-later
"""Answers that are remembered are those of the body itself where it matters, and never too large."""

import numpy as np
from numpy.testing import assert_allclose, assert_array_equal

from addon.core.base.arrays import Array
from addon.core.bodies.cached_body import NEAR_MM, CachedBody
from addon.core.bodies.capsule import Capsule


class Counted(Capsule):
    asked = 0

    def distance_and_gradient(self, points: Array) -> tuple[Array, Array]:
        self.asked += len(points)
        return super().distance_and_gradient(points)


def test_walks_of_points_are_told_as_the_body_tells_them() -> None:
    body = Counted((0.0, 0.0, -50.0), (0.0, 0.0, 50.0), 20.0)
    remembered = CachedBody(body)
    rng = np.random.default_rng(5)
    points = rng.uniform(-400.0, 400.0, (3000, 3))
    assert_array_equal(remembered.distance(points), body.distance(points))
    for _ in range(60):
        moving = rng.random(len(points)) < 0.3
        points = points + moving[:, None] * rng.normal(0.0, 4.0, points.shape)
        distance, gradient = remembered.distance_and_gradient(points)
        true, normal = Capsule.distance_and_gradient(body, points)
        near = true < NEAR_MM
        assert_allclose(distance[near], true[near], rtol=0, atol=1e-9)
        assert_allclose(gradient[near], normal[near], rtol=0, atol=1e-9)
        assert (distance <= true + 1e-9).all()
    assert body.asked < 3000 + 60 * 3000 * 0.15, "most points were not asked about again"


def test_sets_of_other_counts_do_not_mix() -> None:
    body = Capsule((0.0, 0.0, -50.0), (0.0, 0.0, 50.0), 20.0)
    remembered = CachedBody(body)
    for count in (5, 9, 5, 700, 9):
        points = np.random.default_rng(count).uniform(-60.0, 60.0, (count, 3))
        assert_array_equal(remembered.distance(points), body.distance(points))
    assert remembered.convex
