# SPDX-License-Identifier: GPL-3.0-or-later
"""Which skin point is which: points over neighboring faces welded along their edges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from ...base.arrays import Index, Mask
from ..cage import CageTopology
from .face_pattern import face_pattern


@dataclass(frozen=True, eq=False)
class FaceLayout:
    """Numbers of the skin points, face by face; a point belongs to the first face that has it.

    owned_rows : for each face, (r,) int, the pattern points that belong to it, in the order of their skin points
    ownership : for each face a key that is equal for faces with equal owned_rows
    """

    owned_rows: list[Index]
    ownership: list[tuple[int, ...]]
    quads: Index
    face_of_quad: Index
    boundary_edges: Index
    on_plane: Mask
    corner_point: Index


@dataclass(frozen=True, eq=False)
class _Pieces:
    """Pattern points by place: corner i is point i; edges[i] (2^level - 1,) along edge i; inner."""

    quads: Index
    edges: tuple[Index, ...]
    inner: Index
    count: int


@lru_cache(maxsize=64)
def _pieces(corner_count: int, level: int) -> _Pieces:
    pattern = face_pattern(corner_count, level)
    edges = []
    for edge in range(corner_count):
        points = np.flatnonzero(pattern.base_edge == edge)
        edges.append(points[np.argsort(pattern.base_along[points])])
    inner = np.flatnonzero(pattern.base_edge < 0)
    return _Pieces(pattern.faces, tuple(edges), inner[inner >= corner_count], pattern.point_count)


@lru_cache(maxsize=1024)
def _owned(corner_count: int, level: int, owned: tuple[int, ...]) -> Index:
    pieces = _pieces(corner_count, level)
    corners = [np.array([i for i in range(corner_count) if owned[i]], dtype=np.int64)]
    edges = [pieces.edges[i] for i in range(corner_count) if owned[corner_count + i]]
    return np.concatenate(corners + edges + [pieces.inner])


def face_layout(topology: CageTopology, level: int) -> FaceLayout:
    """Lay out the skin points of the faces of a cage; level >= 1."""
    starts, corners = topology.face_starts.tolist(), topology.corners.tolist()
    numbering = _Numbering(topology, level)
    for first, last in pairwise(starts):
        numbering.add(corners[first:last])
    sizes = [len(quads) for quads in numbering.quads]
    return FaceLayout(
        owned_rows=numbering.owned_rows,
        ownership=numbering.ownership,
        quads=np.concatenate(numbering.quads),
        face_of_quad=np.repeat(np.arange(len(sizes)), sizes),
        boundary_edges=numbering.boundary_edges(),
        on_plane=numbering.on_plane(),
        corner_point=np.array(numbering.corner_point, dtype=np.int64),
    )


class _Numbering:
    """Numbers of the skin points while faces are added one by one."""

    def __init__(self, topology: CageTopology, level: int) -> None:
        self.level = level
        self.plane = topology.on_plane.tolist()
        self.corner_point = [-1] * topology.point_count
        self.edge_points: dict[tuple[int, int], Index] = {}
        """Points inside an edge, from its lower cage point to its higher."""
        self.faces_at_edge: dict[tuple[int, int], int] = {}
        self.lines: list[tuple[tuple[int, int], Index]] = []
        """For each edge of each face, all its points from corner to corner as the face runs through them."""
        self.owned_rows: list[Index] = []
        self.ownership: list[tuple[int, ...]] = []
        self.quads: list[Index] = []
        self.count = 0

    def add(self, face: list[int]) -> None:
        n = len(face)
        pieces = _pieces(n, self.level)
        following = face[1:] + face[:1]
        keys = [(a, b) if a < b else (b, a) for a, b in zip(face, following, strict=True)]
        owned = tuple([self.corner_point[a] < 0 for a in face] + [key not in self.edge_points for key in keys])
        rows = _owned(n, self.level, owned)
        numbers = np.full(pieces.count, -1)
        numbers[rows] = np.arange(self.count, self.count + len(rows))
        self.count += len(rows)
        for i, point in enumerate(face):
            if owned[i]:
                self.corner_point[point] = int(numbers[i])
            numbers[i] = self.corner_point[point]
        for i, key in enumerate(keys):
            direction = 1 if key[0] == face[i] else -1
            along = pieces.edges[i]
            if owned[n + i]:
                self.edge_points[key] = numbers[along][::direction]
            numbers[along] = self.edge_points[key][::direction]
            self.faces_at_edge[key] = self.faces_at_edge.get(key, 0) + 1
            self.lines.append((key, numbers[np.concatenate([[i], along, [(i + 1) % n]])]))
        self.owned_rows.append(rows)
        self.ownership.append(owned)
        self.quads.append(numbers[pieces.quads])

    def _is_flat(self, edge: tuple[int, int]) -> bool:
        return bool(self.plane[edge[0]] and self.plane[edge[1]])

    def boundary_edges(self) -> Index:
        lines = [line for edge, line in self.lines if self.faces_at_edge[edge] == 1 and not self._is_flat(edge)]
        pairs = [np.stack([line[:-1], line[1:]], axis=1) for line in lines]
        return np.concatenate([np.zeros((0, 2), dtype=np.int64), *pairs])

    def on_plane(self) -> Mask:
        flat = np.zeros(self.count, bool)
        for point, on_plane in zip(self.corner_point, self.plane, strict=True):
            if on_plane and point >= 0:
                flat[point] = True
        for edge, points in self.edge_points.items():
            if self._is_flat(edge):
                flat[points] = True
        return flat
