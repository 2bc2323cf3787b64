# SPDX-License-Identifier: GPL-3.0-or-later
"""The outline of a seat: the hull of equal discs about the bolts."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.convex_polygon import convex_hull
from ..base.row_vectors import dot_rows


def outline_distance(points: Array, bolts: Array, pad: float) -> tuple[Array, Array]:
    """Signed distance to the outline, negative inside, and the unit direction away from it (zero among the bolts).

    points : (n, 2) float, bolts : (b, 2) float, pad : radius of the discs; returns (n,), (n, 2)
    """
    hull = convex_hull(bolts)
    start, end = hull, np.roll(hull, -1, axis=0)
    edge = end - start
    length2 = np.maximum(dot_rows(edge, edge), 1e-300)
    to_point = points[:, None, :] - start[None, :, :]
    along = np.clip(np.einsum("nej,ej->ne", to_point, edge) / length2, 0.0, 1.0)
    away = to_point - along[:, :, None] * edge[None, :, :]
    squared = np.einsum("nej,nej->ne", away, away)
    nearest = np.argmin(squared, axis=1)
    rows = np.arange(len(points))
    gap = np.sqrt(squared[rows, nearest])
    if len(hull) > 2:
        left = edge[None, :, 0] * to_point[:, :, 1] - edge[None, :, 1] * to_point[:, :, 0]
        gap = np.where((left >= 0).all(axis=1), 0.0, gap)
    direction = away[rows, nearest] / np.maximum(gap, 1e-300)[:, None]
    direction[gap == 0] = 0.0
    return gap - pad, direction


def outline_points(bolts: Array, pad: float, count: int) -> Array:
    """Points on the outline and at the bolts, (count + b, 2) float; count directions, on the disc that reaches farthest."""
    angle = 2.0 * np.pi * np.arange(count) / count
    direction = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    farthest = np.argmax(direction @ bolts.T, axis=1)
    return np.concatenate([bolts[farthest] + pad * direction, bolts])
