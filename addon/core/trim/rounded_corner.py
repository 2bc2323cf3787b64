# SPDX-License-Identifier: GPL-3.0-or-later
"""The corner between two edges, rounded."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array

OVER = 0.03
"""How far an arc stays outside of where it would touch the edges, mm, so that it crosses them once, at a degree or two, in place
of touching along a way where rounding decides."""


def rounded_corner(one: Array, other: Array, cosine: Array, radius: float) -> Array:
    """A field (n,) that is negative outside of the arc of a radius, mm, between two edges; positive away from the corner.

    one, other : (n,) float, distances to the edges; cosine : (n,) float, of the angle between the ways inward from them
    With the center where both distances are the radius, a point lies at d from it with way . d = distance - radius for both
    ways. Between the ways from the center to both edges the field is radius - |d|, which is an exact
    circle on a flat skin; beside them it goes on from there with a slope of 1 along the edge.
    """
    cosine = np.clip(cosine, -0.999, 0.999)
    sine2 = 1.0 - cosine * cosine
    u, v = radius - one, radius - other
    toward_one, toward_other = (u - cosine * v) / sine2, (v - cosine * u) / sine2
    away = np.sqrt(np.maximum(u * toward_one + v * toward_other, 0.0))
    past_one, past_other = np.maximum(-toward_one, 0.0), np.maximum(-toward_other, 0.0)
    beside = np.where(past_one > 0.0, other, one) + np.sqrt(sine2) * np.maximum(past_one, past_other)
    return np.where((past_one > 0.0) | (past_other > 0.0), np.maximum(beside, 0.0), radius - away) + OVER
