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
    for step in range(60):
        moving = rng.random(len(points)) < (0.3 if step else 0.0)
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


def test_a_body_that_moved_a_little_is_not_asked_all_over() -> None:
    """Answers of the moved body are its own where they matter; few points are asked, and none where nothing moved."""
    points = np.random.default_rng(8).uniform(-400.0, 400.0, (3000, 3))
    first = CachedBody(Counted((0.0, 0.0, -50.0), (0.0, 0.0, 50.0), 20.0))
    assert first.distance(points).min() == Capsule.distance(Counted((0.0, 0.0, -50.0), (0.0, 0.0, 50.0), 20.0), points).min()
    moved = Counted((3.0, 0.0, -50.0), (3.0, 4.0, 50.0), 20.0)
    distance = first.succeeded_by(moved, 5.0).distance(points)
    true = Capsule.distance(moved, points)
    near = true < NEAR_MM
    assert near.any() and (~near).any()
    assert_allclose(distance[near], true[near], rtol=0, atol=1e-9)
    assert (distance <= true + 1e-9).all()
    assert 0 < moved.asked < 400
    same = Counted((3.0, 0.0, -50.0), (3.0, 4.0, 50.0), 20.0)
    assert_array_equal(first.succeeded_by(same, 0.0).distance(points[:0]), [])
    assert_array_equal(first.succeeded_by(same, 0.0).distance(points), first.distance(points))
    assert same.asked == 0
    unknown = Counted((300.0, 0.0, -50.0), (300.0, 4.0, 50.0), 20.0)
    distance, true = first.succeeded_by(unknown, np.inf).distance(points), Capsule.distance(unknown, points)
    assert_array_equal(distance[true < NEAR_MM], true[true < NEAR_MM])


def test_a_cache_of_near_distances_asks_less_and_follows_the_body() -> None:
    points = np.random.default_rng(9).uniform(-200.0, 200.0, (2000, 3))
    body = Counted((0.0, 0.0, -50.0), (0.0, 0.0, 50.0), 20.0)
    wide = CachedBody(body)
    wide.distance(points)
    asked, body.asked = body.asked, 0
    near = wide.within(15.0)
    assert near is wide.within(15.0) and wide.within(NEAR_MM) is wide
    near.distance(points)
    assert 0 < body.asked < asked
    moved = Counted((0.0, 8.0, -50.0), (0.0, 8.0, 50.0), 20.0)
    followed = wide.succeeded_by(moved, 8.0).within(15.0)
    true = Capsule.distance(moved, points)
    within = true < 15.0
    assert_allclose(followed.distance(points)[within], true[within], rtol=0, atol=1e-9)
    assert 0 < moved.asked < asked
