# SPDX-License-Identifier: GPL-3.0-or-later
"""How far one shape lies outside or inside of another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask, as_points
from ..base.row_vectors import dot_rows
from ..mesh.nearest_triangle import NearestTriangle
from ..mesh.triangle_mesh import TriangleMesh


@dataclass(frozen=True, eq=False)
class ShapeDifference:
    """out : (n,) float, mm, of each point from the other surface, positive on the side that its normals point to

    beyond : (n,) bool, points whose nearest place is on the other's edge, and which lie past it
    """

    out: Array
    beyond: Mask

    @property
    def mean_mm(self) -> float:
        """Mean of the distances, mm, where one surface lies over the other; 0 where none does."""
        over = np.abs(self.out[~self.beyond])
        return float(over.mean()) if len(over) else 0.0

    @property
    def span(self) -> tuple[float, float]:
        """Farthest inside (negative or 0) and outside, mm, where one lies over the other."""
        over = self.out[~self.beyond]
        return float(min(over.min(initial=0.0), 0.0)), float(max(over.max(initial=0.0), 0.0))


_ALONG_NORMAL = 0.7
"""A point over a surface is off it along its normal; past an edge it is not. Cosine, 45 degrees."""
_TOUCHING_MM = 0.2
"""Facets of one shape lie off another's by this, whichever way; no more is asked of the direction."""


def shape_difference(points: Array, surface: Array, triangles: Index) -> ShapeDifference:
    """Distances of the points of a shape from another one, with their side.

    points : (n, 3) float, mm; surface : (m, 3) float, mm; triangles : (t, 3) int, counterclockwise as seen from outside
    Raises ValueError if there are no triangles or a value is not finite.
    """
    points = as_points(points)
    mesh = TriangleMesh(as_points(surface, "surface"), triangles)
    distance, triangle, place = NearestTriangle(mesh).find(points)
    normals = mesh.area_vectors[triangle]
    size = np.linalg.norm(normals, axis=1)
    along = dot_rows(points - place, normals) / np.where(size > 0.0, size, 1.0)
    beyond = (distance > _TOUCHING_MM) & (np.abs(along) < _ALONG_NORMAL * distance)
    return ShapeDifference(np.where(along < 0.0, -distance, distance), beyond)
