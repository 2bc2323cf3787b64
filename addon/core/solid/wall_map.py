# SPDX-License-Identifier: GPL-3.0-or-later
"""How thick the wall is everywhere on its outer face, measured on the mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array, Index
from .closed_wall import ClosedWall
from .wall_check import REACHES, ray_lengths


@dataclass(frozen=True, eq=False)
class WallMap:
    """points : (n, 3) float, mm, and normals (n, 3), unit, of the outer face; triangles : (m, 3) int

    thickness : (n,) float, mm, at the points; least_mm : the least of the facets, at place (3,)
    """

    points: Array
    normals: Array
    triangles: Index
    thickness: Array
    least_mm: float
    place: Array


def wall_map(wall: ClosedWall) -> WallMap:
    """The wall by rays from the middle of each facet of the outer face, square to it, to the next facet of the mesh.

    A point has the mean of its facets. Where a facet looks along the wall, as in a solid seat, rays end at the longest reach.
    """
    count = len(wall.triangles)
    vectors = wall.mesh.area_vectors[:count]
    areas = np.linalg.norm(vectors, axis=1)
    inward = -vectors / areas[:, None]
    middles = wall.mesh.corners[:count].mean(axis=1)
    longest = REACHES[-1] * wall.thickest
    facet = np.full(count, np.inf)
    for reach in (REACHES[0] * wall.thickest, longest):
        left = np.flatnonzero(np.isinf(facet))
        if len(left):
            facet[left] = ray_lengths(wall.mesh, middles[left], inward[left], reach, left)
    facet = np.minimum(facet, longest)
    least = int(np.argmin(facet))
    corner = wall.triangles.ravel()
    weight = np.bincount(corner, np.repeat(areas, 3), minlength=len(wall.outer))
    mean = np.bincount(corner, np.repeat(areas * facet, 3), minlength=len(wall.outer)) / weight
    return WallMap(wall.outer, wall.normals, wall.triangles, mean, float(facet[least]), middles[least])
