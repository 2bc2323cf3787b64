# SPDX-License-Identifier: GPL-3.0-or-later
"""A placed body against the same body made where it was placed."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.bodies.capsule import Capsule
from addon.core.bodies.placed_body import PlacedBody, even_scale, mirror_image
from addon.core.clearance.keepout import rotation_matrix

A, B, RADIUS = np.array([10.0, -20.0, 5.0]), np.array([60.0, 30.0, 90.0]), 14.0
POINTS = np.random.default_rng(3).uniform(-200.0, 200.0, (500, 3))


@pytest.mark.parametrize("flip", [1.0, -1.0])
def test_distance_is_that_of_the_body_made_there(flip: float) -> None:
    linear = 1.7 * rotation_matrix((20.0, -35.0, 70.0)) @ np.diag([flip, 1.0, 1.0])
    shift = np.array([12.0, -7.0, 40.0])
    placed = PlacedBody(Capsule(A, B, RADIUS), linear, shift)
    there = Capsule(linear @ A + shift, linear @ B + shift, 1.7 * RADIUS)
    distance, gradient = placed.distance_and_gradient(POINTS)
    expected, normal = there.distance_and_gradient(POINTS)
    assert_allclose(distance, expected, rtol=0, atol=1e-9)
    assert_allclose(placed.distance(POINTS), expected, rtol=0, atol=1e-9)
    assert_allclose(gradient, normal, rtol=0, atol=1e-9)
    assert placed.convex


def test_mirror_image_is_seen_from_the_other_side() -> None:
    body = Capsule(A, B, RADIUS)
    assert_allclose(mirror_image(body).distance(POINTS), body.distance(POINTS * [-1.0, 1.0, 1.0]), rtol=0, atol=1e-12)


def test_what_does_not_keep_angles_is_refused() -> None:
    assert even_scale(2.0 * rotation_matrix((5.0, 6.0, 7.0))) == pytest.approx(2.0)
    for linear in (np.diag([1.0, 1.0, 1.01]), np.zeros((3, 3)), np.array([[1.0, 0.2, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])):
        assert even_scale(linear) is None
        with pytest.raises(ValueError, match="keeps angles"):
            PlacedBody(Capsule(A, B, RADIUS), linear, np.zeros(3))
