# SPDX-License-Identifier: GPL-3.0-or-later
"""How a face with n corners is cut at each level: the same for every such face."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ...base.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class FacePattern:
    """Points and faces of one n-gon after some levels of Catmull-Clark subdivision.

    Points are numbered parents first: points of the level before, then one a edge, then one a face. Sub-face c of a face
    starts at its corner c; quads keep the winding of the face.

    faces : (f, k) int points; k = n at level 0, else 4
    edges : (e, 2) int (face, corner): the edge from this corner of this face to the next; each edge once
    edge_of_corner : (f, k) int edge that leaves the corner
    base_edge : (p,) int edge of the n-gon that a point is inside of, -1 for corners and inner points
    base_along : (p,) float, 0..1 how far along that edge
    border : (f, k) int edge of the n-gon that the edge leaving the corner is part of, or -1
    """

    faces: Index
    edges: Index
    edge_of_corner: Index
    base_edge: Index
    base_along: Array
    border: Index
    along: Array

    @property
    def point_count(self) -> int:
        return len(self.base_edge)


@lru_cache(maxsize=128)
def face_pattern(corner_count: int, level: int) -> FacePattern:
    """The pattern of an n-gon at a level; level 0 is the n-gon itself."""
    if level == 0:
        n = corner_count
        return _with_edges(
            np.arange(n).reshape(1, n),
            np.full(n, -1),
            np.zeros(n),
            np.arange(n).reshape(1, n),
            np.stack([np.zeros(n), np.ones(n)], axis=-1).reshape(1, n, 2),
        )
    return _subdivided(face_pattern(corner_count, level - 1))


def _with_edges(faces: Index, base_edge: Index, base_along: Array, border: Index, along: Array) -> FacePattern:
    ends = np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1).reshape(-1, 2)
    ends.sort(axis=1)
    _, first, inverse = np.unique(ends[:, 0] * (faces.max() + 1) + ends[:, 1], return_index=True, return_inverse=True)
    edges = np.stack(np.divmod(first, faces.shape[1]), axis=-1)
    return FacePattern(faces, edges, inverse.reshape(faces.shape), base_edge, base_along, border, along)


def _subdivided(pattern: FacePattern) -> FacePattern:
    faces = pattern.faces
    count, corners = faces.shape
    edge_points = pattern.point_count + pattern.edge_of_corner
    face_points = pattern.point_count + len(pattern.edges) + np.arange(count)
    children = np.stack(
        [faces, edge_points, np.broadcast_to(face_points[:, None], faces.shape), np.roll(edge_points, 1, axis=1)], axis=-1
    )
    nowhere = np.full(faces.shape, -1)
    border = np.stack([pattern.border, nowhere, nowhere, np.roll(pattern.border, 1, axis=1)], axis=-1)
    middle = pattern.along.mean(axis=-1)
    along = np.zeros((count, corners, 4, 2))
    along[:, :, 0] = np.stack([pattern.along[..., 0], middle], axis=-1)
    before = np.roll(pattern.along, 1, axis=1)
    along[:, :, 3] = np.stack([np.roll(middle, 1, axis=1), before[..., 1]], axis=-1)
    at = (pattern.edges[:, 0], pattern.edges[:, 1])
    inner = np.full(count, -1)
    return _with_edges(
        children.reshape(-1, 4),
        np.concatenate([pattern.base_edge, pattern.border[at], inner]),
        np.concatenate([pattern.base_along, np.where(pattern.border[at] >= 0, middle[at], 0.0), np.zeros(count)]),
        border.reshape(-1, 4),
        along.reshape(-1, 4, 2),
    )
