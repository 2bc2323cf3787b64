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
"""mm: what a body that is not convex may be farther than its told distance."""
_ROUNDS = 200


def lowest_along(body: Body, start: Array, travel: Array, near: float = np.inf) -> tuple[Array, Array, Array]:
    """Least of body.distance(start + t travel) over 0 <= t <= 1.

    start, travel : (n, 3) float, mm
    Returns the least distance (n,), the gradient of the body's distance there (n, 3), and t (n,).
    Convex body: exact to VALUE_TOLERANCE, by the sign of the slope, which never falls along t. Another body: halved where its unit
    Lipschitz bound leaves room, less MARCH_TOLERANCE, so that the true value is never below the returned one.
    near : mm; of a body that is not convex, distances beyond are told as some lower bound that is not under near
    """
    length = np.linalg.norm(travel, axis=1)
    lowest, gradient, t = _convex(body, start, travel, length) if body.convex else _halved(body, start, travel, length, near)
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


def _halved(body: Body, start: Array, travel: Array, length: Array, near: float) -> tuple[Array, Array, Array]:
    """Stretches of the line, halved until none can hold a distance under the best so far (less the tolerance).

    Between its ends a stretch cannot come nearer than half of both distances less its length (unit Lipschitz bound; Piyavskii,
    USSR Computational Mathematics and Mathematical Physics 12 (1972) 57). Stretches that keep farther than near are left.
    """
    count = len(start)
    best, gradient = body.distance_and_gradient(start + 0.5 * travel)
    t, floor = np.full(count, 0.5), np.full(count, np.inf)
    far = (best - 0.5 * length >= near) & (length > 0.0)
    floor[far] = best[far] - 0.5 * length[far]
    which = np.flatnonzero(~far & (length > 0.0))
    middle = best[which].copy()
    ends = []
    for end in (0.0, 1.0):
        value, normal = body.distance_and_gradient(start[which] + end * travel[which])
        _take_lower(which, value, normal, np.full(len(which), end), best, gradient, t)
        ends.append(value)
    low, high = np.zeros(len(which)), np.full(len(which), 0.5)
    which = np.concatenate([which, which])
    low, high = np.concatenate([low, high]), np.concatenate([high, high + 0.5])
    at_low, at_high = np.concatenate([ends[0], middle]), np.concatenate([middle, ends[1]])
    while len(which):
        least = 0.5 * (at_low + at_high - (high - low) * length[which])
        left = (least < best[which] - MARCH_TOLERANCE) & (least >= near)
        np.minimum.at(floor, which[left], least[left])
        kept = (least < best[which] - MARCH_TOLERANCE) & (least < near)
        which, low, high, at_low, at_high = which[kept], low[kept], high[kept], at_low[kept], at_high[kept]
        if not len(which):
            break
        half = 0.5 * (low + high)
        value, normal = body.distance_and_gradient(start[which] + half[:, None] * travel[which])
        _take_lower(which, value, normal, half, best, gradient, t)
        which = np.concatenate([which, which])
        low, high = np.concatenate([low, half]), np.concatenate([half, high])
        at_low, at_high = np.concatenate([at_low, value]), np.concatenate([value, at_high])
    return np.minimum(best - np.where(length > 0.0, MARCH_TOLERANCE, 0.0), floor), gradient, t


def _take_lower(which: Index, value: Array, normal: Array, at: Array, best: Array, gradient: Array, t: Array) -> None:
    """Take over what is lower than the best so far; which may name a line more than once."""
    order = np.argsort(value)[::-1]  # of several the least comes last, and stays
    order = order[value[order] < best[which[order]]]
    best[which[order]], gradient[which[order]], t[which[order]] = value[order], normal[order], at[order]


def _slope(gradient: Array, travel: Array) -> Array:
    return np.asarray(dot_rows(gradient, travel))
