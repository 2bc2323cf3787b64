# SPDX-License-Identifier: GPL-3.0-or-later
"""Finer triangles where a sheet bends, none where it does not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..arrays import Array, Index, Mask
from .sheet import Sheet, directed_edges

MOST_PASSES = 5


def refined(sheet: Sheet, chord: float, thickness: float, face: Callable[[Sheet], tuple[Array, Array]]) -> Sheet:
    """The sheet with its edges halved until the facets of both faces of its wall are within chord of the true faces.

    chord, thickness : mm; face : points and normals of one face of the wall at the points of a sheet
    New points lie on the cubic through the ends of an edge with the tangents that the normals allow, as in PN triangles
    (Vlachos et al. 2001), of fourth order in the edge length. The distance of a chord from its arc is length x turn / 8.
    """
    for _ in range(MOST_PASSES):
        pairs, edge_of = unique_edges(sheet.triangles, len(sheet.points))
        points, normals = face(sheet)
        turn = np.linalg.norm(normals[pairs[:, 1]] - normals[pairs[:, 0]], axis=1)
        length = np.linalg.norm(points[pairs[:, 1]] - points[pairs[:, 0]], axis=1) + thickness * turn
        halve = length * turn > 8.0 * chord
        if not halve.any():
            return sheet
        sheet = _halved(sheet, pairs, edge_of, halve)
    return sheet


def unique_edges(triangles: Index, count: int) -> tuple[Index, Index]:
    """Edges (e, 2) int, lower index first, and the edge (m, 3) int of each side of each triangle."""
    start, end = directed_edges(triangles)
    keys, edge_of = np.unique(np.minimum(start, end) * count + np.maximum(start, end), return_inverse=True)
    return np.stack([keys // count, keys % count], axis=1), edge_of.reshape(-1, 3)


def _halved(sheet: Sheet, pairs: Index, edge_of: Index, halve: Mask) -> Sheet:
    middle_of = np.full(len(pairs), -1)
    middle_of[halve] = len(sheet.points) + np.arange(int(halve.sum()))
    points, normals = _middles(sheet, pairs[halve])
    return Sheet(
        np.concatenate([sheet.points, points]),
        np.concatenate([sheet.normals, normals]),
        _cut(sheet.triangles, middle_of[edge_of], np.concatenate([sheet.points, points])),
    )


def _middles(sheet: Sheet, pairs: Index) -> tuple[Array, Array]:
    p, q = np.moveaxis(sheet.points[pairs], 1, 0)
    m, n = np.moveaxis(sheet.normals[pairs], 1, 0)
    edge = q - p
    rise = np.einsum("ij,ij->i", edge, m)[:, None] * m - np.einsum("ij,ij->i", edge, n)[:, None] * n
    points = 0.5 * (p + q) - rise / 8.0
    sum_ = m + n
    bend = 2.0 * np.einsum("ij,ij->i", edge, sum_) / np.einsum("ij,ij->i", edge, edge)
    between = sum_ - bend[:, None] * edge
    between /= np.linalg.norm(between, axis=1, keepdims=True)
    normals = 0.25 * sum_ + 0.5 * between
    return points, normals / np.linalg.norm(normals, axis=1, keepdims=True)


def _cut(triangles: Index, middle: Index, points: Array) -> Index:
    """Triangles cut at the middles of their sides, (m, 3) int, -1 where a side stays whole."""
    count = (middle >= 0).sum(axis=1)
    pieces = [triangles[count == 0], *_cut_one(triangles, middle, count == 1)]
    pieces += [*_cut_two(triangles, middle, count == 2, points), *_cut_three(triangles[count == 3], middle[count == 3])]
    return np.concatenate(pieces)


def _turned(triangles: Index, middle: Index, first: Index) -> tuple[Index, Index]:
    """Rows turned so that side `first` comes first."""
    columns = (first[:, None] + np.arange(3)) % 3
    return np.take_along_axis(triangles, columns, axis=1), np.take_along_axis(middle, columns, axis=1)


def _cut_one(triangles: Index, middle: Index, rows: Mask) -> list[Index]:
    t, m = _turned(triangles[rows], middle[rows], np.argmax(middle[rows] >= 0, axis=1))
    return [np.stack([t[:, 0], m[:, 0], t[:, 2]], axis=1), np.stack([m[:, 0], t[:, 1], t[:, 2]], axis=1)]


def _cut_two(triangles: Index, middle: Index, rows: Mask, points: Array) -> list[Index]:
    # turned so that the whole side comes last: the corner between the cut sides is cut off, the rest is a quad
    whole = np.argmin(middle[rows] >= 0, axis=1)
    t, m = _turned(triangles[rows], middle[rows], (whole + 1) % 3)
    tip = np.stack([m[:, 0], t[:, 1], m[:, 1]], axis=1)
    first = np.linalg.norm(points[t[:, 0]] - points[m[:, 1]], axis=1)
    second = np.linalg.norm(points[m[:, 0]] - points[t[:, 2]], axis=1)
    shorter = (first <= second)[:, None]
    one = np.where(shorter, np.stack([t[:, 0], m[:, 0], m[:, 1]], axis=1), np.stack([t[:, 0], m[:, 0], t[:, 2]], axis=1))
    two = np.where(shorter, np.stack([t[:, 0], m[:, 1], t[:, 2]], axis=1), np.stack([m[:, 0], m[:, 1], t[:, 2]], axis=1))
    return [tip, one, two]


def _cut_three(t: Index, m: Index) -> list[Index]:
    corners = [np.stack([t[:, i], m[:, i], m[:, i - 1]], axis=1) for i in range(3)]
    return [*corners, m]
