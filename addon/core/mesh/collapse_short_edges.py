# SPDX-License-Identifier: GPL-3.0-or-later
"""A closed mesh without edges that a file's rounding could close up."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Index
from ..base.row_vectors import dot_rows
from ..base.tolerances import TOLERANCES
from .triangle_mesh import TriangleMesh

MOST_PASSES = 20


def collapse_short_edges(mesh: TriangleMesh, shortest: float = TOLERANCES.shortest_edge) -> TriangleMesh:
    """Collapse the edges of a closed mesh that are shorter than `shortest` (mm), and drop points that nothing uses.

    An edge collapses only where that keeps the mesh closed: its ends must share just the two points opposite it
    (link condition: Dey, Edelsbrunner, Guha, Nekhayev, Topology preserving edge contraction, 1999). Others stay.
    """
    vertices, triangles = mesh.vertices, mesh.triangles
    for _ in range(MOST_PASSES):
        pairs = _short_edges(TriangleMesh(vertices, triangles), shortest)
        merge = _separate_merges(triangles, pairs)
        if not merge:
            break
        target = np.arange(len(vertices))
        for kept, gone in merge:
            target[gone] = kept
        triangles = target[triangles]
        triangles = triangles[(triangles != np.roll(triangles, 1, axis=1)).all(axis=1)]
    used = np.bincount(triangles.ravel(), minlength=len(vertices)) > 0
    if used.all() and triangles is mesh.triangles:
        return mesh
    return TriangleMesh(vertices[used], (np.cumsum(used) - 1)[triangles])


def _short_edges(mesh: TriangleMesh, shortest: float) -> Index:
    start, end = mesh.triangles.ravel(), np.roll(mesh.triangles, -1, axis=1).ravel()
    way = mesh.vertices[end] - mesh.vertices[start]
    short = (dot_rows(way, way) < shortest**2) & (start < end)
    return np.stack([start[short], end[short]], axis=1)


def _separate_merges(triangles: Index, pairs: Index) -> list[tuple[int, int]]:
    """Edges that may collapse in one pass: each keeps the mesh closed, and no two are neighbors."""
    if not len(pairs):
        return []
    around: dict[int, set[int]] = {int(point): set() for point in pairs.ravel()}
    for triangle in triangles[np.isin(triangles, pairs).any(axis=1)].tolist():
        for point in triangle:
            if point in around:
                around[point].update(triangle)
    merges: list[tuple[int, int]] = []
    taken: set[int] = set()
    for kept, gone in pairs.tolist():
        region = around[kept] | around[gone]
        if len(around[kept] & around[gone]) == 4 and not region & taken:
            merges.append((kept, gone))
            taken |= region
    return merges


def coincident_points(mesh: TriangleMesh) -> Index:
    """Indices (k,) of points that lie on another one in float32 coordinates; a reader of the file would weld them."""
    rounded = mesh.vertices.astype(np.float32)
    along = np.sort(rounded[:, 0])
    # most points have a coordinate of their own
    twice = np.flatnonzero(np.isin(rounded[:, 0], along[1:][along[1:] == along[:-1]]))
    rounded = rounded[twice]
    order = np.lexsort(rounded.T)
    same = (rounded[order[1:]] == rounded[order[:-1]]).all(axis=1)
    return np.asarray(twice[order[1:][same]])
