# SPDX-License-Identifier: GPL-3.0-or-later
"""Closed prisms, the pieces that a gauge is united from."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Index
from ..mesh.triangle_mesh import TriangleMesh, outward

Place = Callable[[Array], Array]
"""Takes (n, 3) local coordinates (two in the outline's plane, one along the prism) to (n, 3) wheel axes."""

_HEIGHT_STEP_MM = 0.05
_HEIGHTS = 5


def frame_place(origin: ArrayLike, first: ArrayLike, second: ArrayLike, third: ArrayLike) -> Place:
    """Place in a frame: origin and three axes, (3,) each, mm."""
    start, axes = np.asarray(origin, dtype=np.float64), np.array([first, second, third], dtype=np.float64)
    return lambda local: np.asarray(start + local @ axes)


def band_prism(lower: Array, upper: Array, low: float, high: float, place: Place) -> TriangleMesh:
    """Prism over the band between two polylines that run side by side.

    lower, upper : (n, 2) float, n >= 2, pairs of points; the band must not cross itself
    low, high : from where to where the prism reaches along the third axis, mm
    """
    count = len(lower)
    corners = [_level(lower, low), _level(upper, low), _level(upper, high), _level(lower, high)]
    return _rods(np.stack(corners, axis=1), count, closed=False, place=place)


def convex_prism(outline: Array, low: float, high: float, place: Place) -> TriangleMesh:
    """Prism over a convex outline (n, 2), n >= 3; points on its straight sides do no harm."""
    count = len(outline)
    middle = outline.mean(axis=0)[None]
    vertices = np.concatenate([_level(outline, low), _level(outline, high), _level(middle, low), _level(middle, high)])
    i = np.arange(count)
    j = (i + 1) % count
    bottom = np.column_stack([j, i, np.full(count, 2 * count)])
    top = np.column_stack([i + count, j + count, np.full(count, 2 * count + 1)])
    sides = [np.column_stack([i, j, j + count]), np.column_stack([i, j + count, i + count])]
    return outward(TriangleMesh(place(vertices), np.concatenate([bottom, top, *sides])))


def cylinder(center: ArrayLike, radius: float, low: float, high: float, place: Place, sides: int = 64) -> TriangleMesh:
    """Cylinder about (center, any) in the local plane; its polygon has the area of the circle, so that holes fit."""
    turn = 2.0 * np.pi / sides
    reach = radius * np.sqrt(turn / np.sin(turn))
    angle = np.arange(sides) * turn
    return convex_prism(np.asarray(center) + reach * np.column_stack([np.cos(angle), np.sin(angle)]), low, high, place)


def stroke_prisms(strokes: tuple[Array, ...], line: float, low: float, high: float, place: Place) -> tuple[TriangleMesh, ...]:
    """Raised bars along strokes, `line` wide, mitered at corners and with square ends half a line past the stroke's ends.

    strokes : polylines (n, 2); one that ends where it began is a ring. Bars may overlap each other, none overlaps itself;
    neighbors differ a little in height, since faces that cross in one plane leave slivers when they are united.
    """
    bars: list[TriangleMesh] = []
    for stroke in strokes:
        for piece, closed in _mitered_pieces(stroke, line):
            left, right = _edges(piece, line, closed)
            top = high + _HEIGHT_STEP_MM * (len(bars) % _HEIGHTS)
            corners = [_level(right, low), _level(left, low), _level(left, top), _level(right, top)]
            bars.append(_rods(np.stack(corners, axis=1), len(left), closed, place))
    return tuple(bars)


def _level(outline: Array, height: float) -> Array:
    return np.column_stack([outline, np.full(len(outline), height)])


def _rods(rings: Array, count: int, closed: bool, place: Place) -> TriangleMesh:
    """A tube of quads over rings (count, 4, 3), with caps, or round in a ring."""
    spans = count if closed else count - 1
    i = np.arange(spans)
    after = (i + 1) % count
    faces: list[Index] = []
    for k in range(4):
        m = (k + 1) % 4
        a, b, c, d = 4 * i + k, 4 * i + m, 4 * after + m, 4 * after + k
        faces += [np.column_stack([a, b, c]), np.column_stack([a, c, d])]
    if not closed:
        last = 4 * (count - 1)
        faces.append(np.array([[0, 2, 1], [0, 3, 2], [last, last + 1, last + 2], [last, last + 2, last + 3]]))
    return outward(TriangleMesh(place(rings.reshape(-1, 3)), np.concatenate(faces)))


def _mitered_pieces(stroke: Array, line: float) -> list[tuple[Array, bool]]:
    """The stroke, cut where a miter would be too long or would eat a whole segment. Each piece, and whether it is a ring."""
    closed = len(stroke) > 3 and bool(np.allclose(stroke[0], stroke[-1]))
    nodes = stroke[:-1] if closed else stroke
    bad = _sharp(nodes, line, closed)
    if closed and not bad.any():
        return [(nodes, True)]
    if closed:
        first = int(np.flatnonzero(bad)[0])
        nodes = np.concatenate([nodes[first:], nodes[: first + 1]])
        bad = np.concatenate([bad[first:], bad[: first + 1]])
    cuts = [0, *(int(k) for k in np.flatnonzero(bad[1:-1]) + 1), len(nodes) - 1]
    return [(_lengthened(nodes[a : b + 1], line), False) for a, b in pairwise(cuts)]


def _sharp(nodes: Array, line: float, closed: bool) -> Array:
    """True for nodes whose miter eats more than 45 % of an adjoining segment."""
    steps = np.roll(nodes, -1, axis=0) - nodes
    length = np.hypot(*steps.T)
    before = np.roll(steps, 1, axis=0)
    turn = np.abs(np.arctan2(before[:, 0] * steps[:, 1] - before[:, 1] * steps[:, 0], (before * steps).sum(axis=1)))
    eaten = 0.5 * line * np.tan(np.minimum(0.5 * turn, 1.5))
    bad = np.asarray(eaten > 0.45 * np.minimum(length, np.roll(length, 1)))
    if not closed:
        bad[[0, -1]] = True
    return bad


def _lengthened(piece: Array, line: float) -> Array:
    start, end = piece[0] - piece[1], piece[-1] - piece[-2]
    longer = piece.copy()
    longer[0] += 0.5 * line * start / np.hypot(*start)
    longer[-1] += 0.5 * line * end / np.hypot(*end)
    return longer


def _edges(nodes: Array, line: float, closed: bool) -> tuple[Array, Array]:
    """Left and right edge of a bar, (n, 2) each: at a corner the offset is along the bisector, 1 / cos of half the turn long."""
    steps = np.roll(nodes, -1, axis=0) - nodes
    if not closed:
        steps[-1] = steps[-2]
    normal = np.column_stack([-steps[:, 1], steps[:, 0]]) / np.hypot(*steps.T)[:, None]
    before = np.roll(normal, 1, axis=0)
    if not closed:
        before[0] = normal[0]
    both = normal + before
    miter = 0.5 * line * both * (2.0 / (both**2).sum(axis=1))[:, None]
    return nodes + miter, nodes - miter
