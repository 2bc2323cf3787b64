# SPDX-License-Identifier: GPL-3.0-or-later
"""Sections of a surface: across at a station, and along in the center plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Index, as_points


@dataclass(frozen=True, eq=False)
class Section:
    """station_deg : of the plane; polylines : (n, 2) float each, mm, (x, rho), from +x to -x, the longest first."""

    station_deg: float
    polylines: tuple[Array, ...]


def section(points: ArrayLike, faces: Index, station_deg: float) -> Section:
    """Cut of a surface with the half plane through the axle at a station.

    points : (n, 3) float, mm, wheel axes; faces : (m, 3) or (m, 4) int; station_deg : degrees
    A half of a mirrored surface gives the section of the half. No polyline if the surface does not reach the station.
    Raises ValueError if points or faces have another shape.
    """
    angle = np.radians(station_deg)
    out = np.array([0.0, -np.sin(angle), np.cos(angle)])
    ahead = np.array([0.0, -np.cos(angle), -np.sin(angle)])
    cut = plane_cut(points, faces, np.zeros(3), ahead)
    found = [np.column_stack([line[:, 0], line @ out]) for line in cut]
    kept = [line if line[0, 0] >= line[-1, 0] else line[::-1] for line in found if line[:, 1].mean() > 0.0]
    return Section(float(station_deg), tuple(sorted(kept, key=lambda line: -_length(line))))


def side_profile(points: ArrayLike, faces: Index, x: float = 0.0) -> tuple[Array, ...]:
    """Cut of a surface with the plane at an offset x: polylines (n, 2), mm, (forward, up), rear to front, longest first."""
    cut = plane_cut(points, faces, np.array([x, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    lines = [np.column_stack([-line[:, 1], line[:, 2]]) for line in cut]
    turned = [line if line[0, 0] <= line[-1, 0] else line[::-1] for line in lines]
    return tuple(sorted(turned, key=lambda line: -_length(line)))


def plane_cut(points: ArrayLike, faces: Index, origin: Array, normal: Array) -> tuple[Array, ...]:
    """Polylines (n, 3) in which triangles or quads cross a plane; a closed one ends where it began.

    points : (n, 3) float; faces : (m, 3) or (m, 4) int, quads are cut in two; origin, normal : (3,) float
    Crossing points are exact on the edges. A surface that ends on the plane (a mirrored half) is cut along its end.
    """
    points = as_points(points)
    faces = np.asarray(faces, dtype=np.int64)
    if faces.ndim != 2 or faces.shape[1] not in (3, 4):
        raise ValueError(f"faces: shape {faces.shape}, expected (m, 3) or (m, 4)")
    triangles = faces if faces.shape[1] == 3 else faces[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
    height = (points - origin) @ normal
    # A point within rounding of the plane is on it, so that no crossing is a hair from a corner.
    height[np.abs(height) < 1e-9] = 0.0
    ends = np.unique(np.concatenate([_crossed(triangles, height, sign) for sign in (1.0, -1.0)]).reshape(-1, 4), axis=0)
    nodes, inverse = np.unique(ends.reshape(-1, 2), axis=0, return_inverse=True)
    pairs = inverse.reshape(-1, 2)
    a, b = nodes.T
    drop = np.where(a == b, 1.0, height[a] - height[b])
    place = points[a] + (height[a] / drop)[:, None] * (points[b] - points[a])
    return tuple(place[chain] for chain in _chains(pairs[pairs[:, 0] != pairs[:, 1]]))


def _crossed(triangles: Index, height: Array, sign: float) -> Index:
    """Segments (s, 2 nodes, 2 ends of the node's edge), where points on the plane count as lying to one side of it.

    A node on a corner is that corner twice. Both signs together give each segment, also those along edges on the plane.
    """
    above = height > 0.0 if sign > 0.0 else height >= 0.0
    inside = above[triangles]
    mixed = triangles[inside.any(axis=1) & ~inside.all(axis=1)]
    start, end = mixed, np.roll(mixed, -1, axis=1)
    crosses = above[start] != above[end]
    low, high = np.minimum(start, end), np.maximum(start, end)
    on_low, on_high = height[low] == 0.0, height[high] == 0.0
    first, second = np.where(on_high & ~on_low, high, low), np.where(on_low, low, high)
    nodes = np.stack([first[crosses], second[crosses]], axis=1).reshape(-1, 2, 2)
    order = np.argsort(nodes[:, :, 0] * (len(height) + 1) + nodes[:, :, 1], axis=1)
    return np.take_along_axis(nodes, order[:, :, None], axis=1)


def _chains(pairs: Index) -> list[list[int]]:
    """Walk pairs of nodes into chains; open ones from their ends, then rings; a branch ends a chain."""
    around: dict[int, list[int]] = {}
    for a, b in pairs.tolist():
        around.setdefault(a, []).append(b)
        around.setdefault(b, []).append(a)
    chains = []
    starts = [node for node, others in around.items() if len(others) != 2]
    for start in [*starts, *around]:
        while around[start]:
            chain = [start]
            while around[chain[-1]]:
                here = chain[-1]
                after = around[here].pop()
                around[after].remove(here)
                chain.append(after)
                if after == start or len(around[after]) != 1:
                    break
            chains.append(chain)
    return chains


def _length(line: Array) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
