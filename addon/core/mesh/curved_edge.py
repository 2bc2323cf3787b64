# SPDX-License-Identifier: GPL-3.0-or-later
"""The curve on a smooth surface between two of its points."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.row_vectors import unit_rows


def curved_edge(start: Array, end: Array, start_normal: Array, end_normal: Array, share: Array) -> tuple[Array, Array]:
    """Points (n, 3) and unit normals (n, 3) at a share (n,) of the way along the edges from start to end, (n, 3) float each.

    The cubic through both ends with the tangents that the unit normals there allow, and normals that follow it, as along the
    edges of PN triangles (Vlachos, Peters, Boyd, Mitchell, Curved PN triangles, 2001); of fourth order in the edge's length.
    Swapping the ends and mirroring the surface change no bit of the result at the middle.
    """
    t = share[:, None]
    s = 1.0 - t
    edge = end - start
    near = (2.0 * start + end - _dot(edge, start_normal) * start_normal) / 3.0
    far = (2.0 * end + start + _dot(edge, end_normal) * end_normal) / 3.0
    points = (s * s * s * start + t * t * t * end) + (3.0 * s * s * t * near + 3.0 * s * t * t * far)
    sum_ = start_normal + end_normal
    between = unit_rows(sum_ - 2.0 * _dot(edge, sum_) / _dot(edge, edge) * edge)
    return points, unit_rows((s * s * start_normal + t * t * end_normal) + 2.0 * s * t * between)


def _dot(one: Array, other: Array) -> Array:
    products = one * other
    return np.asarray((products[:, :1] + products[:, 1:2]) + products[:, 2:])
