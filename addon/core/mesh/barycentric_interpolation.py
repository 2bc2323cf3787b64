# SPDX-License-Identifier: GPL-3.0-or-later
"""Values between the corners of flat triangles."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index


def barycentric_interpolation(points: Array, corners: Array, values: Array) -> tuple[Index, Array]:
    """Values at flat points from those at the corners of the triangles that they lie in.

    points : (n, 2) float; corners : (m, 3, 2) float, triangles that turn either way; values : (m, 3) float
    Returns (k,) int, the point, and (k,) float, its value, in the order of the points: several where triangles overlap or share
    an edge, none where a point lies in no triangle.
    """
    a, b, c = np.moveaxis(corners, 1, 0)
    u, v = b - a, c - a
    area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    offset = points[:, None] - a
    second = (offset[..., 0] * v[:, 1] - offset[..., 1] * v[:, 0]) / area
    third = (u[:, 0] * offset[..., 1] - u[:, 1] * offset[..., 0]) / area
    point, triangle = np.nonzero((second >= -1e-9) & (third >= -1e-9) & (second + third <= 1.0 + 1e-9))
    one, two, three = values[triangle].T
    at = second[point, triangle], third[point, triangle]
    return point, np.asarray(one + at[0] * (two - one) + at[1] * (three - one))
