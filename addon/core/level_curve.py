# SPDX-License-Identifier: GPL-3.0-or-later
"""Curves at a distance from a convex body, seen from a point inside."""

from __future__ import annotations

import numpy as np

from .arrays import Array
from .body import Body

_HALVINGS = 30
"""From 1 m down to 1e-6 mm."""


def level_curve(body: Body, level: float, origin: Array, directions: Array, farthest: float) -> Array:
    """Points where rays from inside a convex body reach a distance from it.

    level : mm, signed distance to the body; origin : (3,) float, nearer to the body, or deeper in it, than level
    directions : (n, 3) float, unit; farthest : mm along each ray at which the distance is over level
    Returns (n, 3) float, mm, wheel axes. Exact to 1e-6 mm for rays of up to 1 m.
    Along a ray the distance to a convex body is a convex function, so it passes the level once: halving finds it.
    Raises ValueError if origin is not inside the level, or a ray does not reach it.
    """
    near = np.zeros(len(directions))
    far = np.full(len(directions), float(farthest))
    if body.distance(origin[None, :])[0] >= level:
        raise ValueError(f"origin: {origin.tolist()} is not nearer to the body than {level:g} mm")
    if (body.distance(origin + far[:, None] * directions) < level).any():
        raise ValueError(f"farthest: {farthest:g} mm, a ray ends nearer to the body than {level:g} mm")
    for _ in range(_HALVINGS):
        middle = 0.5 * (near + far)
        inside = body.distance(origin + middle[:, None] * directions) < level
        near, far = np.where(inside, middle, near), np.where(inside, far, middle)
    return np.asarray(origin + far[:, None] * directions)
