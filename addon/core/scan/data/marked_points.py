# SPDX-License-Identifier: GPL-3.0-or-later
"""The points of a scan that lie in a region that the builder marked, by balls or one by one."""

from __future__ import annotations

import numpy as np

from ...base.arrays import Array, Index, Mask
from ...base.errors import JobError
from .hints import Hints, near_balls
from .scan_data import Scan, is_dense, points_on_triangles, random_rows

REGION_POINTS = 120_000
LEAST_MARKED = {"tire": 200, "mount": 1, "holes": 1, "chassis": 1}
"""Points that a region must hold. A mount of large faces holds few, and is sampled anew when it is measured."""
LEAST_FACE = 30
LINK_MM = 3.0
"""Marked points of one hole's rim lie closer than this, or nearly: cells of this size that touch are one hole."""
WIDER = 1.5
"""A hole's ball over the ball of its marked points, so that some of the face about it is taken in."""


def marked_points(scan: Scan, surface: Array, hints: Hints, region: str, rng: np.random.Generator) -> Array:
    """Points (m, 3) of the region, scan coordinates.

    surface : (n, 3) float, points all over the scan's surface, in which the balls look
    Raises JobError if there are too few.
    """
    found = np.zeros((0, 3))
    if region in hints.balls:
        found = surface[hints.inside(region, surface)]
    if region in hints.masks:
        mask = hints.masks[region]
        triangles = _marked_triangles(scan.triangles, mask)
        sampled = len(triangles) > 0 and not is_dense(scan)
        own = points_on_triangles(scan.points, triangles, REGION_POINTS, rng)[0] if sampled else scan.points[mask]
        found = np.concatenate([found, own])
    if len(found) < LEAST_MARKED[region]:
        raise JobError(f"hints.{region}", _too_few(hints, region, len(found), LEAST_MARKED[region]))
    return found


def mount_points(scan: Scan, hints: Hints, rng: np.random.Generator) -> Array:
    """At most REGION_POINTS points (m, 3) of the marked mount and the holes in it, scan coordinates, evenly spread over faces.

    hints : those of `with_hole_balls`
    Raises JobError if there are too few.
    """
    regions = [region for region in ("mount", "holes") if region in hints.regions]
    balls = [hints.balls[region] for region in regions if region in hints.balls]
    pieces = [_in_balls(scan, np.concatenate(balls), rng)] if balls else []
    if "mount" in hints.masks:
        triangles = _marked_triangles(scan.triangles, hints.masks["mount"])
        marked = (
            points_on_triangles(scan.points, triangles, REGION_POINTS, rng)[0]
            if len(triangles)
            else scan.points[hints.masks["mount"]]
        )
        pieces.append(marked)
    points = random_rows(np.concatenate(pieces), REGION_POINTS, rng)
    if len(points) < LEAST_FACE:
        raise JobError(f"hints.{regions[0]}", _too_few(hints, regions[0], len(points), LEAST_FACE))
    return points


def with_hole_balls(scan: Scan, hints: Hints, unit_mm: float) -> Hints:
    """The same hints with a ball about each group of points that is marked as a hole, instead of the mask."""
    if "holes" not in hints.masks:
        return hints
    points = scan.points[hints.masks["holes"]]
    balls = [_ball(group) for group in _groups(points, LINK_MM / unit_mm)]
    if not balls:
        raise JobError("hints.holes", _too_few(hints, "holes", 0, LEAST_MARKED["holes"]))
    stated = [hints.balls["holes"]] if "holes" in hints.balls else []
    masks = {region: mask for region, mask in hints.masks.items() if region != "holes"}
    return Hints({**hints.balls, "holes": np.concatenate([*stated, np.array(balls)])}, hints.directions, hints.position, masks)


def _too_few(hints: Hints, region: str, count: int, least: int) -> str:
    what = "its balls hold" if region in hints.balls else "the mark holds"
    return f"{what} {count} points of the scan, at least {least} are needed"


def _marked_triangles(triangles: Index, mask: Mask) -> Index:
    return np.asarray(triangles[mask[triangles].all(axis=1)])


def _in_balls(scan: Scan, balls: Array, rng: np.random.Generator) -> Array:
    points = scan.points
    if len(scan.triangles):
        corners = scan.points[scan.triangles]
        reach, middle = np.linalg.norm(np.ptp(corners, axis=1), axis=1), corners.mean(axis=1)
        wide = np.zeros(len(middle), bool)
        for ball in balls:
            wide |= np.linalg.norm(middle - ball[:3], axis=1) <= ball[3] + reach
        near = scan.triangles[wide]
        points = points_on_triangles(scan.points, near, 4 * REGION_POINTS, rng)[0] if len(near) else np.zeros((0, 3))
    return np.asarray(points[near_balls(points, balls)])


def _ball(group: Array) -> Array:
    center = 0.5 * (group.min(axis=0) + group.max(axis=0))
    return np.append(center, WIDER * float(np.linalg.norm(group - center, axis=1).max()) + 1e-9)


def _groups(points: Array, cell: float) -> list[Array]:
    """Points parted into groups whose cells of a cubic grid touch."""
    cells = np.floor(points / cell).astype(np.int64)
    places: dict[tuple[int, ...], list[int]] = {}
    for number, key in enumerate(map(tuple, cells.tolist())):
        places.setdefault(key, []).append(number)
    steps = np.stack(np.meshgrid(*[[-1, 0, 1]] * 3, indexing="ij"), axis=-1).reshape(-1, 3).tolist()
    groups = []
    while places:
        key, rows = places.popitem()
        open_cells, group = [key], list(rows)
        while open_cells:
            x, y, z = open_cells.pop()
            for i, j, k in steps:
                neighbor = (x + i, y + j, z + k)
                if neighbor in places:
                    group.extend(places.pop(neighbor))
                    open_cells.append(neighbor)
        groups.append(points[np.sort(np.array(group, dtype=np.int64))])
    return sorted(groups, key=lambda group: tuple(group[0].tolist()))
