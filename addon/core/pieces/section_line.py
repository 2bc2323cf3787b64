# SPDX-License-Identifier: GPL-3.0-or-later
"""The line in which a cut meets the middle of the wall."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask, frozen
from ..wall.closed_wall import ClosedWall
from .joint import Joint


@dataclass(frozen=True, eq=False)
class SectionLine:
    """Points of the middle of the wall from edge to edge.

    points : (k, 3) float, mm; halves : (k, 3) float, half of the wall there, outward; along : (k,) float, mm from the first
    """

    points: Array
    halves: Array
    along: Array

    @property
    def length(self) -> float:
        """mm."""
        return float(self.along[-1])

    def at(self, along: Array) -> tuple[Array, Array]:
        """Points (n, 3) and halves (n, 3) at distances from the first point, mm."""
        points = np.stack([np.interp(along, self.along, column) for column in self.points.T], axis=1)
        return points, np.stack([np.interp(along, self.along, column) for column in self.halves.T], axis=1)


def section_lines(wall: ClosedWall, joint: Joint, here: Mask | None = None) -> list[SectionLine]:
    """The lines in which the plane of a joint cuts the middle of the wall; several where it crosses openings.

    here : (n,) bool, points of the wall that count, all if None. A cut across the bike counts on its own side of the axle only.
    """
    middle, half = 0.5 * (wall.outer + wall.inner), 0.5 * (wall.outer - wall.inner)
    off = joint.along(middle)
    counts = (
        middle @ np.cross(joint.normal, np.array([1.0, 0.0, 0.0])) > 0.0 if joint.is_across else np.ones(len(middle), dtype=bool)
    )
    counts = counts if here is None else counts & here
    ahead = off > 0.0
    corners = wall.triangles[counts[wall.triangles].all(axis=1)]
    sides = ahead[corners].sum(axis=1)
    corners = corners[(sides > 0) & (sides < 3)]
    edges = np.sort(np.stack([corners, np.roll(corners, -1, axis=1)], axis=2), axis=2)
    crossed = ahead[edges[..., 0]] != ahead[edges[..., 1]]
    cut, spot = np.unique(edges[crossed], axis=0, return_inverse=True)
    one, two = cut.T
    share = (off[one] / (off[one] - off[two]))[:, None]
    points = middle[one] + share * (middle[two] - middle[one])
    halves = half[one] + share * (half[two] - half[one])
    return [_line(points[line], halves[line]) for line in _rows(len(cut), spot.reshape(-1, 2))]


def _line(points: Array, halves: Array) -> SectionLine:
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return SectionLine(frozen(points), frozen(halves), frozen(np.concatenate([[0.0], np.cumsum(steps)])))


def _rows(count: int, links: Index) -> list[list[int]]:
    """Rows of points from end to end, of points that are linked in pairs."""
    neighbors: list[list[int]] = [[] for _ in range(count)]
    for one, two in links.tolist():
        neighbors[one].append(two)
        neighbors[two].append(one)
    seen: set[int] = set()
    lines = []
    for start in (i for i in range(count) if len(neighbors[i]) == 1):
        line, here = [], start
        while here not in seen:
            seen.add(here)
            line.append(here)
            here = next((other for other in neighbors[here] if other not in seen), here)
        if len(line) > 1:
            lines.append(line)
    return lines
