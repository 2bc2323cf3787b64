# SPDX-License-Identifier: GPL-3.0-or-later
"""Finer triangles where a surface bends, none where it does not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..base.arrays import Array, Index, Mask
from .curved_edge import curved_edge
from .open_surface import Surface, directed_edges, joined_paint

MOST_PASSES = 10

_TIE = 1e-10
"""How much an edge's place counts beside its length: enough to decide between equal ones only."""


def refined(surface: Surface, chord: float, thickness: float, face: Callable[[Surface], tuple[Array, Array]]) -> Surface:
    """The surface with its edges halved until the facets of both faces of its wall are within chord of the true faces.

    chord, thickness : mm; face : points and normals of one face of the wall at the points of a surface
    New points lie on the cubic through the ends of an edge with the tangents that the normals allow, as in PN triangles
    (Vlachos et al. 2001), of fourth order in the edge length. The distance of a chord from its arc is length x turn / 8.
    """
    for _ in range(MOST_PASSES):
        pairs, edge_of = unique_edges(surface.triangles, len(surface.points))
        points, normals = face(surface)
        turn = np.linalg.norm(normals[pairs[:, 1]] - normals[pairs[:, 0]], axis=1)
        length = np.linalg.norm(points[pairs[:, 1]] - points[pairs[:, 0]], axis=1) + thickness * turn
        halve = length * turn > 8.0 * chord
        if not halve.any():
            return surface
        surface = halved(surface, pairs, edge_of, halve)
    return surface


def unique_edges(triangles: Index, count: int) -> tuple[Index, Index]:
    """Edges (e, 2) int, lower index first, and the edge (m, 3) int of each side of each triangle."""
    start, end = directed_edges(triangles)
    keys, edge_of = np.unique(np.minimum(start, end) * count + np.maximum(start, end), return_inverse=True)
    return np.stack([keys // count, keys % count], axis=1), edge_of.reshape(-1, 3)


def order_length(start: Array, end: Array) -> Array:
    """Lengths (n,), mm, to put edges from start to end, (n, 3) each, in order.

    Those of equal edges differ by their place, alike for both directions and on both sides of the mirror plane.
    """
    x, y, z = np.moveaxis(start + end, 1, 0)
    return np.asarray(np.linalg.norm(end - start, axis=1) + _TIE * (np.abs(x) + 0.618 * y + 0.414 * z))


def halved(surface: Surface, pairs: Index, edge_of: Index, halve: Mask) -> Surface:
    """The surface with some of its edges halved, and the longest edges of the triangles that these are in.

    pairs, edge_of : see unique_edges; halve : (e,) bool. New points come after those of the surface, on the true surface.
    A surface that is its own mirror image about x = 0 stays one.
    """
    first = np.argmax(order_length(surface.points[pairs[:, 0]], surface.points[pairs[:, 1]])[edge_of], axis=1)
    columns = (first[:, None] + np.arange(3)) % 3
    triangles, edge_of = np.take_along_axis(surface.triangles, columns, axis=1), np.take_along_axis(edge_of, columns, axis=1)
    halve = _with_longest(halve, edge_of, edge_of[:, 0])
    middle_of = np.full(len(pairs), -1)
    middle_of[halve] = len(surface.points) + np.arange(int(halve.sum()))
    ends = pairs[halve]
    (p, q), (m, n) = np.moveaxis(surface.points[ends], 1, 0), np.moveaxis(surface.normals[ends], 1, 0)
    points, normals = curved_edge(p, q, m, n, np.full(len(ends), 0.5))
    return Surface(
        np.concatenate([surface.points, points]),
        np.concatenate([surface.normals, normals]),
        _cut(triangles, middle_of[edge_of]),
        joined_paint(surface.paint, surface.paint_between(ends, 0.5)),
    )


def _with_longest(halve: Mask, edge_of: Index, longest: Index) -> Mask:
    """The edges to halve, with the longest side of each triangle that has one of them, until nothing is added."""
    halve = halve.copy()
    while True:
        unhalved = halve[edge_of].any(axis=1) & ~halve[longest]
        if not unhalved.any():
            return halve
        halve[longest[unhalved]] = True


def _cut(triangles: Index, middle: Index) -> Index:
    """Triangles cut at the middles of their sides, (m, 3) int, -1 where a side stays whole; the longest side comes first.

    The longest side is halved first, then what is left of the others, so that no angle becomes less than half of what it was
    (Rivara, Algorithms for refining triangular grids suitable for adaptive and multigrid techniques, 1984).
    """
    a, b, c = triangles.T
    ab, bc, ca = middle.T
    one, two = ab >= 0, bc >= 0
    three = ca >= 0
    pieces = [triangles[~one]]
    for rows, corners in (
        (one & ~three, (a, ab, c)),
        (one & three, (a, ab, ca)),
        (one & three, (ab, c, ca)),
        (one & ~two, (ab, b, c)),
        (one & two, (ab, b, bc)),
        (one & two, (ab, bc, c)),
    ):
        pieces.append(np.stack(corners, axis=1)[rows])
    return np.concatenate(pieces)
