# SPDX-License-Identifier: GPL-3.0-or-later
"""Self-intersection by an outside library with exact arithmetic: libigl with CGAL."""

from __future__ import annotations

import igl.copyleft.cgal
import numpy as np

from addon.core.base.arrays import Array, Index
from addon.core.mesh.triangle_mesh import TriangleMesh


def crossing_pairs(mesh: TriangleMesh) -> Index:
    """(k, 2) int, triangles that share more than the corners and sides that they have in common; (0, 2) for a sound mesh."""
    found = igl.copyleft.cgal.remesh_self_intersections(mesh.vertices, mesh.triangles, detect_only=True)
    return np.concatenate([np.asarray(found[2]).reshape(-1, 2), _same_corners(mesh.triangles)])


def _same_corners(triangles: Index) -> Index:
    """Pairs on the same three points, which the library takes for one triangle."""
    corners = np.sort(triangles, axis=1)
    order = np.lexsort(corners.T)
    same = (corners[order[1:]] == corners[order[:-1]]).all(axis=1)
    return np.stack([order[:-1][same], order[1:][same]], axis=1)


def crossing_places(mesh: TriangleMesh) -> Array:
    """(k, 3) float, mm, middles of the pairs; for messages."""
    return np.asarray(mesh.corners[crossing_pairs(mesh)].mean(axis=(1, 2)))
