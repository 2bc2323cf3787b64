# SPDX-License-Identifier: GPL-3.0-or-later
"""The nearest triangle of a mesh to each of many points, by a tree of boxes that all points go down together."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Index, Mask, as_points
from ..base.row_vectors import dot_rows
from .triangle_mesh import TriangleMesh

_LEAF = 4
_BLOCK = 8192
_MOST_PAIRS = 60_000
"""Of points and boxes that are looked at together."""


class NearestTriangle:
    """Owns the boxes over the triangles of a mesh; the mesh may be open, of any shape, in any number of parts.

    Triangles are halved again and again where their middles reach farthest, down to a few: the leaves of a tree of boxes
    (Bentley, Communications of the ACM 18 (1975) 509). A search keeps, for all points at once, the boxes that may hold
    something nearer than what was found.
    """

    def __init__(self, mesh: TriangleMesh) -> None:
        """Raises ValueError if the mesh has no triangles."""
        if len(mesh.triangles) == 0:
            raise ValueError("mesh: has no triangles")
        corners = mesh.corners
        count = 1
        while count * _LEAF < len(corners):
            count *= 2
        self._order: Index = _split_order(corners.mean(axis=1), count)
        filled = self._order >= 0
        self._corners: Array = np.where(filled[:, None, None], corners[self._order], np.inf)
        self._levels = _box_levels(self._corners, filled)
        self._middles: Array = np.where(filled[:, None], self._corners.mean(axis=1), 0.0)
        around = np.square(self._corners - self._middles[:, None]).sum(axis=2).max(axis=1)
        self._radii: Array = np.where(filled, np.sqrt(around), -np.inf)

    def find(self, points: ArrayLike, most: Array | float = np.inf) -> tuple[Array, Index, Array]:
        """Distance (n,) mm, triangle (n,) int and nearest place (n, 3) float on it.

        points : (n, 3) float, mm; most : (n,) or one, mm, beyond which a point need not be looked at: its distance is then
        infinite, its triangle -1 and its place NaN, unless something nearer was met
        """
        points = as_points(points)
        limit = np.broadcast_to(np.asarray(most, dtype=np.float64), (len(points),))
        parts = [self._find(points[i : i + _BLOCK], limit[i : i + _BLOCK]) for i in range(0, len(points), _BLOCK)]
        if not parts:
            return np.zeros(0), np.zeros(0, np.int64), np.zeros((0, 3))
        distance, triangle, place = (np.concatenate(part) for part in zip(*parts, strict=True))
        return distance, triangle, place

    def _find(self, points: Array, most: Array) -> tuple[Array, Index, Array]:
        best = np.where(np.isfinite(most), np.square(most), np.inf)
        triangle: Index = np.full(len(points), -1)
        place = np.full((len(points), 3), np.nan)
        self._try_leaves(points, np.arange(len(points)), self._greedy_leaf(points), best, triangle, place)
        self._go_down(points, best, triangle, place)
        found = triangle >= 0
        distance = np.where(found, np.sqrt(best), np.inf)
        return distance, np.where(found, self._order[triangle], -1), place

    def _go_down(self, points: Array, best: Array, triangle: Index, place: Array) -> None:
        """Follow all boxes that may hold something nearer, the nearer ones first where there are many."""
        stack = [(0, np.arange(len(points)), np.zeros(len(points), np.int64))]
        while stack:
            level, who, node = stack.pop()
            if level == len(self._levels) - 1:
                self._try_leaves(points, who, node, best, triangle, place)
                continue
            low, high = self._levels[level + 1]
            who, node = np.repeat(who, 2), np.repeat(2 * node, 2)
            node[1::2] += 1
            squared = _box_distance(points[who], low[node], high[node])
            kept = np.flatnonzero(squared < best[who])
            if len(kept) > _MOST_PAIRS:
                kept = kept[np.argsort(squared[kept])]
                half = len(kept) // 2
                stack.append((level + 1, who[kept[half:]], node[kept[half:]]))
                kept = kept[:half]
            if len(kept):
                stack.append((level + 1, who[kept], node[kept]))

    def _greedy_leaf(self, points: Array) -> Index:
        node: Index = np.zeros(len(points), np.int64)
        for low, high in self._levels[1:]:
            left, right = 2 * node, 2 * node + 1
            nearer = _box_distance(points, low[right], high[right]) < _box_distance(points, low[left], high[left])
            node = np.where(nearer, right, left)
        return node

    def _try_leaves(self, points: Array, who: Index, leaf: Index, best: Array, triangle: Index, place: Array) -> None:
        """Take over what of the triangles of leaves is nearer; best holds squares."""
        number = (leaf[:, None] * _LEAF + np.arange(_LEAF)).ravel()
        whose = np.repeat(who, _LEAF)
        there = self._order[number] >= 0
        number, whose = number[there], whose[there]
        away = np.linalg.norm(points[whose] - self._middles[number], axis=1) - self._radii[number]
        may = (away <= 0.0) | (np.square(away) < best[whose])
        number, whose = number[may], whose[may]
        if not len(number):
            return
        nearest = nearest_on_triangles(points[whose], self._corners[number])
        squared = np.square(points[whose] - nearest).sum(axis=1)
        order = np.lexsort((squared, whose))
        first = np.ones(len(order), bool)
        first[1:] = whose[order[1:]] != whose[order[:-1]]
        chosen = order[first]
        nearer = chosen[squared[chosen] < best[whose[chosen]]]
        best[whose[nearer]], triangle[whose[nearer]], place[whose[nearer]] = squared[nearer], number[nearer], nearest[nearer]


def nearest_on_triangles(points: Array, corners: Array) -> Array:
    """Nearest places (n, 3) on triangles (n, 3, 3), one for each of the points (n, 3).

    By the seven regions of the plane about a triangle: Ericson, Real-Time Collision Detection, 5.1.5.
    """
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, ac = b - a, c - a
    d1, d2 = _dot(ab, points - a), _dot(ac, points - a)
    d3, d4 = _dot(ab, points - b), _dot(ac, points - b)
    d5, d6 = _dot(ab, points - c), _dot(ac, points - c)
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    total = va + vb + vc
    safe = np.where(total > 0.0, total, 1.0)
    v, w = vb / safe, vc / safe
    on_ab = (vc <= 0.0) & (d1 >= 0.0) & (d3 <= 0.0)
    v, w = np.where(on_ab, _share(d1, d1 - d3), v), np.where(on_ab, 0.0, w)
    on_ac = (vb <= 0.0) & (d2 >= 0.0) & (d6 <= 0.0)
    v, w = np.where(on_ac, 0.0, v), np.where(on_ac, _share(d2, d2 - d6), w)
    on_bc = (va <= 0.0) & (d4 - d3 >= 0.0) & (d5 - d6 >= 0.0)
    along = _share(d4 - d3, (d4 - d3) + (d5 - d6))
    v, w = np.where(on_bc, 1.0 - along, v), np.where(on_bc, along, w)
    for at, first, second in (
        ((d1 <= 0.0) & (d2 <= 0.0), 0.0, 0.0),
        ((d3 >= 0.0) & (d4 <= d3), 1.0, 0.0),
        ((d6 >= 0.0) & (d5 <= d6), 0.0, 1.0),
    ):
        v, w = np.where(at, first, v), np.where(at, second, w)
    return np.asarray(a + v[:, None] * ab + w[:, None] * ac)


def _share(part: Array, whole: Array) -> Array:
    return np.asarray(np.clip(part / np.where(whole != 0.0, whole, 1.0), 0.0, 1.0))


def _dot(a: Array, b: Array) -> Array:
    return np.asarray(dot_rows(a, b))


def _box_distance(points: Array, low: Array, high: Array) -> Array:
    """Squares of the distances of points from boxes, one each."""
    outside = np.maximum(np.maximum(low - points, points - high), 0.0)
    return np.asarray(dot_rows(outside, outside))


def _box_levels(corners: Array, filled: Mask) -> list[tuple[Array, Array]]:
    """Boxes (2^k, 3) low and high of each level, the whole first; a box without triangles is infinitely far."""
    low, high = corners.min(axis=1), np.where(filled[:, None], corners.max(axis=1), -np.inf)
    low, high = low.reshape(-1, _LEAF, 3).min(axis=1), high.reshape(-1, _LEAF, 3).max(axis=1)
    levels = [(low, high)]
    while len(low) > 1:
        low, high = low.reshape(-1, 2, 3).min(axis=1), high.reshape(-1, 2, 3).max(axis=1)
        levels.append((low, high))
    return levels[::-1]


def _split_order(middles: Array, leaves: int) -> Index:
    """Triangles (leaves * _LEAF,) int so that halves, quarters and so on lie on either side of a plane; -1 fills up the end."""
    order: Index = np.full((1, leaves * _LEAF), -1)
    order[0, : len(middles)] = np.arange(len(middles))
    places = np.vstack([middles, np.full((1, 3), np.inf)])
    while order.shape[1] > _LEAF:
        at = places[order]
        known = np.where(np.isfinite(at), at, np.nan)
        with np.errstate(all="ignore"):
            width = np.nan_to_num(np.fmax.reduce(known, axis=1) - np.fmin.reduce(known, axis=1))
        axis = width.argmax(axis=1)
        along = np.take_along_axis(at, axis[:, None, None], axis=2)[..., 0]
        half = order.shape[1] // 2
        order = np.take_along_axis(order, np.argpartition(along, half - 1, axis=1), axis=1).reshape(-1, half)
    return order.ravel()
