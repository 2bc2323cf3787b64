# SPDX-License-Identifier: GPL-3.0-or-later
"""A scan as it comes from a file, and points spread over its surface."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ...base.arrays import Array, Index, as_points
from ...base.errors import JobError

Value = TypeVar("Value", bound=np.generic)

UNIT_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Length units that a scan may come in; the inch is 25.4 mm exactly."""

LEAST_POINTS = 200
"""Fewer points than this are no scan of a tire."""


@dataclass(frozen=True, eq=False)
class Scan:
    """points (n, 3) float in the scan's own coordinates and unit; triangles (t, 3) int, empty for bare points.

    normals : (n, 3) float as stored in the file, or None; used to see which side is out, never for the fit, because
        scanners store them in too many ways
    """

    points: Array
    triangles: Index
    normals: Array | None = None


def checked_scan(scan: Scan) -> Scan:
    """The scan, if it can be worked on.

    Raises JobError if it has too few points, values that are not finite, or all points in one place.
    """
    try:
        points = as_points(scan.points, "scan")
    except ValueError as error:
        raise JobError("scan", str(error)) from error
    if len(points) < LEAST_POINTS and len(scan.triangles) == 0:
        raise JobError("scan", f"{len(points)} points without faces, at least {LEAST_POINTS} are needed")
    if len(points) < 4 or float(np.ptp(points, axis=0).max()) == 0.0:
        raise JobError("scan", f"{len(points)} points that span no surface, a scan of the wheel is needed")
    return scan


def robust_extent(points: Array) -> tuple[Array, float]:
    """Middle (3,) and diagonal of the box that holds the points between their 2nd and 98th percentile along each axis."""
    some = points[:: max(len(points) // 100_000, 1)]
    low, high = np.percentile(some, [2.0, 98.0], axis=0)
    return 0.5 * (low + high), float(np.linalg.norm(high - low))


def is_dense(scan: Scan) -> bool:
    """True if the vertices are close enough to stand for the surface: the faces with edges over 1/200 of the extent hold
    less than 5 % of the area. False for meshes with large faces, as people model them."""
    step = max(len(scan.triangles) // 100_000, 1)
    corners = scan.points[scan.triangles[::step]]
    edges = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    areas = triangle_areas(corners)
    large = edges > robust_extent(scan.points)[1] / 200.0
    return bool(areas[large].sum() < 0.05 * areas.sum())


def triangle_areas(corners: Array) -> Array:
    """Areas (t,) of triangles given by corners (t, 3, 3)."""
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return np.asarray(0.5 * np.linalg.norm(cross, axis=1))


def points_on_triangles(points: Array, triangles: Index, count: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Points (count, 3) spread evenly by area over triangles, and the unit normals (count, 3) of their triangles.

    Raises JobError if the triangles have no area.
    Square-root warp of the unit square: Osada et al., ACM Trans. Graphics 21 (2002) 807, section 3.1.
    """
    corners = points[triangles]
    areas = triangle_areas(corners)
    total = np.cumsum(areas)
    if len(total) == 0 or not total[-1] > 0.0:
        raise JobError("scan", "its faces have no area")
    index = np.minimum(np.searchsorted(total, rng.random(count) * total[-1]), len(total) - 1)
    root, share = np.sqrt(rng.random((count, 1))), rng.random((count, 1))
    a, b, c = np.moveaxis(corners[index], 1, 0)
    normal = np.cross(b - a, c - a)
    length = np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)
    return np.asarray((1.0 - root) * a + root * (1.0 - share) * b + root * share * c), normal / length


def random_rows(points: NDArray[Value], count: int, rng: np.random.Generator) -> NDArray[Value]:
    """At most count rows of points, chosen at random without drawing any twice."""
    if len(points) <= count:
        return points
    # one row from each stretch of equal length: as good as a random choice, without shuffling millions of rows
    starts = np.linspace(0.0, len(points), count, endpoint=False)
    picked = (starts + rng.random(count) * (len(points) / count)).astype(np.int64)
    fresh = np.concatenate([[True], np.diff(picked) > 0])  # rounding may draw a row on the seam of two stretches twice
    chosen: NDArray[Value] = points[np.minimum(picked[fresh], len(points) - 1)]
    return chosen
