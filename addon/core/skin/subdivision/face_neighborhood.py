# SPDX-License-Identifier: GPL-3.0-or-later
"""A face with all faces that touch it: the part of the cage that shapes the skin over this face."""

from __future__ import annotations

from dataclasses import dataclass

from .whole_cage import Corner, WholeCage


@dataclass(frozen=True)
class FaceNeighborhood:
    """Faces around a face in local point numbers; equal for all faces that are surrounded alike.

    faces : the face itself first, with the points 0..n-1, then those that touch it; local point numbers
    sharp_edges : (local point, local point, sharpness) of the sharp edges that reach a point of the face
    sharp_points : sharpness of the points of the face
    """

    faces: tuple[tuple[int, ...], ...]
    sharp_edges: tuple[tuple[int, int, float], ...]
    sharp_points: tuple[float, ...]
    point_count: int

    @property
    def corner_count(self) -> int:
        return len(self.faces[0])


def face_neighborhoods(
    whole: WholeCage, edge_sharpness: dict[tuple[int, int], float], point_sharpness: list[float]
) -> list[tuple[FaceNeighborhood, list[int]]]:
    """Neighborhood of each own face of the cage, with the whole-cage point of each local point."""
    return [_neighborhood(whole, face, edge_sharpness, point_sharpness) for face in range(whole.own_faces)]


def _neighborhood(
    whole: WholeCage,
    face: int,
    edge_sharpness: dict[tuple[int, int], float],
    point_sharpness: list[float],
) -> tuple[FaceNeighborhood, list[int]]:
    own = whole.faces[face]
    local = {point: number for number, point in enumerate(own)}
    faces = [tuple(range(len(own)))]
    seen = {face}
    sharp_edges = []
    for corner, point in enumerate(own):
        fan, closed = whole.fans[point]
        start = fan.index((face, corner)) if closed else 0
        for other, at in fan[start:] + fan[:start]:
            if other in seen:
                continue
            seen.add(other)
            points = whole.faces[other]
            faces.append(tuple([local.setdefault(p, len(local)) for p in points[at:] + points[:at]]))
    if edge_sharpness:
        for point in own:
            for other in _ends(whole, whole.fans[point][0]):
                value = edge_sharpness.get((point, other), 0.0)
                if value > 0.0:
                    sharp_edges.append((local[point], local[other], value))
    sharp_points = tuple([point_sharpness[point] for point in own])
    return FaceNeighborhood(tuple(faces), tuple(sharp_edges), sharp_points, len(local)), list(local)


def _ends(whole: WholeCage, fan: list[Corner]) -> list[int]:
    """Other ends of the edges at a point; the last one of an open fan is a boundary edge, sharp anyway."""
    return [whole.faces[face][(at + 1) % len(whole.faces[face])] for face, at in fan]
