# SPDX-License-Identifier: GPL-3.0-or-later
"""Both faces of the fender's wall, cut with a plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..mesh.section import plane_cut
from ..wall.skin_wall import Shares


@dataclass(frozen=True, eq=False)
class WallCut:
    """outer, inner : polylines (n, 3) float each, mm, in which the plane cuts the two faces

    Those of one piece of wall stand at one place in both, and run the same way.
    """

    outer: tuple[Array, ...]
    inner: tuple[Array, ...]


def wall_cut(points: Array, quads: Index, on_plane: Mask, shares: Shares, origin: Array, normal: Array) -> WallCut:
    """Cut of the wall about a skin: only the quads near the plane are looked at, so that it can be done at every mouse step.

    points : (p, 3) float, mm; quads : (q, 4) int, counterclockwise from outside; on_plane : (p,) bool, points on the mirror plane
    shares : (outer, inner) mm of wall on each side, see skin_wall.py; origin, normal : (3,) float of the plane, normal unit
    The faces are the skin moved along its facets' mean normals, as the true ones are within the facets' turn.
    """
    near = _near_quads(points, quads, max(float(np.max(share)) for share in shares), origin, normal)
    if len(near) == 0:
        return WallCut((), ())
    ring = _with_neighbors(quads, near, len(points))
    used, local = np.unique(ring, return_inverse=True)
    place, faces = points[used], local.reshape(-1, 4)
    out = _normals(place, faces, on_plane[used])
    wall_out, wall_in = (np.broadcast_to(share, len(points))[used, None] for share in shares)
    outer, inner = (plane_cut(place + shift * out, faces, origin, normal) for shift in (wall_out, -wall_in))
    return WallCut(outer, _paired(outer, inner))


def _paired(outer: tuple[Array, ...], inner: tuple[Array, ...]) -> tuple[Array, ...]:
    """The inner lines in the order of the outer ones that they lie behind; what is left over comes last."""
    left, found = list(inner), []
    for line in outer[: len(inner)]:
        both = [(way, i) for i, other in enumerate(left) for way in (other, other[::-1])]
        way, i = min(both, key=lambda pair: float(np.linalg.norm(pair[0][[0, -1]] - line[[0, -1]])))
        found.append(way)
        left.pop(i)
    return (*found, *left)


def _near_quads(points: Array, quads: Index, margin: float, origin: Array, normal: Array) -> Index:
    """Quads that cross the slab of a margin about the plane. A face of the wall that crosses the plane is of one of these."""
    height = (points - origin) @ normal
    below, above = height <= margin, height >= -margin
    return np.flatnonzero(_any_corner(below, quads) & _any_corner(above, quads))


def _with_neighbors(quads: Index, near: Index, count: int) -> Index:
    """These quads and all that share a point with them, so that their points have all their facets."""
    touched = np.zeros(count, bool)
    touched[quads[near]] = True
    return np.asarray(quads[_any_corner(touched, quads)])


def _any_corner(marked: Mask, quads: Index) -> Mask:
    """Quads with a marked point; column by column, as numpy is slow along short rows."""
    a, b, c, d = (marked[quads[:, corner]] for corner in range(4))
    return np.asarray(a | b | c | d)


def _normals(points: Array, quads: Index, on_plane: Mask) -> Array:
    """Unit normals (p, 3): sums of the facets' area vectors; level with the mirror plane on it."""
    a, b, c, d = (points[quads[:, corner]] for corner in range(4))
    facet = np.cross(c - a, d - b)
    total = np.stack([np.bincount(quads.ravel(), np.repeat(facet[:, i], 4), len(points)) for i in range(3)], axis=1)
    total[on_plane, 0] = 0.0
    length = np.linalg.norm(total, axis=1, keepdims=True)
    return np.asarray(total / np.where(length > 0.0, length, 1.0))
