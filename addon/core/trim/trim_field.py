# SPDX-License-Identifier: GPL-3.0-or-later
"""All that trims a skin, as one scalar field over it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows
from .boundary_corners import Corner, Side
from .rounded_corner import rounded_corner
from .trim_edge import TrimEdge

UNTOUCHED = 1e3
"""Value far from every edge, mm."""

_REACH_OF_ARC = 2.0
"""No point that an arc cuts off is farther from either edge than this, in radii: r (1 + cos) at the touching points."""

_REACH_OF_TIP = 4.0
"""Nor farther from the corner than this, for corners of more than 28 degrees."""


@dataclass(frozen=True, eq=False)
class Tip:
    """A corner of the skin that is rounded. key : in the job sheet; radius : of the skin's edge, mm

    instead_of_before, instead_of_after : edges that may cut the corner off, beside the side of the skin that they run along
    """

    key: str
    corner: Corner
    radius: float
    instead_of_before: tuple[TrimEdge, ...]
    instead_of_after: tuple[TrimEdge, ...]

    def values(self, points: Array, normals: Array) -> Array:
        """As TrimField.values."""
        value = np.full(len(points), UNTOUCHED)
        away = points - self.corner.place
        near = dot_rows(away, away) < (_REACH_OF_TIP * self.radius + self._depth) ** 2
        one = self._from(self.corner.before, self.instead_of_before, points[near], normals[near])[0]
        other = self._from(self.corner.after, self.instead_of_after, points[near], normals[near])[0]
        value[near] = rounded_corner(one, other, np.full(len(one), self._cosine), self.radius)
        return value

    @cached_property
    def _depth(self) -> float:
        """How far the edges lie inside of the corner, about, mm."""
        edges = (*self.instead_of_before, *self.instead_of_after)
        return 2.0 * max([0.0, *(-float(edge.distance(*self._place)[0][0]) for edge in edges)])

    @cached_property
    def _cosine(self) -> float:
        """Of the angle between the ways inward at the corner: that of each point would bend the arc where it changes."""
        one = self._from(self.corner.before, self.instead_of_before, *self._place)[1]
        other = self._from(self.corner.after, self.instead_of_after, *self._place)[1]
        return float(one[0] @ other[0])

    @property
    def _place(self) -> tuple[Array, Array]:
        return self.corner.place[None], self.corner.normal[None]

    @staticmethod
    def _from(side: Side, edges: tuple[TrimEdge, ...], points: Array, normals: Array) -> tuple[Array, Array]:
        """The least distance to the side and the edges, and the way inward from that."""
        least, way = side.distance(points, normals)
        for edge in edges:
            distance, edge_way = edge.distance(points, normals)
            nearer = distance < least
            least, way = np.where(nearer, distance, least), np.where(nearer[:, None], edge_way, way)
        return least, way


@dataclass(frozen=True, eq=False)
class TrimField:
    """What is cut from a skin.

    edges : each takes away where it is negative; sides : the skin's own edges, which corners are rounded against
    tips : corners of the skin that are rounded; corner : radius, mm, where edges meet each other or the skin's own
    """

    edges: tuple[TrimEdge, ...]
    sides: tuple[Side, ...]
    tips: tuple[Tip, ...]
    corner: float

    def values(self, points: Array, normals: Array) -> Array:
        """(n,) mm, negative where the skin is cut away, about the distance to the cut near it. points, normals : (n, 3) float."""
        least = np.full(len(points), UNTOUCHED)
        meeting: list[tuple[Array, Array]] = []
        for edge in self.edges:
            distance, way = edge.distance(points, normals)
            np.minimum(least, distance, out=least)
            if not edge.opening:
                meeting.append((distance, way))
        if self.corner > 0.0:
            for number, (distance, way) in enumerate(meeting):
                near = np.flatnonzero(np.abs(distance) < _REACH_OF_ARC * self.corner)
                others = [(other[near], other_way[near]) for other, other_way in meeting[:number]]
                others += [side.distance(points[near], normals[near]) for side in self.sides]
                for other, other_way in others:
                    self._round(least, near, (distance[near], way[near]), (other, other_way))
        for tip in self.tips:
            np.minimum(least, tip.values(points, normals), out=least)
        return least

    def _round(self, least: Array, near: Index, one: tuple[Array, Array], other: tuple[Array, Array]) -> None:
        both = np.abs(other[0]) < _REACH_OF_ARC * self.corner
        rows = near[both]
        cosine = dot_rows(one[1][both], other[1][both])
        arc = rounded_corner(one[0][both], other[0][both], cosine, self.corner)
        least[rows] = np.minimum(least[rows], arc)

    def cutting(self, points: Array, normals: Array) -> tuple[str, str, int] | None:
        """Key and name of what cuts most of some points away, and where most (index); None if nothing does."""
        worst: tuple[float, str, str, int] | None = None
        measured = [(edge.key, f'"{edge.name}"', edge.distance(points, normals)[0]) for edge in self.edges]
        measured += [(tip.key, "the arc of the tip", tip.values(points, normals)) for tip in self.tips]
        for key, name, value in measured:
            index = int(np.argmin(value))
            if value[index] < min(0.0, worst[0] if worst else 0.0):
                worst = (float(value[index]), key, name, index)
        return None if worst is None else worst[1:]
