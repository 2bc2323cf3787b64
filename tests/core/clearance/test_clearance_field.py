# SPDX-License-Identifier: GPL-3.0-or-later
"""The least excess over all limits, against asking each limit for each point."""

from __future__ import annotations

import numpy as np
import pytest

from addon.core.base.tolerances import TOLERANCES
from addon.core.bodies.box import Box
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.half_space import HalfSpace
from addon.core.bodies.point_runs import RUN, PointRuns
from addon.core.clearance.clearance_field import ClearanceField, Limit

LIMITS = (
    Limit("ball", Capsule([0.0, 0.0, 0.0], [0.0, 0.0, 0.0], 300.0), 14.0),
    Limit("left leg", Capsule([75.0, -20.0, 100.0], [75.0, -20.0, 700.0], 22.0), 6.0),
    Limit("floor", HalfSpace([0.0, 0.0, -330.0], [0.0, 0.0, 1.0]), 3.0),
    Limit("plate", Box([0.0, 0.0, 345.0], [60.0, 60.0, 10.0]), 2.0, bears=True),
)


def one_by_one(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    every = np.array([limit.body.distance(points) - limit.required_mm for limit in LIMITS])
    every[3][every[3] >= -TOLERANCES.clear] = np.inf
    return every.min(axis=0), every.argmin(axis=0)


@pytest.mark.parametrize("count", [0, 1, RUN - 1, RUN, RUN + 1, 5000])
@pytest.mark.parametrize("together", [True, False])
def test_least_excess_is_that_of_every_limit_asked(count: int, together: bool) -> None:
    """Points side by side, as a skin's, and points all over the place; equal to the last bit."""
    rng = np.random.default_rng(count)
    steps = rng.normal(size=(count, 3)) * (2.0 if together else 200.0)
    points = np.array([20.0, 0.0, 330.0]) + (np.cumsum(steps, axis=0) if together else steps)
    excess, limit = ClearanceField(LIMITS).excess_and_limit(points)
    expected, expected_limit = one_by_one(points)
    np.testing.assert_array_equal(excess, expected)
    np.testing.assert_array_equal(limit, expected_limit)


def test_far_runs_are_passed_over_and_near_ones_are_not() -> None:
    points = np.column_stack([np.linspace(0.0, 1000.0, 4096), np.zeros(4096), np.zeros(4096)])
    body = Capsule([500.0, 30.0, 0.0], [500.0, 30.0, 0.0], 10.0)
    runs = PointRuns(points)
    asked = runs.nearer_than(body, np.full(4096 // RUN, 60.0))
    near = np.flatnonzero(body.distance(points) < 60.0)
    assert set(near) <= set(asked)
    assert len(asked) < 2 * len(near), "runs that lie far away are asked about too"
