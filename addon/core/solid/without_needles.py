# SPDX-License-Identifier: GPL-3.0-or-later
"""A closed mesh without triangles that are flat to within the rounding of a file."""

from __future__ import annotations

import numpy as np

from ..arrays import Array, Index, Mask
from ..tolerances import TOLERANCES
from .triangle_mesh import TriangleMesh

MOST_PASSES = 60


def without_needles(mesh: TriangleMesh, flattest: float = TOLERANCES.flattest) -> TriangleMesh:
    """The mesh with the longest side of each triangle lower than `flattest`, mm, turned to join its tip with the one opposite.

    A cut leaves points along edges; rounded to float32 they lie beside these, and the needles between pass through their
    neighbors. No point is moved, so that the surface changes by less than `flattest`. A side is turned only where that makes
    the lower of its two triangles higher, turns none over, and keeps the mesh closed. Others stay.
    """
    triangles = mesh.triangles.copy()
    height, longest = _heights(mesh.vertices, triangles)
    changed = False
    for _ in range(MOST_PASSES):
        needles = np.flatnonzero(height < flattest)
        if not len(needles):
            break
        rows = _turned(mesh.vertices, triangles, needles, height, longest)
        if not len(rows):
            break
        height[rows], longest[rows] = _heights(mesh.vertices, triangles[rows])
        changed = True
    return TriangleMesh(mesh.vertices, triangles) if changed else mesh


def _turned(vertices: Array, triangles: Index, needles: Index, height: Array, longest: Index) -> Index:
    """Turn sides of needles in place, no two about the same point; returns the triangles that changed."""
    count = len(vertices)
    about = np.zeros(count, bool)
    about[triangles[needles]] = True
    near = np.flatnonzero(about[triangles].any(axis=1))
    start, end = triangles[near].ravel(), np.roll(triangles[near], -1, axis=1).ravel()
    order = np.argsort(start * count + end)
    keys = (start * count + end)[order]

    def side_of(first: Index, second: Index) -> Index:
        """Where each directed edge stands in the raveled triangles, -1 where the mesh has none; its start is of a needle."""
        wanted = first * count + second
        spot = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
        at = order[spot]
        return np.where(keys[spot] == wanted, 3 * near[at // 3] + at % 3, -1)

    columns = (longest[needles, None] + np.arange(3)) % 3
    a, b, tip = np.take_along_axis(triangles[needles], columns, axis=1).T
    across = side_of(b, a)
    other = across // 3
    c = triangles[other, (across + 2) % 3]
    first, second = np.stack([a, c, tip], axis=1), np.stack([c, b, tip], axis=1)
    lowest = np.minimum(_heights(vertices, first)[0], _heights(vertices, second)[0])
    joined_before = (side_of(tip, c) >= 0) | (c == tip) | (across < 0)
    better = lowest > np.minimum(height[needles], height[other])
    upright = _upright(vertices, triangles[other], first) & _upright(vertices, triangles[other], second)
    rows: list[int] = []
    taken: set[int] = set()
    allowed = np.flatnonzero(better & upright & ~joined_before)
    for row in allowed[np.argsort(-lowest[allowed], kind="stable")].tolist():
        touched = {int(a[row]), int(b[row]), int(tip[row]), int(c[row])}
        if not touched & taken:
            taken |= touched
            triangles[needles[row]], triangles[other[row]] = first[row], second[row]
            rows += [int(needles[row]), int(other[row])]
    return np.array(rows, dtype=np.int64)


def _heights(vertices: Array, triangles: Index) -> tuple[Array, Index]:
    """Height over the longest side, mm, and the corner that this side starts at."""
    corners = vertices[triangles]
    sides = np.square(np.roll(corners, -1, axis=1) - corners).sum(axis=2)
    doubled = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    return doubled / np.sqrt(np.maximum(sides.max(axis=1), 1e-300)), np.argmax(sides, axis=1)


def _upright(vertices: Array, before: Index, after: Index) -> Mask:
    """Whether triangles face the same way as others."""
    one, other = (np.cross(*np.diff(vertices[rows], axis=1).swapaxes(0, 1)) for rows in (before, after))
    return np.asarray((one * other).sum(axis=1) > 0.0)
