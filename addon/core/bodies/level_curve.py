# SPDX-License-Identifier: GPL-3.0-or-later
"""Curves at a distance from a body, seen from a point inside."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.row_vectors import dot_rows
from .body import Body

_ROUNDS = 60
_EXACT_MM = 1e-7
_MARCHES = 400
_MARCHED_MM = 0.01


def level_curve(body: Body, level: float, origin: Array, directions: Array, farthest: float) -> Array:
    """Points where rays that come in from outside first reach a distance from a body.

    level : mm, signed distance to the body; origin : (3,) float, nearer to the body, or deeper in it, than level
    directions : (n, 3) float, unit; farthest : mm along each ray at which the distance is over level
    Returns (n, 3) float, mm, wheel axes; exact to 1e-6 mm.
    Along a ray the distance to a convex body is a convex function, so Newton's steps from the far end come to the level from
    outside and never pass it (Boyd and Vandenberghe, Convex Optimization, 3.1.3). To another body the ray goes on by what is left
    of its distance, which is never too far, and ends within 0.01 mm of the level.
    Raises ValueError if origin is not inside the level, or a ray does not reach it.
    """
    if body.distance(origin[None, :])[0] >= level:
        raise ValueError(f"origin: {origin.tolist()} is not nearer to the body than {level:g} mm")
    along = np.full(len(directions), float(farthest))
    if not body.convex:
        return _marched(body, level, origin, directions, along)
    for step in range(_ROUNDS):
        points: Array = origin + along[:, None] * directions
        distance, gradient = body.distance_and_gradient(points)
        over = distance - level
        if step == 0 and (over < 0.0).any():
            raise ValueError(f"farthest: {farthest:g} mm, a ray ends nearer to the body than {level:g} mm")
        if np.abs(over).max(initial=0.0) < _EXACT_MM:
            break
        along -= over / dot_rows(gradient, directions)
    return points


def _marched(body: Body, level: float, origin: Array, directions: Array, along: Array) -> Array:
    """As level_curve, by steps of the distance that is left."""
    open_ = np.arange(len(along))
    for _ in range(_MARCHES):
        over = body.distance(origin + along[open_, None] * directions[open_]) - level
        along[open_] -= np.maximum(over, 0.0)
        open_ = open_[(over > _MARCHED_MM) & (along[open_] > 0.0)]
        if len(open_) == 0:
            break
    return np.asarray(origin + along[:, None] * directions)
