# SPDX-License-Identifier: GPL-3.0-or-later
"""An open surface of triangles with true normals: the skin as the solid takes it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..base.arrays import Array, Index, as_points, frozen
from ..base.errors import ShapeError
from ..base.format_place import format_place


@dataclass(frozen=True, eq=False)
class Boundary:
    """The boundary edges of a surface as rings: vertex[i] is followed by vertex[after[i]], the surface is to the left.

    vertex, before, after : (b,) int
    """

    vertex: Index
    before: Index
    after: Index

    @cached_property
    def rings(self) -> tuple[Index, ...]:
        """Each ring as rows of vertex, in order."""
        left = np.ones(len(self.vertex), bool)
        rings = []
        for first in range(len(left)):
            if left[first]:
                ring = [first]
                while (follower := int(self.after[ring[-1]])) != first:
                    ring.append(follower)
                left[ring] = False
                rings.append(np.array(ring))
        return tuple(rings)


@dataclass(frozen=True, eq=False)
class Surface:
    """Points of a surface, its unit normals there, and triangles counterclockwise about the normals.

    points, normals : (n, 3) float, mm; triangles : (m, 3) int
    paint : (n,) float, 0 to 1, how much of the painted wall each point is to have; 0 everywhere if left out
    """

    points: Array
    normals: Array
    triangles: Index
    paint: Array | None = None

    def __post_init__(self) -> None:
        for name in ("points", "normals"):
            object.__setattr__(self, name, frozen(as_points(getattr(self, name), name)))
        object.__setattr__(self, "triangles", frozen(self.triangles, np.int64))
        if self.paint is not None:
            object.__setattr__(self, "paint", frozen(self.paint))

    @property
    def painted(self) -> Array:
        """(n,) float, the paint, 0 where there is none."""
        return np.zeros(len(self.points)) if self.paint is None else self.paint

    def paint_between(self, pairs: Index, share: Array | float) -> Array | None:
        """Paint (k,) of points on edges, pairs (k, 2) int, at a share of the way; None if there is none."""
        if self.paint is None:
            return None
        start, end = self.paint[pairs].T
        return np.asarray(start + share * (end - start))

    @cached_property
    def boundary(self) -> Boundary:
        """The rings of edges that lie in one triangle only.

        Raises ShapeError if an edge lies in more than two triangles or if two rings touch in a point: such a surface has no wall.
        """
        return _boundary(self)


def surface_of_quads(points: Array, normals: Array, quads: Index, paint: Array | None = None) -> Surface:
    """A surface from quads, each cut along its shorter diagonal. quads : (q, 4) int, counterclockwise about the normals."""
    a, b, c, d = np.moveaxis(points[quads], 1, 0)
    first = np.linalg.norm(c - a, axis=1) <= np.linalg.norm(d - b, axis=1)
    one = np.where(first[:, None], quads[:, [0, 1, 2]], quads[:, [0, 1, 3]])
    two = np.where(first[:, None], quads[:, [0, 2, 3]], quads[:, [1, 2, 3]])
    return Surface(points, normals, np.stack([one, two], axis=1).reshape(-1, 3), paint)


def joined_paint(*parts: Array | None) -> Array | None:
    """Paint of points after one another; None if none of them is painted."""
    known = [part for part in parts if part is not None]
    return np.concatenate(known) if len(known) == len(parts) else None


def directed_edges(triangles: Index) -> tuple[Index, Index]:
    """Start and end of the three edges of each triangle, (3 m,) int each: edge j of triangle i is at 3 i + j."""
    return triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()


def _boundary(surface: Surface) -> Boundary:
    start, end = directed_edges(surface.triangles)
    count = len(surface.points)
    # the two directions of an edge come next to each other
    keys = np.sort(2 * (np.minimum(start, end) * count + np.maximum(start, end)) + (start > end))
    doubled = np.flatnonzero(keys[1:] == keys[:-1])
    if len(doubled):
        place = surface.points[keys[doubled[0]] // 2 // count]
        raise ShapeError(f"the skin is not one surface {format_place(place)}: an edge has more than two faces there", place)
    paired = keys[1:] // 2 == keys[:-1] // 2
    single = np.ones(len(keys), bool)
    single[1:][paired] = single[:-1][paired] = False
    low, high, back = keys[single] // 2 // count, keys[single] // 2 % count, keys[single] % 2 == 1
    vertex, target = np.where(back, high, low), np.where(back, low, high)
    order = np.argsort(vertex, kind="stable")
    vertex, target = vertex[order], target[order]
    pinched = np.flatnonzero(vertex[1:] == vertex[:-1])
    if len(pinched):
        place = surface.points[vertex[pinched[0]]]
        raise ShapeError(f"two edges of the skin touch in one point {format_place(place)}; part them or join them", place)
    after = np.searchsorted(vertex, target)
    before = np.empty_like(after)
    before[after] = np.arange(len(after))
    return Boundary(vertex, before, after)
