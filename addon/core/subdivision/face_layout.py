# SPDX-License-Identifier: GPL-3.0-or-later
"""Which skin point is which: points over neighboring faces welded along their edges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from ..arrays import Index, Mask
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
    starts, all_corners = topology.face_starts.tolist(), topology.corners.tolist()
    plane = topology.on_plane.tolist()
    corner_point = [-1] * topology.point_count
    edge_points: dict[tuple[int, int], Index] = {}
    edge_faces: dict[tuple[int, int], int] = {}
    owned_rows, ownership, quads, sizes, borders = [], [], [], [], []
    flat: list[Index] = []
    next_point = 0
    for a, b in pairwise(starts):
        face = all_corners[a:b]
        n = len(face)
        pieces = _pieces(n, level)
        edges = list(zip(face, face[1:] + face[:1], strict=True))
        keys = [(c, d) if c < d else (d, c) for c, d in edges]
        owned = tuple([corner_point[c] < 0 for c in face] + [key not in edge_points for key in keys])
        rows = _owned(n, level, owned)
        numbers = np.full(pieces.count, -1)
        numbers[rows] = np.arange(next_point, next_point + len(rows))
        next_point += len(rows)
        for i, point in enumerate(face):
            if owned[i]:
                corner_point[point] = int(numbers[i])
                if plane[point]:
                    flat.append(numbers[i : i + 1])
            else:
                numbers[i] = corner_point[point]
        for i, key in enumerate(keys):
            forward = key == edges[i]
            edge_faces[key] = edge_faces.get(key, 0) + 1
            if owned[n + i]:
                along = numbers[pieces.edges[i]]
                edge_points[key] = along if forward else along[::-1]
                if plane[key[0]] and plane[key[1]]:
                    flat.append(along)
            else:
                along = edge_points[key]
                numbers[pieces.edges[i]] = along if forward else along[::-1]
            borders.append((key, numbers[i], numbers[pieces.edges[i]], numbers[(i + 1) % n]))
        quads.append(numbers[pieces.quads])
        sizes.append(len(pieces.quads))
        owned_rows.append(rows)
        ownership.append(owned)
    boundary = [np.zeros((0, 2), dtype=np.int64)]
    for key, first, along, last in borders:
        if edge_faces[key] == 1 and not (plane[key[0]] and plane[key[1]]):
            line = np.concatenate([[first], along, [last]])
            boundary.append(np.stack([line[:-1], line[1:]], axis=1))
    on_plane = np.zeros(next_point, bool)
    if flat:
        on_plane[np.concatenate(flat)] = True
    return FaceLayout(
        owned_rows=owned_rows,
        ownership=ownership,
        quads=np.concatenate(quads),
        face_of_quad=np.repeat(np.arange(len(sizes)), sizes),
        boundary_edges=np.concatenate(boundary),
        on_plane=on_plane,
        corner_point=np.array(corner_point, dtype=np.int64),
    )
