# SPDX-License-Identifier: GPL-3.0-or-later
"""The edge of a surface without short steps."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index
from .open_surface import Boundary, Surface
from .refine import order_length

MOST_TURN = np.radians(25.0)
"""Where the edge turns more, its point stays."""

LEAST_QUALITY = 0.4
"""Triangles may not lose more than this share of their least height over longest side, unless they stay above WELL_SHAPED."""

WELL_SHAPED = 0.15
MOST_PASSES = 8


def simplify_boundary(surface: Surface, shortest: float) -> Surface:
    """The surface with steps of its edge that are shorter than `shortest`, mm, drawn together where its triangles allow it.

    Points are taken out, none is moved. A rim follows the directions of the steps, and those of short ones are mostly rounding.
    Points of the mirror plane stay, so that a surface that is its own mirror image stays one.
    """
    for _ in range(MOST_PASSES):
        target = _merges(surface, shortest)
        if target is None:
            break
        triangles = target[surface.triangles]
        triangles = triangles[(triangles != np.roll(triangles, 1, axis=1)).all(axis=1)]
        used = np.bincount(triangles.ravel(), minlength=len(surface.points)) > 0
        paint = None if surface.paint is None else surface.paint[used]
        surface = Surface(surface.points[used], surface.normals[used], (np.cumsum(used) - 1)[triangles], paint)
    return surface


def _merges(surface: Surface, shortest: float) -> Index | None:
    """The point that each point becomes, or None if none changes; no two changes touch the same triangle."""
    boundary = surface.boundary
    here, there = boundary.vertex, boundary.vertex[boundary.after]
    length = order_length(surface.points[here], surface.points[there])
    order = np.argsort(length, kind="stable")
    short = order[length[order] < shortest]
    one, other = here[short], there[short]
    fans = _Fans(surface, np.concatenate([one, other]))
    turn = np.zeros(len(surface.points))
    turn[here] = _turn_of(surface, boundary)
    scores = np.stack([_scores(surface, fans, turn, one, other), _scores(surface, fans, turn, other, one)], axis=1)
    target = np.arange(len(surface.points))
    taken: set[int] = set()
    for row in np.flatnonzero(scores.max(axis=1, initial=-1.0) > 0.0).tolist():
        ends = int(one[row]), int(other[row])
        region = fans.points(ends[0]) | fans.points(ends[1])
        first, second = scores[row].tolist()
        gone, kept = ends if first > second or (first == second and ends[0] > ends[1]) else ends[::-1]
        # the two may share no neighbor but the third corner of the triangle on the edge
        if not region & taken and len(fans.points(gone) & fans.points(kept)) == 3:
            target[gone] = kept
            taken |= region
    return target if taken else None


def _scores(surface: Surface, fans: _Fans, turn: Array, gone: Index, kept: Index) -> Array:
    """(k,) the least shape (see _shapes) of what is left where points become others, -1 where they may not."""
    row, triangle = fans.of(gone)
    corners = surface.triangles[triangle]
    left = (corners != kept[row][:, None]).all(axis=1)
    before = _least(_shapes(surface.points[corners], surface.normals[gone][row]), row, len(gone))
    row, corners = row[left], corners[left]
    moved = np.where(corners == gone[row][:, None], kept[row][:, None], corners)
    after = _least(_shapes(surface.points[moved], surface.normals[corners].sum(axis=1)), row, len(gone))
    x, other_x = surface.points[gone, 0], surface.points[kept, 0]
    stays = (x == 0.0) | (x * other_x < 0.0) | (np.abs(turn[gone]) > MOST_TURN)
    good = ~stays & np.isfinite(after) & (after > np.minimum(WELL_SHAPED, LEAST_QUALITY * before))
    return np.where(good, after, -1.0)


def _least(values: Array, row: Index, count: int) -> Array:
    """(count,) the least of the values of each row, infinite for one that has none."""
    least = np.full(count, np.inf)
    np.minimum.at(least, row, values)
    return least


class _Fans:
    """The triangles about some points of a surface. points : (k,) int, in any order, more than once too"""

    def __init__(self, surface: Surface, points: Index) -> None:
        wanted = np.zeros(len(surface.points), bool)
        wanted[points] = True
        self._triangles = surface.triangles
        near = np.flatnonzero(wanted[surface.triangles].any(axis=1))
        corner = surface.triangles[near].ravel()
        order = np.argsort(corner, kind="stable")
        self._triangle = near[order // 3]
        self._start = np.searchsorted(corner[order], np.arange(len(surface.points) + 1))
        self._points: dict[int, set[int]] = {}

    def of(self, points: Index) -> tuple[Index, Index]:
        """Row of each point and triangle, for all triangles about the points (k,)."""
        count = self._start[points + 1] - self._start[points]
        row = np.repeat(np.arange(len(points)), count)
        within = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
        return row, self._triangle[self._start[points][row] + within]

    def points(self, point: int) -> set[int]:
        """The corners of the triangles about a point."""
        if point not in self._points:
            around = self._triangle[self._start[point] : self._start[point + 1]]
            self._points[point] = set(self._triangles[around].ravel().tolist())
        return self._points[point]


def _shapes(corners: Array, normals: Array) -> Array:
    """Height over longest side of triangles (m, 3, 3), about 0.87 at best; negative for one that is turned over."""
    a, b, c = np.moveaxis(corners, 1, 0)
    area = np.cross(b - a, c - a)
    longest2 = np.max([np.square(side).sum(axis=1) for side in (b - a, c - b, a - c)], axis=0)
    size = np.linalg.norm(area, axis=1) / longest2
    return np.where((area * normals).sum(axis=1) > 0.0, size, -size)


def _turn_of(surface: Surface, boundary: Boundary) -> Array:
    """(b,) turn of the edge at each point of the boundary, radians."""
    points = surface.points[boundary.vertex]
    ahead, behind = points[boundary.after] - points, points - points[boundary.before]
    return np.asarray(np.arctan2(np.linalg.norm(np.cross(behind, ahead), axis=1), (ahead * behind).sum(axis=1)))
