# SPDX-License-Identifier: GPL-3.0-or-later
"""A closed or open triangle mesh as a value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..base.arrays import Array, Index, frozen
from ..base.row_vectors import cross_rows, dot_rows


@dataclass(frozen=True, eq=False)
class TriangleMesh:
    """Triangles, counterclockwise as seen from outside.

    vertices : (n, 3) float, mm; triangles : (m, 3) int, indices of vertices
    """

    vertices: Array
    triangles: Index

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices", frozen(np.ascontiguousarray(self.vertices).reshape(-1, 3)))
        object.__setattr__(self, "triangles", frozen(np.ascontiguousarray(self.triangles).reshape(-1, 3), np.int64))

    @cached_property
    def corners(self) -> Array:
        """(m, 3, 3) float: triangle, corner, coordinate."""
        return frozen(np.take(self.vertices, self.triangles, axis=0))

    @cached_property
    def middles(self) -> Array:
        """(m, 3) float, mm, of the triangles."""
        a, b, c = (np.take(self.vertices, self.triangles[:, corner], axis=0) for corner in range(3))
        return frozen((a + b + c) / 3.0)

    @cached_property
    def area_vectors(self) -> Array:
        """(m, 3) float: normals of the triangles with their areas as lengths, mm2."""
        a, b, c = (np.take(self.vertices, self.triangles[:, corner], axis=0) for corner in range(3))
        return frozen(0.5 * cross_rows(b - a, c - a))

    @cached_property
    def areas(self) -> Array:
        """(m,) float, mm2, of the triangles."""
        return frozen(np.sqrt(dot_rows(self.area_vectors, self.area_vectors)))

    @property
    def area(self) -> float:
        """mm2."""
        return float(self.areas.sum())

    def moved(self, rotation: Array, shift: Array) -> TriangleMesh:
        """The mesh with its points at rotation @ point + shift.

        rotation : (3, 3) float, orthonormal with determinant 1; shift : (3,) float, mm
        """
        made = TriangleMesh(self.vertices @ rotation.T + shift, self.triangles)
        # what is known of the triangles turns with them, or stays
        vars(made).update(area_vectors=frozen(self.area_vectors @ rotation.T), areas=self.areas)
        return made

    @cached_property
    def volume(self) -> float:
        """mm3, positive for a closed mesh that faces outward; divergence theorem about the middle of the bounds."""
        if not len(self.triangles):
            return 0.0
        middle = self.bounds.mean(axis=0)
        return float(np.einsum("ij,ij->", self.middles - middle, self.area_vectors) / 3.0)

    @cached_property
    def bounds(self) -> Array:
        """(2, 3) float: least and greatest coordinates of the vertices."""
        columns = np.ascontiguousarray(self.vertices.T)
        return frozen(np.stack([columns.min(axis=1), columns.max(axis=1)]))

    @cached_property
    def is_closed(self) -> bool:
        """True if each edge lies in two triangles that run through it in opposite directions, and there is a triangle."""
        if not len(self.triangles) or (self.triangles == np.roll(self.triangles, 1, axis=1)).any():
            return False
        start, end = self.triangles.ravel(), np.roll(self.triangles, -1, axis=1).ravel()
        # both directions of an edge come next to each other, the forward one first
        keys = np.sort(2 * (np.minimum(start, end) * len(self.vertices) + np.maximum(start, end)) + (start > end))
        forth, back = keys[::2], keys[1::2]
        return bool(
            len(forth) == len(back) and (forth % 2 == 0).all() and (back == forth + 1).all() and (forth[1:] > back[:-1]).all()
        )

    @property
    def part_count(self) -> int:
        """Number of parts that are connected by shared vertices."""
        used = np.unique(self.triangles)
        return len(np.unique(connected_components(len(self.vertices), self.triangles)[used]))

    @property
    def genus(self) -> int:
        """Number of through holes of a closed mesh, summed over its parts (Euler: v - e + f = 2 parts - 2 genus)."""
        euler = len(np.unique(self.triangles)) - len(self.triangles) // 2
        return self.part_count - euler // 2

    @property
    def shortest_edge(self) -> float:
        """mm."""
        corners = self.corners
        return float(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).min())


def connected_components(count: int, groups: Index) -> Index:
    """Label of each of count points, equal for points that are connected by rows of groups. groups : (m, k) int."""
    labels = np.arange(count)
    first, second = groups[:, :-1].ravel(), groups[:, 1:].ravel()
    while True:
        low, high = np.minimum(labels[first], labels[second]), np.maximum(labels[first], labels[second])
        apart = low != high
        if not apart.any():
            return labels
        first, second = first[apart], second[apart]
        np.minimum.at(labels, high[apart], low[apart])
        while (labels[labels] != labels).any():
            labels = labels[labels]


def joined(meshes: Sequence[TriangleMesh]) -> TriangleMesh:
    """The meshes side by side in one, nothing welded."""
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    triangles = [mesh.triangles + start for mesh, start in zip(meshes, starts[:-1], strict=True)]
    return TriangleMesh(np.concatenate([mesh.vertices for mesh in meshes]), np.concatenate(triangles))


def outward(mesh: TriangleMesh) -> TriangleMesh:
    """The closed mesh, turned over if its volume is negative."""
    return mesh if mesh.volume > 0 else TriangleMesh(mesh.vertices, mesh.triangles[:, ::-1])
