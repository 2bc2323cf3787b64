# SPDX-License-Identifier: GPL-3.0-or-later
"""A shell: the triangles of its middle surface, and how thick it is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..base.arrays import Array, Index, as_points, frozen


@dataclass(frozen=True, eq=False)
class ShellMesh:
    """points : (n, 3) float, mm, of the middle surface; triangles : (m, 3) int, counterclockwise seen from the outer side

    thickness : (n,) float, mm, over 0, linear between the points
    Raises ValueError for shapes or values that do not go together, or a triangle without area.
    """

    points: Array
    triangles: Index
    thickness: Array

    def __post_init__(self) -> None:
        points, triangles = as_points(self.points), np.asarray(self.triangles, dtype=np.int64)
        thickness = np.broadcast_to(np.asarray(self.thickness, dtype=np.float64), len(points))
        if triangles.ndim != 2 or triangles.shape[1] != 3 or not len(triangles):
            raise ValueError(f"triangles: shape {triangles.shape}, expected (m, 3) with m over 0")
        if triangles.min() < 0 or triangles.max() >= len(points):
            raise ValueError(f"triangles: names point {triangles.max()} of {len(points)}")
        if not (thickness > 0.0).all():
            raise ValueError(f"thickness: least is {thickness.min():g}, allowed is over 0 mm")
        object.__setattr__(self, "points", frozen(points))
        object.__setattr__(self, "triangles", frozen(triangles, np.int64))
        object.__setattr__(self, "thickness", frozen(thickness))
        if not (self.areas > 0.0).all():
            raise ValueError(f"triangles: number {int(np.argmin(self.areas))} has no area")

    @cached_property
    def frames(self) -> Array:
        """(m, 3, 3) float: the rows are x along the first edge, y in the triangle, z its outer normal."""
        a, b, c = np.moveaxis(self.points[self.triangles], 1, 0)
        x = b - a
        z = np.cross(x, c - a)
        x = x / np.maximum(np.linalg.norm(x, axis=1, keepdims=True), 1e-300)
        z = z / np.maximum(np.linalg.norm(z, axis=1, keepdims=True), 1e-300)
        return np.stack([x, np.cross(z, x), z], axis=1)

    @cached_property
    def areas(self) -> Array:
        """(m,) float, mm2."""
        a, b, c = np.moveaxis(self.points[self.triangles], 1, 0)
        return np.asarray(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1))

    @cached_property
    def flat_corners(self) -> Array:
        """(m, 3, 2) float: the corners in the plane of their triangle, mm."""
        return self.points[self.triangles] @ np.swapaxes(self.frames[:, :2], 1, 2)

    @cached_property
    def centers(self) -> Array:
        """(m, 3) float, mm."""
        return np.asarray(self.points[self.triangles].mean(axis=1))

    @cached_property
    def corner_thickness(self) -> Array:
        """(m, 3) float, mm."""
        return self.thickness[self.triangles]
