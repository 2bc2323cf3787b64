# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a ray first meets the skin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class RayHit:
    """along : mm from the ray's origin; point : (3,) float; corners, weights : (3,) of the triangle, point = weights . corners"""

    along: float
    point: Array
    corners: Index
    weights: Array


def longest_diagonal(points: Array, quads: Index) -> float:
    """The longest diagonal of the quads, mm; no point of a quad is farther than this from its nearest corner."""
    a, b, c, d = (points[quads[:, corner]] for corner in range(4))
    return float(np.sqrt(max(np.square(c - a).sum(axis=1).max(), np.square(d - b).sum(axis=1).max())))


def skin_ray(origin: Array, direction: Array, points: Array, quads: Index, reach: float) -> RayHit | None:
    """The first point of a quad mesh that a ray meets, from either side; None if it meets none.

    origin : (3,) float, mm; direction : (3,) float, unit; points : (p, 3); quads : (q, 4) int
    reach : longest_diagonal of the mesh: only quads with a corner this near to the ray are looked at
    Each quad is two triangles; after Moeller and Trumbore, Fast, minimum storage ray-triangle intersection (1997).
    """
    offset = points - origin
    along = offset @ direction
    near = (np.einsum("ij,ij->i", offset, offset) - along * along < reach * reach) & (along > -reach)
    a_near, b_near, c_near, d_near = (near[quads[:, corner]] for corner in range(4))
    found = quads[a_near | b_near | c_near | d_near]
    triangles = found[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
    a = points[triangles[:, 0]]
    first, second = points[triangles[:, 1]] - a, points[triangles[:, 2]] - a
    across = np.cross(direction, second)
    volume = np.einsum("ij,ij->i", first, across)
    scale = np.where(np.abs(volume) > 0.0, volume, np.inf)
    from_a = origin - a
    u = np.einsum("ij,ij->i", from_a, across) / scale
    turned = np.cross(from_a, first)
    v = turned @ direction / scale
    t = np.einsum("ij,ij->i", second, turned) / scale
    slack = 1e-9
    hits = np.flatnonzero((u >= -slack) & (v >= -slack) & (u + v <= 1.0 + slack) & (t > 0.0) & (scale != np.inf))
    if len(hits) == 0:
        return None
    i = int(hits[t[hits].argmin()])
    weights = np.array([1.0 - u[i] - v[i], u[i], v[i]])
    return RayHit(float(t[i]), origin + t[i] * direction, triangles[i], weights)
