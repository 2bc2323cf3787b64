# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat faces of a closed mesh without long thin triangles."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.tolerances import TOLERANCES
from .triangle_mesh import TriangleMesh

MOST_PASSES = 60

Corners = tuple[Array, Array, Array, Array]

_LEAST_GAIN = 1e-6
"""Sine of how far two opposite angles must be over a half turn."""


def delaunay_flips(mesh: TriangleMesh, flat: float = TOLERANCES.flattest) -> TriangleMesh:
    """The mesh with its flat faces cut into triangles as fat as their points allow: Delaunay's, by turning sides (Lawson 1977).

    flat : mm, how far the two triangles of a side may be from lying in one plane for it to be turned
    A cut leaves fans of needles as long as the face on flat ones. Rounded, they tilt a little, and what is cut by them next
    gets a point for each. No point is moved, and the mesh stays closed.
    """
    triangles = mesh.triangles.copy()
    draw = np.random.default_rng(0)
    rows = np.flatnonzero(_in_flat_face(mesh, flat))
    for _ in range(MOST_PASSES):
        rows = _turn_some(mesh.vertices, triangles, rows, flat, draw)
        if not len(rows):
            break
    made = TriangleMesh(mesh.vertices, triangles)
    return made if made.is_closed else mesh


def _in_flat_face(mesh: TriangleMesh, flat: float) -> Mask:
    """Triangles with a side whose two triangles lie in one plane."""
    sides = _Sides(mesh.triangles, len(mesh.vertices))
    in_plane = _in_plane(sides.corners(mesh.vertices), flat)
    flat_ones = np.zeros(len(mesh.triangles), bool)
    flat_ones[sides.one[in_plane]] = flat_ones[sides.other[in_plane]] = True
    return flat_ones


class _Sides:
    """The sides that some triangles share: points a, b, apexes c, d, triangles one (a b c) and other (b a d), (k,) int each."""

    def __init__(self, triangles: Index, count: int) -> None:
        start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
        self._count = count
        self._order = np.argsort(start * count + end)
        self._keys = (start * count + end)[self._order]
        forth = np.flatnonzero(start < end)
        back = self._place(end[forth], start[forth])
        forth, back = forth[back >= 0], back[back >= 0]
        apex = np.roll(triangles, 1, axis=1).ravel()
        self.a, self.b, self.c, self.d = start[forth], end[forth], apex[forth], apex[back]
        self.one, self.other = forth // 3, back // 3

    def _place(self, start: Index, end: Index) -> Index:
        wanted = start * self._count + end
        spot = np.minimum(np.searchsorted(self._keys, wanted), len(self._keys) - 1)
        return np.where(self._keys[spot] == wanted, self._order[spot], -1)

    def corners(self, vertices: Array) -> Corners:
        """Places (k, 3) of a, b, c, d."""
        return vertices[self.a], vertices[self.b], vertices[self.c], vertices[self.d]

    def joined(self, start: Index, end: Index) -> Mask:
        """Whether a side runs between points in either direction."""
        return np.asarray((self._place(start, end) >= 0) | (self._place(end, start) >= 0))


def _turn_some(vertices: Array, triangles: Index, rows: Index, flat: float, draw: np.random.Generator) -> Index:
    """Turn sides in place among some triangles, at most one each, drawn by lot; returns the triangles to look at next."""
    sides = _Sides(triangles[rows], len(vertices))
    wanted = _to_turn(sides.corners(vertices), flat)
    wanted &= ~sides.joined(sides.c, sides.d) & (sides.c != sides.d)
    lot = np.where(wanted, draw.permutation(len(wanted)) + 1, 0)
    best = np.zeros(len(rows), np.int64)
    np.maximum.at(best, sides.one, lot)
    np.maximum.at(best, sides.other, lot)
    picked = np.flatnonzero((lot > 0) & (lot == best[sides.one]) & (lot == best[sides.other]))
    # of two that would join the same points only the first
    ends = np.sort(np.stack([sides.c[picked], sides.d[picked]], axis=1), axis=1)
    picked = picked[np.unique(ends, axis=0, return_index=True)[1]]
    a, b, c, d = (points[picked] for points in (sides.a, sides.b, sides.c, sides.d))
    triangles[rows[sides.one[picked]]] = np.stack([a, d, c], axis=1)
    triangles[rows[sides.other[picked]]] = np.stack([d, b, c], axis=1)
    near = np.zeros(len(vertices), bool)
    for points in (sides.a, sides.b, sides.c, sides.d):
        near[points[wanted]] = True
    return rows[near[triangles[rows]].any(axis=1)] if len(picked) else rows[:0]


def _in_plane(corners: Corners, flat: float) -> Mask:
    a, b, c, d = corners
    one, other = np.cross(b - a, c - a), np.cross(a - b, d - b)
    doubled = np.maximum(np.linalg.norm(one, axis=1), np.linalg.norm(other, axis=1))
    return np.asarray((np.abs((one * (d - a)).sum(axis=1)) <= flat * doubled) & ((one * other).sum(axis=1) > 0.0))


def _to_turn(corners: Corners, flat: float) -> Mask:
    """Whether the side a b of the triangles a b c and b a d lies in a flat face and is better turned to c d."""
    a, b, c, d = corners
    one, other = np.cross(b - a, c - a), np.cross(a - b, d - b)
    normal = one + other
    first, second = np.cross(d - a, c - a), np.cross(b - d, c - d)
    convex = ((first * normal).sum(axis=1) > 0.0) & ((second * normal).sum(axis=1) > 0.0)
    # the sum of the angles at c and d is over a half turn where its sine is negative
    dot_c, dot_d = ((a - c) * (b - c)).sum(axis=1), ((a - d) * (b - d)).sum(axis=1)
    sine_c, sine_d = np.linalg.norm(one, axis=1), np.linalg.norm(other, axis=1)
    size = np.hypot(dot_c, sine_c) * np.hypot(dot_d, sine_d)
    return np.asarray(_in_plane(corners, flat) & convex & (sine_c * dot_d + dot_c * sine_d < -_LEAST_GAIN * size))
