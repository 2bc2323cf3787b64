# SPDX-License-Identifier: GPL-3.0-or-later
"""Where upright lines on a square grid pass through a mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .arrays import Array, Index
from .solid.triangle_mesh import TriangleMesh

_OFF_CENTER = (0.4871, 0.5113)
"""Lines stand a little off the middle of their cells, so that none meets a straight edge of a part."""


@dataclass(frozen=True, eq=False)
class Columns:
    """Crossings, in no order.

    column, row : (n,) int, cell of the line, from the least x and y of the mesh; triangle : (n,) int; height : (n,) float, mm
    """

    column: Index
    row: Index
    triangle: Index
    height: Array


def columns(mesh: TriangleMesh, side: float) -> Columns:
    """Every crossing of a triangle with a line along z, one line in each cell of a square grid.

    side : of the cells, mm
    """
    corners = mesh.corners - np.append(mesh.bounds[0, :2], 0.0)
    flat = corners[:, :, :2] / side - np.array(_OFF_CENTER)
    first = np.ceil(flat.min(axis=1)).astype(np.int64)
    count = np.maximum(np.floor(flat.max(axis=1)).astype(np.int64) - first + 1, 0)
    total = count.prod(axis=1)
    triangle = np.repeat(np.arange(len(total)), total)
    within = np.arange(len(triangle)) - np.repeat(np.cumsum(total) - total, total)
    column = first[triangle, 0] + within // count[triangle, 1]
    row = first[triangle, 1] + within % count[triangle, 1]
    a, b, c = np.moveaxis(flat[triangle], 1, 0)
    here = np.stack([column, row], axis=1) - a
    b, c = b - a, c - a
    twice = b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        u = (here[:, 0] * c[:, 1] - here[:, 1] * c[:, 0]) / twice
        v = (b[:, 0] * here[:, 1] - b[:, 1] * here[:, 0]) / twice
        met = (twice != 0.0) & (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
    triangle, u, v = triangle[met], u[met], v[met]
    z = corners[triangle, :, 2]
    height = z[:, 0] + u * (z[:, 1] - z[:, 0]) + v * (z[:, 2] - z[:, 0])
    return Columns(column[met], row[met], triangle, height)
