# SPDX-License-Identifier: GPL-3.0-or-later
"""The edge of a sheet without short steps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..arrays import Array, Index
from ..solid.refine import order_length
from ..solid.sheet import Boundary, Sheet, boundary_of

MOST_TURN = np.radians(25.0)
"""Where the edge turns more, its point stays."""

LEAST_QUALITY = 0.4
"""Triangles may not lose more than this share of their least height over longest side, unless they stay above WELL_SHAPED."""

WELL_SHAPED = 0.15
MOST_PASSES = 8


def even_edge(sheet: Sheet, shortest: float) -> Sheet:
    """The sheet with steps of its edge that are shorter than `shortest`, mm, drawn together where its triangles allow it.

    Points are taken out, none is moved. A rim follows the directions of the steps, and those of short ones are mostly rounding.
    Points of the mirror plane stay, so that a sheet that is its own mirror image stays one.
    """
    for _ in range(MOST_PASSES):
        target = _merges(sheet, shortest)
        if target is None:
            break
        triangles = target[sheet.triangles]
        triangles = triangles[(triangles != np.roll(triangles, 1, axis=1)).all(axis=1)]
        used = np.bincount(triangles.ravel(), minlength=len(sheet.points)) > 0
        sheet = Sheet(sheet.points[used], sheet.normals[used], (np.cumsum(used) - 1)[triangles])
    return sheet


def _merges(sheet: Sheet, shortest: float) -> Index | None:
    """The point that each point becomes, or None if none changes; no two changes touch the same triangle."""
    boundary = boundary_of(sheet)
    here, there = boundary.vertex, boundary.vertex[boundary.after]
    length = order_length(sheet.points[here], sheet.points[there])
    order = np.argsort(length, kind="stable")
    short = order[length[order] < shortest]
    fans = _Fans(sheet, np.unique(np.concatenate([here[short], there[short]])))
    turn = _turn_of(sheet, boundary)
    target = np.arange(len(sheet.points))
    taken: set[int] = set()
    for row in short.tolist():
        one, other = int(here[row]), int(there[row])
        region = fans.points(one) | fans.points(other)
        choice = None if region & taken else _choice(sheet, fans, turn, one, other)
        if choice is not None:
            gone, kept = choice
            target[gone] = kept
            taken |= region
    return target if taken else None


def _choice(sheet: Sheet, fans: _Fans, turn: dict[int, float], one: int, other: int) -> tuple[int, int] | None:
    """(gone, kept) of the better way to draw an edge together; None if there is none."""
    scored = []
    for gone, kept in ((one, other), (other, one)):
        on_plane = sheet.points[gone, 0] == 0.0 or sheet.points[gone, 0] * sheet.points[kept, 0] < 0.0
        # the two may share no neighbor but the third corner of the triangle on the edge
        if on_plane or abs(turn[gone]) > MOST_TURN or len(fans.points(gone) & fans.points(kept)) != 3:
            continue
        before, after = fans.shapes(gone, kept)
        if after > min(WELL_SHAPED, LEAST_QUALITY * before):
            scored.append((after, gone, kept))
    return max(scored)[1:] if scored else None


@dataclass(eq=False)
class _Fans:
    """The triangles about some points of a sheet."""

    sheet: Sheet
    points_of_interest: Index

    def __post_init__(self) -> None:
        rows = np.flatnonzero(np.isin(self.sheet.triangles, self.points_of_interest).any(axis=1))
        self._around: dict[int, list[tuple[int, int, int]]] = {int(point): [] for point in self.points_of_interest}
        for a, b, c in self.sheet.triangles[rows].tolist():
            for point in (a, b, c):
                if point in self._around:
                    self._around[point].append((a, b, c))

    def points(self, point: int) -> set[int]:
        return {corner for triangle in self._around[point] for corner in triangle}

    def shapes(self, gone: int, kept: int) -> tuple[float, float]:
        """Least shape of the triangles about a point, and of those that are left where it becomes another; see _shape."""
        left = [triangle for triangle in self._around[gone] if kept not in triangle]
        if not left:
            return 0.0, -1.0
        triangles = np.array(left)
        normals = self.sheet.normals[triangles].sum(axis=1)
        before = _shape(self.sheet.points[np.array(self._around[gone])], self.sheet.normals[gone])
        return before, _shape(self.sheet.points[np.where(triangles == gone, kept, triangles)], normals)


def _shape(corners: Array, normals: Array) -> float:
    """The least of height over longest side of triangles (m, 3, 3), about 0.87 at best; negative for one that is turned over."""
    a, b, c = np.moveaxis(corners, 1, 0)
    area = np.cross(b - a, c - a)
    longest2 = np.max([np.square(side).sum(axis=1) for side in (b - a, c - b, a - c)], axis=0)
    size = np.linalg.norm(area, axis=1) / longest2
    return float(np.where((area * normals).sum(axis=1) > 0.0, size, -size).min())


def _turn_of(sheet: Sheet, boundary: Boundary) -> dict[int, float]:
    points = sheet.points[boundary.vertex]
    ahead, behind = points[boundary.after] - points, points - points[boundary.before]
    turn = np.arctan2(np.linalg.norm(np.cross(behind, ahead), axis=1), (ahead * behind).sum(axis=1))
    return dict(zip(boundary.vertex.tolist(), turn.tolist(), strict=True))
