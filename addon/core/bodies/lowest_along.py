# SPDX-License-Identifier: GPL-3.0-or-later
"""The least distance to a body while a point moves along a straight line."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows
from .body import Body

VALUE_TOLERANCE = 1e-10
"""mm: bracket, convex bodies."""
SLOPE_TOLERANCE = 1e-9
"""Slope along the line that counts as level, convex bodies."""
MARCH_TOLERANCE = 0.1
"""mm: what a body that is not convex may come closer than its marched distance."""
_ROUNDS = 200


def lowest_along(body: Body, start: Array, travel: Array) -> tuple[Array, Array, Array]:
    """Least of body.distance(start + t travel) over 0 <= t <= 1.

    start, travel : (n, 3) float, mm
    Returns the least distance (n,), the gradient of the body's distance there (n, 3), and t (n,).
    Convex body: exact to VALUE_TOLERANCE, by the sign of the slope, which never falls along t. Another body: marched in steps
    that its unit Lipschitz bound allows, less MARCH_TOLERANCE, so that the true value is never below the returned one.
    """
    length = np.linalg.norm(travel, axis=1)
    lowest, gradient, t = _convex(body, start, travel, length) if body.convex else _marched(body, start, travel, length)
    return lowest, gradient, t


def _convex(body: Body, start: Array, travel: Array, length: Array) -> tuple[Array, Array, Array]:
    """Secant steps on the slope, every third one a halving, within a bracket whose ends slope toward each other."""
    count = len(start)
    t = np.zeros(count)
    best, gradient = body.distance_and_gradient(start)
    low, low_slope = np.zeros(count), _slope(gradient, travel)
    falling: Index = np.flatnonzero(low_slope < -SLOPE_TOLERANCE * length)
    if len(falling) == 0:
        return best, gradient, t
    high = np.ones(count)
    best[falling], gradient[falling] = body.distance_and_gradient(start[falling] + travel[falling])
    t[falling] = 1.0
    high_slope = _slope(gradient, travel)
    active = falling[high_slope[falling] > SLOPE_TOLERANCE * length[falling]]
    for trial in range(_ROUNDS):
        if len(active) == 0:
            break
        middle = 0.5 * (low[active] + high[active])
        if trial % 3 != 2:
            rise = high_slope[active] - low_slope[active]
            middle = low[active] - low_slope[active] * (high[active] - low[active]) / rise
        distance, normal = body.distance_and_gradient(start[active] + middle[:, None] * travel[active])
        slope = _slope(normal, travel[active])
        # The last trial stands: it closes in on the minimum from one side or the other.
        t[active], best[active], gradient[active] = middle, distance, normal
        down, up = slope < 0.0, slope >= 0.0
        low[active[down]], low_slope[active[down]] = middle[down], slope[down]
        high[active[up]], high_slope[active[up]] = middle[up], slope[up]
        level = np.abs(slope) <= SLOPE_TOLERANCE * length[active]
        narrow = (high[active] - low[active]) * length[active] <= VALUE_TOLERANCE
        active = active[~(level | narrow)]
    return best, gradient, t


def _marched(body: Body, start: Array, travel: Array, length: Array) -> tuple[Array, Array, Array]:
    """From t, no point nearer than the best so far (less the tolerance) comes before t + (distance - best + tolerance)."""
    t = np.zeros(len(start))
    best, gradient = body.distance_and_gradient(start)
    here = np.zeros(len(start))
    distance = best.copy()
    active = np.flatnonzero(length > 0.0)
    while len(active):
        here[active] += (distance[active] - best[active] + MARCH_TOLERANCE) / length[active]
        last = here[active] >= 1.0
        here[active[last]] = 1.0
        value, normal = body.distance_and_gradient(start[active] + here[active, None] * travel[active])
        distance[active] = value
        lower = active[value < best[active]]
        best[lower], gradient[lower], t[lower] = distance[lower], normal[value < best[active]], here[lower]
        active = active[~last]
    return best - np.where(length > 0.0, MARCH_TOLERANCE, 0.0), gradient, t


def _slope(gradient: Array, travel: Array) -> Array:
    return np.asarray(dot_rows(gradient, travel))
