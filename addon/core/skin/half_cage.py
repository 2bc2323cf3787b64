# SPDX-License-Identifier: GPL-3.0-or-later
"""A full cage made half again, and what its two sides differ by."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array, Index
from .cage import Cage, CageTopology

PARTNER_MM = 5.0
"""A point of one side within this of the mirror image of one of the other is its partner; our choice."""


@dataclass(frozen=True, eq=False)
class HalfCage:
    """The half at x >= 0, to be mirrored.

    kept : (n,) int, number of each point in the full cage
    without_partner : points of either side that have none on the other; largest_mm : farthest that partners differ
    """

    cage: Cage
    kept: Index
    without_partner: int
    largest_mm: float


def half_cage(full: Cage, on_plane_mm: float) -> HalfCage:
    """Keep the faces that reach to x > 0, cut off at the plane: their points at it or across it are put on it.

    A point across the plane goes to where its edges to the kept side meet the plane, in the mean of them, so that faces keep
    their corners; one without such edges straight to the plane.
    full : a cage that is not mirrored; on_plane_mm : points this close to x = 0 lie on the plane
    Raises ValueError if no face lies on that side.
    """
    topology = full.topology
    starts, corners = topology.face_starts, topology.corners
    reach = np.maximum.reduceat(full.points[corners, 0], starts[:-1])
    keep = np.flatnonzero(reach > on_plane_mm)
    if len(keep) == 0:
        raise ValueError("the cage has no face on the rider's left of the middle plane (x > 0)")
    faces = [corners[starts[i] : starts[i + 1]] for i in keep]
    kept = np.unique(np.concatenate(faces))
    number = np.full(topology.point_count, -1)
    number[kept] = np.arange(len(kept))
    points = full.points[kept].copy()
    on_plane = points[:, 0] <= on_plane_mm
    points[on_plane] = _cut_points(full, faces, on_plane_mm)[kept][on_plane]
    creased = (number[topology.crease_edges] >= 0).all(axis=1)
    half = CageTopology(
        point_count=len(kept),
        face_starts=np.cumsum([0, *map(len, faces)]),
        corners=number[np.concatenate(faces)],
        crease_edges=number[topology.crease_edges[creased]],
        creases=topology.creases[creased],
        point_creases=topology.point_creases[kept],
        mirrored=True,
        on_plane=on_plane,
        keep_corners=topology.keep_corners,
    )
    without, largest = _differences(full.points, on_plane_mm)
    paint = None if full.paint is None else full.paint[kept]
    return HalfCage(Cage(half, points, paint), kept, without, largest)


def _cut_points(full: Cage, faces: list[Index], on_plane_mm: float) -> Array:
    """All points (n, 3), those across the plane moved along their edges to it, those near it straight."""
    points = full.points.copy()
    edges = np.concatenate([np.column_stack([face, np.roll(face, -1)]) for face in faces])
    edges = np.unique(np.sort(edges, axis=1), axis=0)
    edges = np.concatenate([edges, edges[:, ::-1]])
    a, b = full.points[edges[:, 0]], full.points[edges[:, 1]]
    crossing = (a[:, 0] < -on_plane_mm) & (b[:, 0] > on_plane_mm)
    across, a, b = edges[crossing, 0], a[crossing], b[crossing]
    meeting = a + (a[:, 0] / (a[:, 0] - b[:, 0]))[:, None] * (b - a)
    count = np.bincount(across, minlength=len(points))
    for i in range(3):
        total = np.bincount(across, meeting[:, i], len(points))
        points[:, i] = np.where(count > 0, total / np.maximum(count, 1), points[:, i])
    points[points[:, 0] <= on_plane_mm, 0] = 0.0
    return points


def unmirrored(cage: Cage) -> Cage:
    """The same faces and points, taken as a whole cage."""
    topology = cage.topology
    return Cage(replace(topology, mirrored=False, on_plane=np.zeros(topology.point_count, bool)), cage.points, cage.paint)


def _differences(points: Array, on_plane_mm: float) -> tuple[int, float]:
    left, right = points[points[:, 0] > on_plane_mm], points[points[:, 0] < -on_plane_mm] * [-1.0, 1.0, 1.0]
    if not len(left) or not len(right):
        return len(left) + len(right), 0.0
    away = np.linalg.norm(left[:, None] - right[None], axis=2)
    from_left, from_right = away.min(axis=1), away.min(axis=0)
    partners = np.concatenate([from_left[from_left <= PARTNER_MM], from_right[from_right <= PARTNER_MM]])
    without = int((from_left > PARTNER_MM).sum() + (from_right > PARTNER_MM).sum())
    return without, float(partners.max(initial=0.0))
