# SPDX-License-Identifier: GPL-3.0-or-later
"""What of a part hangs over, what must be held from below, and what it stands on, as it lies on the printer."""

from __future__ import annotations

import numpy as np

from .arrays import Array, Index, Mask
from .solid.triangle_mesh import TriangleMesh
from .tables.printing_rules import OVERHANG_DEG

_COLUMN_MM = 2.0
_OFF_CENTER = (0.4871, 0.5113)
"""Columns stand a little off the middle of their cells, so that none meets a straight edge of a part."""


def overhangs(mesh: TriangleMesh, layer: float) -> Mask:
    """(m,) bool: triangles that face down and lean over more than OVERHANG_DEG from the vertical, above the first layer.

    mesh : in printer axes, z up from the bed, mm; layer : height of a layer, mm
    """
    vectors = mesh.area_vectors
    lean = vectors[:, 2] < -np.sin(np.radians(OVERHANG_DEG)) * np.linalg.norm(vectors, axis=1)
    return np.asarray(lean & (mesh.corners[:, :, 2].max(axis=1) > layer))


def overhang_area(mesh: TriangleMesh, layer: float) -> float:
    """Area of the overhangs, mm2."""
    return float(np.linalg.norm(mesh.area_vectors[overhangs(mesh, layer)], axis=1).sum())


def first_layer_area(mesh: TriangleMesh, layer: float) -> float:
    """Area that the first layer covers: of the cut through the part half a layer over the bed, mm2.

    mesh : closed, printer axes. The surface below a cut and the cut itself close a body, so that the cut's area is the sum of
    the projected areas below it (divergence theorem); each triangle's share below is exact.
    """
    height = np.sort(mesh.corners[:, :, 2], axis=1)
    low, middle, high = height.T
    at = 0.5 * layer
    with np.errstate(divide="ignore", invalid="ignore"):
        lower = (at - low) ** 2 / ((middle - low) * (high - low))
        upper = 1.0 - (high - at) ** 2 / ((high - low) * (high - middle))
    share = np.select([high <= at, low >= at, middle >= at], [1.0, 0.0, lower], upper)
    return float(-(mesh.area_vectors[:, 2] * share).sum())


def support_room(mesh: TriangleMesh, layer: float, column: float = _COLUMN_MM) -> float:
    """Room between the overhangs and what is right below them, the part itself or the bed, mm3.

    mesh : closed, printer axes; layer : of a print, mm; column : side of the square columns that are summed, mm
    """
    cell, triangle, height = _crossings(mesh, column)
    order = np.lexsort((height, cell))
    cell, triangle, height = cell[order], triangle[order], height[order]
    ground = np.zeros(len(height))
    same = cell[1:] == cell[:-1]
    ground[1:][same] = height[:-1][same]
    held = overhangs(mesh, layer)[triangle]
    return float((height - ground)[held].sum() * column**2)


def _crossings(mesh: TriangleMesh, column: float) -> tuple[Index, Index, Array]:
    """Where upright lines, one a column, pass through triangles: column, triangle and height of each crossing."""
    corners = mesh.corners - np.append(mesh.bounds[0, :2], 0.0)
    flat = corners[:, :, :2] / column - np.array(_OFF_CENTER)
    first = np.ceil(flat.min(axis=1)).astype(np.int64)
    count = np.maximum(np.floor(flat.max(axis=1)).astype(np.int64) - first + 1, 0)
    total = count.prod(axis=1)
    triangle = np.repeat(np.arange(len(total)), total)
    within = np.arange(len(triangle)) - np.repeat(np.cumsum(total) - total, total)
    column_x = first[triangle, 0] + within // count[triangle, 1]
    column_y = first[triangle, 1] + within % count[triangle, 1]
    a, b, c = np.moveaxis(flat[triangle], 1, 0)
    here = np.stack([column_x, column_y], axis=1) - a
    b, c = b - a, c - a
    twice = b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        u = (here[:, 0] * c[:, 1] - here[:, 1] * c[:, 0]) / twice
        v = (b[:, 0] * here[:, 1] - b[:, 1] * here[:, 0]) / twice
        met = (twice != 0.0) & (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
    triangle, u, v = triangle[met], u[met], v[met]
    z = corners[triangle, :, 2]
    height = z[:, 0] + u * (z[:, 1] - z[:, 0]) + v * (z[:, 2] - z[:, 0])
    rows = int(np.ceil(mesh.bounds[1, 1] - mesh.bounds[0, 1])) + 2
    return column_x[met] * rows + column_y[met], triangle, height
