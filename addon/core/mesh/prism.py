# SPDX-License-Identifier: GPL-3.0-or-later
"""Closed cutters: box, prism, and a slab between two faces."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from .open_surface import directed_edges
from .triangle_mesh import TriangleMesh, outward


def prism(start: Array, end: Array, inscribed: float, sides: int) -> TriangleMesh:
    """A right prism over a regular polygon that goes around the circle of radius `inscribed`, so a hole is never too small.

    start, end : (3,) float, ends of the axis, mm; sides : corners of the polygon
    """
    axis = (end - start) / np.linalg.norm(end - start)
    one = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    one /= np.linalg.norm(one)
    angle = 2.0 * np.pi * np.arange(sides) / sides
    ring = np.cos(angle)[:, None] * one + np.sin(angle)[:, None] * np.cross(axis, one)
    ring *= inscribed / np.cos(np.pi / sides)
    here, fan = np.arange(sides), np.arange(1, sides - 1)
    polygon = np.stack([np.zeros_like(fan), fan, fan + 1], axis=1)
    return slab(start + ring, end + ring, polygon, here)


def box(center: Array, axes: Array, low: Array, high: Array) -> TriangleMesh:
    """A box. axes : (3, 3) float, orthonormal rows; low, high : (3,) float, mm, its faces along the axes from the center."""
    corners = np.array([[x, y] for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))])
    base = np.column_stack([low[0] + corners[:, 0] * (high - low)[0], low[1] + corners[:, 1] * (high - low)[1]])
    bottom = center + np.column_stack([base, np.full(4, low[2])]) @ axes
    top = center + np.column_stack([base, np.full(4, high[2])]) @ axes
    return slab(bottom, top, np.array([[0, 1, 2], [0, 2, 3]]), np.arange(4))


def slab(one: Array, two: Array, triangles: Index, edge: Index | None = None) -> TriangleMesh:
    """The closed body between two faces, point by point.

    one, two : (n, 3) float; triangles : (m, 3) int of either face
    edge : its boundary as one ring of points, found from the triangles if None
    """
    if edge is None:
        start, end = directed_edges(triangles)
        lone = ~np.isin(start * len(one) + end, end * len(one) + start)
        start, end = start[lone], end[lone]
    else:
        start, end = edge, np.roll(edge, -1)
    lower = len(one)
    walls = np.concatenate([np.stack([end, start, start + lower], axis=1), np.stack([end, start + lower, end + lower], axis=1)])
    return outward(TriangleMesh(np.concatenate([one, two]), np.concatenate([triangles, triangles[:, ::-1] + lower, walls])))
