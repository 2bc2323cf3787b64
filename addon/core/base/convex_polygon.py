# SPDX-License-Identifier: GPL-3.0-or-later
"""Convex polygons in the plane: hull of points and signed distance."""

from __future__ import annotations

import numpy as np

from .arrays import Array


def convex_hull(points: Array) -> Array:
    """Corners of the convex hull, counterclockwise, without collinear ones. points : (n, 2) float, n >= 1.

    One point for coincident points, the two ends for collinear ones. Andrew's monotone chain (1979).
    """
    ordered = sorted({(float(u), float(v)) for u, v in points})
    if len(ordered) <= 2:
        return np.array(ordered, dtype=np.float64)
    lower = _chain(ordered)
    upper = _chain(ordered[::-1])
    return np.array(lower[:-1] + upper[:-1], dtype=np.float64)


def _chain(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
    kept: list[tuple[float, float]] = []
    for point in ordered:
        while len(kept) >= 2 and _turn(kept[-2], kept[-1], point) <= 0.0:
            kept.pop()
        kept.append(point)
    return kept


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def polygon_distance(polygon: Array, uv: Array) -> Array:
    """Signed distance to a convex polygon, negative inside; a point or a segment has no inside.

    polygon : (h, 2) float, counterclockwise; uv : (n, 2) float; returns (n,) float
    """
    nearest2 = np.full(len(uv), np.inf)
    outside = np.zeros(len(uv), bool)
    u, v = uv.T
    for (start_u, start_v), (side_u, side_v) in zip(polygon, np.roll(polygon, -1, axis=0) - polygon, strict=True):
        off_u, off_v = u - start_u, v - start_v
        share = np.clip((off_u * side_u + off_v * side_v) / max(side_u**2 + side_v**2, np.finfo(np.float64).tiny), 0.0, 1.0)
        np.minimum(nearest2, (off_u - share * side_u) ** 2 + (off_v - share * side_v) ** 2, out=nearest2)
        outside |= side_u * off_v - side_v * off_u < 0.0
    nearest = np.sqrt(nearest2)
    return nearest if len(polygon) < 3 else np.where(outside, nearest, -nearest)
