# SPDX-License-Identifier: GPL-3.0-or-later
"""A closed mesh without triangles that are flat to within the rounding of a file."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.row_vectors import unit_rows
from ..base.tolerances import TOLERANCES
from .triangle_mesh import TriangleMesh

MOST_PASSES = 60

MOVED = 0.005
"""Sides of needles are drawn together where turning does not help if no face about them moves by more than this, mm."""


ASTRAY = np.radians(5.0)
"""A needle up to ten times as high is turned too if its plane is off those of all its neighbors by more than this."""


def remove_slivers(mesh: TriangleMesh, flattest: float = TOLERANCES.flattest) -> TriangleMesh:
    """The mesh with the longest side of each triangle lower than `flattest`, mm, turned to join its tip with the one opposite.

    A cut leaves points along edges; rounded to float32 they lie beside these, and the needles between pass through their
    neighbors. No point is moved, so that the surface changes by less than `flattest`. A side is turned only where that makes
    the lower of its two triangles higher, turns none over, and keeps the mesh closed. Where both are joined already by a
    triangle beside, the end that only these three meet in is taken out. Sides of needles that are left are drawn together where
    faces stay within MOVED. Others stay.
    """
    triangles = mesh.triangles.copy()
    height, longest = _heights(mesh.vertices, triangles)
    changed = False
    for _ in range(MOST_PASSES):
        needles = np.flatnonzero(height < 10.0 * flattest)
        if not len(needles):
            break
        needles = needles[(height[needles] < flattest) | _astray(mesh.vertices, triangles, needles)]
        rows, gone = _turned(mesh.vertices, triangles, needles, height, longest)
        if not len(rows):
            rows, gone = _drawn_together(mesh.vertices, triangles, needles, height)
        if not len(rows):
            break
        height[rows], longest[rows] = _heights(mesh.vertices, triangles[rows])
        if len(gone):
            kept = np.delete(np.arange(len(triangles)), gone)
            triangles, height, longest = triangles[kept], height[kept], longest[kept]
        changed = True
    if not changed:
        return mesh
    used = np.bincount(triangles.ravel(), minlength=len(mesh.vertices)) > 0
    return TriangleMesh(mesh.vertices[used], (np.cumsum(used) - 1)[triangles])


def _turned(vertices: Array, triangles: Index, needles: Index, height: Array, longest: Index) -> tuple[Index, Index]:
    """Turn sides of needles in place, no two about the same point; returns the triangles that changed, and those to delete."""
    if not len(needles):
        return needles, needles
    side_of = _sides_about(vertices, triangles, needles)
    columns = (longest[needles, None] + np.arange(3)) % 3
    a, b, tip = np.take_along_axis(triangles[needles], columns, axis=1).T
    across = side_of(b, a)
    other = across // 3
    c = triangles[other, (across + 2) % 3]
    first, second = np.stack([a, c, tip], axis=1), np.stack([c, b, tip], axis=1)
    high = [_heights(vertices, made)[0] for made in (first, second)]
    upright = [_upright(vertices, triangles[other], made) for made in (first, second)]
    former = np.minimum(height[needles], height[other])
    free = (side_of(tip, c) < 0) & (c != tip)
    turnable = free & (np.minimum(*high) > former) & upright[0] & upright[1]
    # a triangle beside that joins tip and opposite to one end: that end is met by three triangles only
    beside = [side_of(a, tip), side_of(tip, b)]
    meets = [(side >= 0) & (triangles[side // 3, (side + 2) % 3] == c) & (c != tip) for side in beside]
    ends = [meets[i] & ~meets[1 - i] & (high[1 - i] > former) & upright[1 - i] for i in (0, 1)]
    rows: list[int] = []
    gone: list[int] = []
    taken: set[int] = set()
    lowest = np.where(turnable, np.minimum(*high), np.where(ends[0], high[1], high[0]))
    allowed = np.flatnonzero(turnable | ends[0] | ends[1])
    for row in allowed[np.argsort(-lowest[allowed], kind="stable")].tolist():
        touched = {int(a[row]), int(b[row]), int(tip[row]), int(c[row])}
        if touched & taken:
            continue
        taken |= touched
        rows += [int(needles[row]), int(other[row])]
        if turnable[row]:
            triangles[needles[row]], triangles[other[row]] = first[row], second[row]
        else:
            at = 0 if ends[0][row] else 1
            triangles[needles[row]] = (second, first)[at][row]
            gone += [int(other[row]), int(beside[at][row] // 3)]
    return np.array(rows, dtype=np.int64), np.array(gone, dtype=np.int64)


def _drawn_together(vertices: Array, triangles: Index, needles: Index, height: Array) -> tuple[Index, Index]:
    """Draw one side of one needle together, in place; returns the triangles that changed, and the two to delete."""
    for needle in needles[np.argsort(height[needles], kind="stable")].tolist():
        corners = triangles[needle].tolist()
        sides = [(old, new) for old in corners for new in corners if old != new]
        for old, new in sorted(sides, key=lambda side: float(np.linalg.norm(vertices[side[1]] - vertices[side[0]]))):
            fan, ends = ((triangles == point).any(axis=1) for point in (old, new))
            # link condition, see clean_mesh.py: the two share only the points opposite their side
            shared = np.intersect1d(triangles[fan], triangles[ends])
            if len(shared) != 4 or len(np.union1d(triangles[fan], triangles[ends])) == 4:
                continue
            rows = np.flatnonzero(fan & ~ends)
            made = np.where(triangles[rows] == old, new, triangles[rows])
            if _stays(vertices, triangles[rows], made, height[rows], height[needle], vertices[new] - vertices[old]):
                triangles[rows] = made
                return rows, np.flatnonzero(fan & ends)
    return np.zeros(0, np.int64), np.zeros(0, np.int64)


def _stays(vertices: Array, former: Index, made: Index, height: Array, needle: float, step: Array) -> bool:
    """Whether triangles (k, 3) with a corner moved by a step stay where they were, to within MOVED; needles get no lower."""
    flat = height < 10.0 * TOLERANCES.flattest
    if (_heights(vertices, made)[0] <= np.where(flat, needle, 10.0 * TOLERANCES.flattest)).any():
        return False
    one, other = _normals(vertices, former[~flat]), _normals(vertices, made[~flat])
    turn = np.linalg.norm(np.cross(one, other), axis=1)
    upright = (one * other).sum(axis=1) > 0.0
    return bool((upright & (np.linalg.norm(step) * turn <= MOVED) & (np.abs(one @ step) <= MOVED)).all())


def _sides_about(vertices: Array, triangles: Index, needles: Index) -> Callable[[Index, Index], Index]:
    """Finds where directed edges stand in the raveled triangles, -1 where the mesh has none, if they start at needles' points."""
    count = len(vertices)
    about = np.zeros(count, bool)
    about[triangles[needles]] = True
    near = np.flatnonzero(about[triangles.T].any(axis=0))
    start, end = triangles[near].ravel(), np.roll(triangles[near], -1, axis=1).ravel()
    order = np.argsort(start * count + end)
    keys = (start * count + end)[order]

    def side_of(first: Index, second: Index) -> Index:
        wanted = first * count + second
        spot = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
        at = order[spot]
        return np.where(keys[spot] == wanted, 3 * near[at // 3] + at % 3, -1)

    return side_of


def _astray(vertices: Array, triangles: Index, needles: Index) -> Mask:
    """(k,) whether the plane of each needle is off those of the triangles at all its sides."""
    side_of = _sides_about(vertices, triangles, needles)
    corners = triangles[needles]
    beside = side_of(np.roll(corners, -1, axis=1), corners) // 3
    own, others = _normals(vertices, corners), _normals(vertices, triangles[beside.ravel()]).reshape(-1, 3, 3)
    return np.asarray(np.einsum("ij,ikj->ik", own, others).max(axis=1) < np.cos(ASTRAY))


def _normals(vertices: Array, triangles: Index) -> Array:
    return unit_rows(np.cross(*np.diff(vertices[triangles], axis=1).swapaxes(0, 1)))


def _heights(vertices: Array, triangles: Index) -> tuple[Array, Index]:
    """Height over the longest side, mm, and the corner that this side starts at."""
    a, b, c = (vertices[column] for column in triangles.T)
    sides = np.stack([np.einsum("ij,ij->i", way, way) for way in (b - a, c - b, a - c)])
    area = np.cross(b - a, c - a)
    doubled = np.sqrt(np.einsum("ij,ij->i", area, area))
    return doubled / np.sqrt(np.maximum(sides.max(axis=0), 1e-300)), np.argmax(sides, axis=0)


def _upright(vertices: Array, before: Index, after: Index) -> Mask:
    """Whether triangles face the same way as others."""
    one, other = (np.cross(*np.diff(vertices[rows], axis=1).swapaxes(0, 1)) for rows in (before, after))
    return np.asarray((one * other).sum(axis=1) > 0.0)
