# SPDX-License-Identifier: GPL-3.0-or-later
"""A part as a line drawing: outlines and sharp edges as seen from far away, hidden lines left out."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows
from ..mesh.columns import columns
from ..mesh.triangle_mesh import TriangleMesh

SIDE = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
"""From the rider's left: rows right, up, toward the eye. The front of the bike is on the left."""
FRONT = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
"""From the front: the rider's left is on the right."""
TOP = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
"""From above, the front of the bike on the left as in SIDE."""

_SHARP_COSINE = np.cos(np.radians(35.0))
_CELLS = 420
_DEEP = 1.5
"""A line may lie this many cells behind what is seen in the cells around it; outlines fall away steeply."""


def line_view(mesh: TriangleMesh, eye: Array) -> Array:
    """(n, 2, 2) float, mm: visible stretches of outlines and sharp edges, (right, up).

    mesh : closed; eye : (3, 3) float, rows right, up and toward the eye, unit and square to each other
    Visible is what no part of the mesh hides in a grid of _CELLS cells across the view.
    """
    seen = TriangleMesh(mesh.vertices @ np.asarray(eye).T, mesh.triangles)
    cell = float(np.ptp(seen.bounds, axis=0)[:2].max()) / _CELLS
    ends = seen.vertices[_drawn_edges(seen)]
    pieces = np.maximum(np.ceil(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) / (3.0 * cell)).astype(np.int64), 1)
    edge = np.repeat(np.arange(len(ends)), pieces)
    step = np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    start, way = ends[edge, 0], ends[edge, 1] - ends[edge, 0]
    low, high = step / pieces[edge], (step + 1) / pieces[edge]
    middle = start + (0.5 * (low + high))[:, None] * way
    visible = middle[:, 2] >= _nearest(seen, cell, middle[:, :2]) - _DEEP * cell
    stretches: Array = np.stack([start + low[:, None] * way, start + high[:, None] * way], axis=1)[visible, :, :2]
    return stretches


def _drawn_edges(seen: TriangleMesh) -> Index:
    """(k, 2) edges between a triangle that faces the eye and one that does not, or that meet at a sharp angle."""
    vectors = seen.area_vectors
    length = np.linalg.norm(vectors, axis=1)
    normals = vectors / np.where(length > 0.0, length, 1.0)[:, None]
    start, end = seen.triangles.ravel(), np.roll(seen.triangles, -1, axis=1).ravel()
    count = len(seen.vertices)
    forth, back = start * count + end, end * count + start
    order, other = np.argsort(forth), np.argsort(back)
    first, second = order // 3, other // 3
    toward = vectors[:, 2] > 0.0
    outline = toward[first] != toward[second]
    sharp = (dot_rows(normals[first], normals[second]) < _SHARP_COSINE) & (toward[first] | toward[second])
    once = start[order] < end[order]
    solid = (length[first] > 0.0) & (length[second] > 0.0)
    kept = order[(outline | sharp) & once & solid]
    return np.stack([start[kept], end[kept]], axis=1)


def _nearest(seen: TriangleMesh, cell: float, points: Array) -> Array:
    """Depth that hides a point (n, 2): of the surface nearest to the eye, the least of it in the 3 x 3 cells around."""
    crossed = columns(seen, cell)
    shape = np.ceil(np.ptp(seen.bounds, axis=0)[:2] / cell).astype(np.int64) + 3
    depth = np.full(shape[0] * shape[1], -np.inf)
    np.maximum.at(depth, (crossed.column + 1) * shape[1] + crossed.row + 1, crossed.height)
    depth = depth.reshape(shape)
    least = depth.copy()
    for axis in (0, 1):
        for way in (1, -1):
            least = np.minimum(least, np.roll(least, way, axis=axis))
    place = np.floor((points - seen.bounds[0, :2]) / cell).astype(np.int64) + 1
    place = np.clip(place, 0, shape - 1)
    return np.asarray(least[place[:, 0], place[:, 1]])
