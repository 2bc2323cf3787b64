# SPDX-License-Identifier: GPL-3.0-or-later
"""Many face neighborhoods as one mesh of half-edges, with the weights of their points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array, Index, Mask
from .face_neighborhood import FaceNeighborhood


@dataclass(frozen=True, eq=False)
class NeighborhoodBatch:
    """Faces with n corners, each with the ring of faces about it, at some level of subdivision.

    Half-edge h runs along face face[h] from point origin[h] to origin[following[h]]; counterclockwise.

    weights : (v, k) float, what each point takes from the k local points of its own neighborhood
    origin, face, following, before, twin : (h,) int; twin is -1 where no face lies across
    face_starts : (f + 1,) int, the half-edges of each face
    sharp : (h,) float sharpness of the edge, 0 smooth
    point_sharp : (v,) float
    core_points : (c, p) int, points of the c faces themselves, numbered as in their FacePattern
    core_faces : (c, q) int, faces of the c faces themselves, numbered as in their FacePattern
    """

    weights: Array
    origin: Index
    face: Index
    following: Index
    before: Index
    twin: Index
    face_starts: Index
    sharp: Array
    point_sharp: Array
    core_points: Index
    core_faces: Index

    @property
    def is_core_point(self) -> Mask:
        mask = np.zeros(len(self.weights), bool)
        mask[self.core_points.ravel()] = True
        return mask


def neighborhood_batch(neighborhoods: Sequence[FaceNeighborhood]) -> NeighborhoodBatch:
    """Join neighborhoods of faces with equally many corners; they stay apart from each other."""
    counts = [neighborhood.point_count for neighborhood in neighborhoods]
    offsets = np.cumsum([0, *counts])
    weights = np.zeros((offsets[-1], max(counts)))
    weights[np.arange(offsets[-1]), np.concatenate([np.arange(count) for count in counts])] = 1.0
    point_sharp = np.zeros(offsets[-1])
    sizes: list[int] = []
    origin: list[int] = []
    first_faces: list[int] = []
    sharp_of: dict[tuple[int, int], float] = {}
    for neighborhood, offset in zip(neighborhoods, offsets.tolist(), strict=False):
        first_faces.append(len(sizes))
        for points in neighborhood.faces:
            sizes.append(len(points))
            origin.extend([point + offset for point in points])
        point_sharp[offset : offset + neighborhood.corner_count] = neighborhood.sharp_points
        for a, b, value in neighborhood.sharp_edges:
            sharp_of[a + offset, b + offset] = sharp_of[b + offset, a + offset] = value
    face_starts = np.cumsum([0, *sizes])
    face = np.repeat(np.arange(len(sizes)), sizes)
    following = np.arange(len(origin)) + 1
    following[face_starts[1:] - 1] = face_starts[:-1]
    before = np.zeros(len(origin), dtype=np.int64)
    before[following] = np.arange(len(origin))
    ends = [origin[after] for after in following.tolist()]
    number = {edge: half_edge for half_edge, edge in enumerate(zip(origin, ends, strict=True))}
    twin = np.array([number.get((b, a), -1) for a, b in zip(origin, ends, strict=True)], dtype=np.int64)
    corner_count = neighborhoods[0].corner_count
    return NeighborhoodBatch(
        weights=weights,
        origin=np.array(origin, dtype=np.int64),
        face=face,
        following=following,
        before=before,
        twin=twin,
        face_starts=face_starts,
        sharp=np.array([sharp_of.get(edge, 0.0) for edge in zip(origin, ends, strict=True)], dtype=np.float64),
        point_sharp=point_sharp,
        core_points=offsets[:-1, None] + np.arange(corner_count),
        core_faces=np.array(first_faces, dtype=np.int64)[:, None],
    )
