# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a ray first meets the skin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows


@dataclass(frozen=True, eq=False)
class RayHit:
    """along : mm from the ray's origin; point : (3,) float; corners, weights : (3,) of the triangle, point = weights . corners"""

    along: float
    point: Array
    corners: Index
    weights: Array


FLATTEST = 1e-12
"""Six times the volume of ray and triangle, in products of their lengths, under which the ray does not cross the triangle: what
rounding makes of a triangle without area, or of a ray within its plane, is not a hit on one processor and a miss on another."""
SLACK = 1e-9
"""How far past an edge, in shares of the triangle, still hits it: a ray at a shared edge slips between no two triangles."""


def longest_diagonal(points: Array, faces: Index) -> float:
    """The longest distance between two corners of a face, mm: no point of a face is farther than this from its nearest corner.

    points : (p, 3) float, mm; faces : (m, 3) or (m, 4) int
    """
    corners = [points[faces[:, corner]] for corner in range(faces.shape[1])]
    pairs = [(one, other) for i, one in enumerate(corners) for other in corners[i + 1 :]]
    return float(np.sqrt(max(np.square(other - one).sum(axis=1).max() for one, other in pairs)))


def skin_ray(origin: Array, direction: Array, points: Array, faces: Index, reach: float) -> RayHit | None:
    """The first point of a mesh that a ray meets, from either side; None if it meets none.

    origin : (3,) float, mm; direction : (3,) float, unit; points : (p, 3); faces : (m, 3) or (m, 4) int, a quad is two triangles
    reach : longest_diagonal of the mesh: only faces with a corner this near to the ray are looked at
    After Moeller and Trumbore, Fast, minimum storage ray-triangle intersection (1997).
    """
    offset = points - origin
    along = offset @ direction
    near = (dot_rows(offset, offset) - along * along < reach * reach) & (along > -reach)
    found = faces[np.logical_or.reduce([near[corner] for corner in faces.T])]
    triangles = found if found.shape[1] == 3 else found[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
    a = points[triangles[:, 0]]
    first, second = points[triangles[:, 1]] - a, points[triangles[:, 2]] - a
    across = np.cross(direction, second)
    volume = dot_rows(first, across)
    lengths = np.sqrt(dot_rows(first, first) * dot_rows(second, second))
    crossed = np.abs(volume) > FLATTEST * lengths
    scale = np.where(crossed, volume, np.inf)
    from_a = origin - a
    u = dot_rows(from_a, across) / scale
    turned = np.cross(from_a, first)
    v = turned @ direction / scale
    t = dot_rows(second, turned) / scale
    hits = np.flatnonzero(crossed & (u >= -SLACK) & (v >= -SLACK) & (u + v <= 1.0 + SLACK) & (t > 0.0))
    if len(hits) == 0:
        return None
    i = int(hits[t[hits].argmin()])
    weights = np.array([1.0 - u[i] - v[i], u[i], v[i]])
    return RayHit(float(t[i]), origin + t[i] * direction, triangles[i], weights)
