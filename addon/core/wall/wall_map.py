# SPDX-License-Identifier: GPL-3.0-or-later
"""How thick the wall is everywhere on its outer face, measured on the mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..mesh.open_surface import directed_edges
from ..mesh.ray_lengths import ray_lengths
from .closed_wall import ClosedWall
from .wall_check import LONGEST

MOST_RAYS = 6000
"""Enough for a ray every five millimeters of a large fender."""


@dataclass(frozen=True, eq=False)
class WallMap:
    """points : (n, 3) float, mm, and normals (n, 3), unit, of the outer face; triangles : (m, 3) int

    thickness : (n,) float, mm, at the points; rays : how many it comes from; least_mm : the least of them, at place (3,)
    """

    points: Array
    normals: Array
    triangles: Index
    thickness: Array
    rays: int
    least_mm: float
    place: Array


def wall_map(wall: ClosedWall, seed: int = 1) -> WallMap:
    """The wall by rays from the middles of facets of the outer face, square to them, to the next facet of the mesh.

    At most MOST_RAYS facets, drawn by their area. A point has the mean of its facets, or if none of them was drawn, that of its
    neighbors. Where a facet looks along the wall, as in a solid seat, rays end at the longest reach.
    """
    count = len(wall.triangles)
    vectors = wall.mesh.area_vectors[:count]
    areas = np.linalg.norm(vectors, axis=1)
    number = min(count, MOST_RAYS)
    chosen = np.sort(np.random.default_rng(seed).choice(count, number, replace=False, p=areas / areas.sum()))
    middles = wall.mesh.corners[chosen].mean(axis=1)
    longest = LONGEST * wall.thickest
    thickness = np.minimum(ray_lengths(wall.body, middles, -vectors[chosen] / areas[chosen, None], longest), longest)
    least = int(np.argmin(thickness))
    at_points = _at_points(wall.triangles, chosen, thickness, areas[chosen], len(wall.outer))
    return WallMap(wall.outer, wall.normals, wall.triangles, at_points, number, float(thickness[least]), middles[least])


def _at_points(triangles: Index, facets: Index, values: Array, weights: Array, count: int) -> Array:
    """Weighted means (count,) of facets' values at their points; other points get the mean of what is known beside them."""
    corner = triangles[facets].ravel()
    weight = np.bincount(corner, np.repeat(weights, 3), minlength=count)
    total = np.bincount(corner, np.repeat(weights * values, 3), minlength=count)
    known = weight > 0.0
    mean = np.divide(total, weight, out=np.zeros(count), where=known)
    start, end = directed_edges(triangles)
    while not known.all():
        known_there = known[end]
        beside = np.bincount(start[known_there], minlength=count)
        total = np.bincount(start[known_there], mean[end[known_there]], minlength=count)
        new = ~known & (beside > 0)
        if not new.any():
            break
        mean[new] = total[new] / beside[new]
        known |= new
    return mean
