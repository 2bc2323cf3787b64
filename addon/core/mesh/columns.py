# SPDX-License-Identifier: GPL-3.0-or-later
"""Where upright lines on a square grid pass through a mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from .triangle_mesh import TriangleMesh

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
    low = mesh.bounds[0]
    x, y, z = ((mesh.vertices[:, axis] - low[axis])[mesh.triangles.T] for axis in range(3))
    flat_x, flat_y = x / side - _OFF_CENTER[0], y / side - _OFF_CENTER[1]
    first_x, count_x = _lines_within(flat_x)
    first_y, count_y = _lines_within(flat_y)
    total = count_x * count_y
    triangle = np.repeat(np.arange(len(total)), total)
    within = np.arange(len(triangle)) - np.repeat(np.cumsum(total) - total, total)
    column, row = np.divmod(within, count_y[triangle])
    column += first_x[triangle]
    row += first_y[triangle]
    (ax, bx, cx), (ay, by, cy) = flat_x, flat_y
    bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
    twice = bx * cy - by * cx
    here_x, here_y = column - ax[triangle], row - ay[triangle]
    with np.errstate(divide="ignore", invalid="ignore"):
        u = (here_x * cy[triangle] - here_y * cx[triangle]) / twice[triangle]
        v = (here_y * bx[triangle] - here_x * by[triangle]) / twice[triangle]
        met = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
    triangle, u, v = triangle[met], u[met], v[met]
    height = low[2] + z[0][triangle] + u * (z[1] - z[0])[triangle] + v * (z[2] - z[0])[triangle]
    return Columns(column[met], row[met], triangle, height)


def _lines_within(corners: Array) -> tuple[Index, Index]:
    """The first grid line that each triangle may meet, and how many. corners : (3, m) float, one coordinate, in cells."""
    a, b, c = corners
    first = np.ceil(np.minimum(np.minimum(a, b), c)).astype(np.int64)
    return first, np.maximum(np.floor(np.maximum(np.maximum(a, b), c)).astype(np.int64) - first + 1, 0)
