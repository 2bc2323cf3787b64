# SPDX-License-Identifier: GPL-3.0-or-later
"""A body that moves along a straight line: keep-outs in their travel. A wheel has a quicker way: moved_wheel.py."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points, frozen
from .body import Body
from .lowest_along import lowest_along


class Swept:
    """All places of a body while it moves from `begin` to `begin + vector`; convex if the body is.

    Its distance at p is the least of the body's own at p - begin - t vector, 0 <= t <= 1. That is a convex function of p with
    slope at most 1 if the body is convex, since the body's distance is convex in (p, t) together (Boyd and Vandenberghe,
    Convex Optimization, 3.2.5). Outside it is the exact distance. Inside it is negative, and at least as high as the exact
    one: the depth that it tells is a lower bound of the depth under the swept surface.
    The distance of a body that is not convex is up to lowest_along.MARCH_TOLERANCE too small, never too large.
    """

    def __init__(self, body: Body, vector: ArrayLike, begin: ArrayLike = (0.0, 0.0, 0.0)) -> None:
        """vector, begin : (3,) float, mm, wheel axes. Raises ValueError if they are not finite."""
        given = as_points([np.asarray(vector, dtype=np.float64), np.asarray(begin, dtype=np.float64)], "sweep")
        self.body = body
        self.vector: Array = frozen(given[0])
        self.begin: Array = frozen(given[1])

    @property
    def convex(self) -> bool:
        return self.body.convex

    def distance(self, points: ArrayLike) -> Array:
        """Distance (n,), mm, as the class says."""
        start = as_points(points) - self.begin
        return lowest_along(self.body, start, np.broadcast_to(-self.vector, start.shape))[0]

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Distance (n,) and unit gradient (n, 3): that of the body where it comes nearest."""
        return self.distance_within(points, np.inf)

    def distance_within(self, points: ArrayLike, near: float) -> tuple[Array, Array]:
        """As distance_and_gradient; beyond near, mm, a distance may be told as any lower bound not under it."""
        start = as_points(points) - self.begin
        distance, gradient, _ = lowest_along(self.body, start, np.broadcast_to(-self.vector, start.shape), near)
        return distance, gradient
