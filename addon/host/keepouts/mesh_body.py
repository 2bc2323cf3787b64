# SPDX-License-Identifier: GPL-3.0-or-later
"""A mesh as a body to keep away from: closed, or a scan with holes."""

from __future__ import annotations

import numpy as np
from mathutils.bvhtree import BVHTree
from numpy.typing import ArrayLike

from ...core.base.arrays import Array, Index, Mask, as_points
from ...core.base.errors import JobError
from ...core.base.row_vectors import dot_rows
from ...core.mesh.triangle_mesh import TriangleMesh, outward


class MeshBody:
    """A body bounded by a triangle mesh of any shape; not convex.

    Of a mesh that is not closed, such as a scan, the inside is not known: its distance is that from its faces, positive on both
    sides, so that it is kept off as a shell is. `open_edges` tells so.

    The host's tree names the nearest triangle, in float32; the distance to that triangle is then computed in float64. Where
    two triangles are equally near to float32 (about 3e-5 mm at 500 mm), either may be taken.
    The sign is that of the angle-weighted pseudonormal of the nearest face, edge or corner: Baerentzen and Aanaes,
    IEEE Transactions on Visualization and Computer Graphics 11 (2005) 243.
    """

    def __init__(self, mesh: TriangleMesh, name: str) -> None:
        """mesh : in wheel axes, mm; corners at one place are welded. name : what the mesh is, for messages.

        Raises JobError(name, ...) if the mesh has no triangles, or is closed and encloses nothing.
        """
        welded = _welded(mesh)
        if len(welded.triangles) == 0:
            raise JobError(name, "has no faces; a keep-out needs some")
        self.open_edges = 0 if welded.is_closed else _open_edges(welded)
        if not self.open_edges and welded.volume == 0.0:
            raise JobError(name, "encloses no volume; a keep-out needs a mesh with an inside, or one that is open")
        self.mesh = welded if self.open_edges else outward(welded)
        self._tree: BVHTree = BVHTree.FromPolygons(self.mesh.vertices.tolist(), self.mesh.triangles.tolist())
        self._corners = self.mesh.corners
        self._normals = _pseudonormals(self.mesh)

    @property
    def convex(self) -> bool:
        return False

    def distance(self, points: ArrayLike) -> Array:
        """Signed distance (n,), mm."""
        return self.distance_and_gradient(points)[0]

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Signed distance (n,) and unit gradient (n, 3); on the surface itself the gradient is its normal."""
        points = as_points(points)
        if len(points) == 0:
            return np.zeros(0), np.zeros((0, 3))
        find = self._tree.find_nearest
        triangle: Index = np.array([find(point)[2] for point in points.tolist()], dtype=np.int64)
        nearest, feature = _nearest_on_triangles(points, self._corners[triangle])
        away = points - nearest
        length = np.linalg.norm(away, axis=1)
        normal = self._normals[triangle, feature]
        behind = dot_rows(away, normal) < 0.0
        sign = np.where(behind & (self.open_edges == 0), -1.0, 1.0)
        on_surface = length < 1e-9
        gradient = np.where(on_surface[:, None], normal, away * (sign / np.where(on_surface, 1.0, length))[:, None])
        return sign * length, gradient


def _welded(mesh: TriangleMesh) -> TriangleMesh:
    vertices, place = np.unique(mesh.vertices, axis=0, return_inverse=True)
    triangles = place.reshape(-1)[mesh.triangles]
    flat = (triangles == np.roll(triangles, 1, axis=1)).any(axis=1)
    return TriangleMesh(vertices, triangles[~flat])


def _open_edges(mesh: TriangleMesh) -> int:
    edges = np.stack([mesh.triangles, np.roll(mesh.triangles, -1, axis=1)], axis=2).reshape(-1, 2)
    forward = edges[:, 0] < edges[:, 1]
    _, which = np.unique(np.sort(edges, axis=1), axis=0, return_inverse=True)
    ways = np.stack([np.bincount(which.reshape(-1), weights=forward), np.bincount(which.reshape(-1), weights=~forward)])
    return int((ways != 1.0).any(axis=0).sum())


def _pseudonormals(mesh: TriangleMesh) -> Array:
    """(t, 7, 3) unit normals of each triangle's features: corners 0..2, edges 3..5 (from corner 0, 1, 2 on), face 6."""
    corners, triangles = mesh.corners, mesh.triangles
    area = mesh.area_vectors
    size = np.linalg.norm(area, axis=1, keepdims=True)
    face = area / np.where(size > 0.0, size, 1.0)
    at_vertex = np.zeros_like(mesh.vertices)
    for corner in range(3):
        first = corners[:, (corner + 1) % 3] - corners[:, corner]
        second = corners[:, (corner + 2) % 3] - corners[:, corner]
        angle = np.arctan2(np.linalg.norm(np.cross(first, second), axis=1), dot_rows(first, second))
        np.add.at(at_vertex, triangles[:, corner], angle[:, None] * face)
    edges = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    unique, which = np.unique(edges, axis=0, return_inverse=True)
    at_edge = np.zeros((len(unique), 3))
    np.add.at(at_edge, which.reshape(-1), np.repeat(face, 3, axis=0))
    normals = np.concatenate([at_vertex[triangles], at_edge[which.reshape(-1, 3)], face[:, None, :]], axis=1)
    length = np.linalg.norm(normals, axis=2, keepdims=True)
    return np.asarray(normals / np.where(length > 0.0, length, 1.0))


def _nearest_on_triangles(points: Array, corners: Array) -> tuple[Array, Index]:
    """Nearest points (n, 3) on triangles (n, 3, 3), one each, and the feature (n,) that they lie on, as in _pseudonormals."""
    candidates, features = [], []
    for corner in range(3):
        start = corners[:, corner]
        along = corners[:, (corner + 1) % 3] - start
        squared = dot_rows(along, along)
        share = np.clip(dot_rows(points - start, along) / np.where(squared > 0.0, squared, 1.0), 0.0, 1.0)
        candidates.append(start + share[:, None] * along)
        features.append(np.where(share <= 0.0, corner, np.where(share >= 1.0, (corner + 1) % 3, 3 + corner)))
    on_face, inside = _foot_on_face(points, corners)
    candidates.append(on_face)
    features.append(np.full(len(points), 6))
    places = np.stack(candidates, axis=1)
    squared = np.square(places - points[:, None, :]).sum(axis=2)
    squared[~inside, 3] = np.inf
    squared[inside, :3] = np.inf
    best = squared.argmin(axis=1)
    row = np.arange(len(points))
    return places[row, best], np.stack(features, axis=1)[row, best]


def _foot_on_face(points: Array, corners: Array) -> tuple[Array, Mask]:
    """Feet (n, 3) of points on the planes of triangles, and which (n,) lie strictly within the triangle."""
    start = corners[:, 0]
    normal = np.cross(corners[:, 1] - start, corners[:, 2] - start)
    squared = dot_rows(normal, normal)
    flat = squared <= 0.0
    height = dot_rows(points - start, normal) / np.where(flat, 1.0, squared)
    foot = points - height[:, None] * normal
    within = ~flat
    for corner in range(3):
        along = corners[:, (corner + 1) % 3] - corners[:, corner]
        within &= dot_rows(np.cross(along, foot - corners[:, corner]), normal) > 0.0
    return foot, within
