# SPDX-License-Identifier: GPL-3.0-or-later
"""The sides of a surface between its corners."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..base.arrays import Array, Index, Mask, frozen
from ..base.row_vectors import cross_rows, dot_rows, unit_rows
from ..mesh.curved_edge import curved_edge
from ..mesh.open_surface import Boundary, Surface

SHARPEST_SMOOTH = np.radians(30.0)
"""Less of a turn of the edge is no corner."""

_BETWEEN = 6
"""Points of a side for each edge of the surface along it."""

_CHUNK = 2048
_FOOT_STEPS = 4


@dataclass(frozen=True, eq=False)
class Side:
    """A side of a surface, as a line in space. points : (k, 3) float, mm, in the order of the boundary"""

    points: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))

    @property
    def middle(self) -> Array:
        """(3,) the point half way along."""
        length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(self.points, axis=0), axis=1))])
        return np.stack([np.interp(0.5 * length[-1], length, column) for column in self.points.T])

    def distance(self, points: Array, normals: Array) -> tuple[Array, Array]:
        """Distance (n,), mm, never negative, and the unit way (n, 3) from the side along the skin. See TrimEdge.distance.

        The side goes on straight past its ends, so that corners of more than a right angle are rounded too.
        """
        parts = [self._gap_and_tangent(points[i : i + _CHUNK]) for i in range(0, len(points), _CHUNK)]
        if not parts:
            return np.zeros(0), np.zeros((0, 3))
        gap, tangent = (np.concatenate([part[i] for part in parts]) for i in (0, 1))
        # by the side's own direction, since the way from it has none for points that are on it; the skin is to its left
        return gap, unit_rows(cross_rows(normals, tangent))

    def _gap_and_tangent(self, points: Array) -> tuple[Array, Array]:
        """Distance to the foot on the side where the direction, taken between the points, is square to the way there.

        So that the foot goes along evenly, where the nearest point of a polyline stops at its corners.
        """
        first = self._segments(points)
        start, way = self.points[first], self.points[first + 1] - self.points[first]
        begin, turn = self._tangents[first], self._tangents[first + 1] - self._tangents[first]
        share = dot_rows(points - start, begin) / dot_rows(way, begin)
        for _ in range(_FOOT_STEPS):
            inside = (share > 0.0) & (share < 1.0)
            tangent = begin + np.clip(share, 0.0, 1.0)[:, None] * turn
            to_point = points - start - share[:, None] * way
            share = share + dot_rows(to_point, tangent) / (dot_rows(way, tangent) - inside * dot_rows(to_point, turn))
        foot = start + share[:, None] * way
        away = points - foot
        return np.sqrt(dot_rows(away, away)), begin + np.clip(share, 0.0, 1.0)[:, None] * turn

    def _segments(self, points: Array) -> Index:
        """(n,) the segment that each point has its foot on."""
        last = len(self.points) - 1
        # squared distances, but for that of each point from the origin
        near = np.column_stack([points, np.ones(len(points))]) @ self._coarse
        window = _BETWEEN * np.argmin(near, axis=1)[:, None] + np.arange(-_BETWEEN, _BETWEEN + 1)
        window = window % last if self.closed else np.clip(window, 0, last)
        step = np.take(self.points, window, axis=0) - points[:, None, :]
        squared = np.einsum("ijk,ijk->ij", step, step)
        nearest = window[np.arange(len(points)), np.argmin(squared, axis=1)]
        ahead = dot_rows(points - self.points[nearest], self._tangents[nearest]) > 0.0
        segment = np.where(ahead, nearest, nearest - 1)
        return segment % last if self.closed else np.clip(segment, 0, last - 1)

    @property
    def closed(self) -> bool:
        return bool((self.points[0] == self.points[-1]).all())

    @cached_property
    def _coarse(self) -> Array:
        """(4, c): -2 times each _BETWEEN-th point, and its squared distance from the origin."""
        coarse = self.points[::_BETWEEN]
        return np.concatenate([-2.0 * coarse.T, np.square(coarse).sum(axis=1)[None]])

    @cached_property
    def _tangents(self) -> Array:
        """(k, 3) unit directions at the points, that of the two segments beside each."""
        way = unit_rows(np.diff(self.points, axis=0))
        before, after = np.concatenate([way[:1], way]), np.concatenate([way, way[-1:]])
        if self.closed:
            before[0], after[-1] = way[-1], way[0]
        return unit_rows(before + after)


@dataclass(frozen=True, eq=False)
class Corner:
    """A corner of a surface.

    place, normal : (3,) float, mm, between its ends; before, after : the sides that end and start there; angle : inside, radians
    """

    place: Array
    normal: Array
    before: Side
    after: Side
    angle: float

    def largest_radius(self) -> float:
        """The largest radius, mm, whose arc touches both sides no farther than at their middles, as measured from each other."""
        most = 1.0 + float(np.cos(self.angle))
        room = min(_gap(self.before.middle, self.after), _gap(self.after.middle, self.before))
        return room / max(most, 1e-3)


def boundary_corners(surface: Surface, radius: float) -> tuple[tuple[Side, ...], tuple[Corner, ...]]:
    """All sides of a surface, rings without corners included, and its corners.

    radius : mm; a corner is where the edge of the surface turns by SHARPEST_SMOOTH or more with a radius of less than this, or in
        one point. What turns less is part of a side.
    Raises ShapeError as Sheet.boundary does.
    """
    boundary = surface.boundary
    turn, bent = _bends(surface, boundary, radius)
    sides: list[Side] = []
    corners: list[Corner] = []
    for ring in boundary.rings:
        zones = _zones(turn[ring], bent[ring], _lengths(surface, boundary, ring), 0.25 * radius)
        vertices = boundary.vertex[np.tile(ring, 3)]
        if not zones:
            sides.append(_side(surface, vertices[: len(ring) + 1]))
            continue
        starts = [last for _, last in zones]
        ends = [first for first, _ in zones[1:]] + [zones[0][0] + len(ring)]
        here = [_side(surface, vertices[start : end + 1]) for start, end in zip(starts, ends, strict=True)]
        sides += here
        for number, (first, last) in enumerate(zones):
            both = vertices[[first, last]]
            inside = float(np.pi - np.tile(turn[ring], 3)[first : last + 1].sum())
            corners.append(
                Corner(
                    surface.points[both].mean(axis=0),
                    unit_rows(surface.normals[both].sum(axis=0)[None])[0],
                    here[number - 1],
                    here[number],
                    inside,
                )
            )
    return tuple(sides), tuple(corners)


def _bends(surface: Surface, boundary: Boundary, radius: float) -> tuple[Array, Mask]:
    """Turn of the edge at each of its points, radians, to the left positive, and whether it turns as a corner does there."""
    points, normals = surface.points[boundary.vertex], surface.normals[boundary.vertex]
    ahead, behind = points[boundary.after] - points, points - points[boundary.before]
    turn = np.arctan2((normals * np.cross(behind, ahead)).sum(axis=1), (ahead * behind).sum(axis=1))
    length = 0.5 * (np.linalg.norm(ahead, axis=1) + np.linalg.norm(behind, axis=1))
    return turn, (turn > SHARPEST_SMOOTH) | (turn * radius > length)


def _lengths(surface: Surface, boundary: Boundary, ring: Index) -> Array:
    """Way along a ring to each of its points, mm, twice around."""
    points = surface.points[boundary.vertex[ring]]
    steps = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    return np.asarray(np.concatenate([[0.0], np.cumsum(np.tile(steps, 2))])[:-1])


def _zones(turn: Array, bent: Mask, along: Array, apart: float) -> list[tuple[int, int]]:
    """First and last place on a ring of each corner, the last up to one turn on; those less than apart (mm) are one."""
    count = len(turn)
    if not bent.any() or bent.all():
        return []
    start = int(np.argmin(bent))
    runs: list[tuple[int, int]] = []
    for place in range(start, start + count):
        if not bent[place % count]:
            continue
        if runs and (place == runs[-1][1] + 1 or along[place] - along[runs[-1][1]] < apart):
            runs[-1] = (runs[-1][0], place)
        else:
            runs.append((place, place))
    around = np.tile(turn, 2)
    zones = [run for run in runs if around[run[0] : run[1] + 1].sum() > SHARPEST_SMOOTH]
    back = count if zones and zones[0][0] >= count else 0
    return [(first - back, last - back) for first, last in zones]


def _side(surface: Surface, vertices: Index) -> Side:
    """The side through boundary points, bent along the skin as well: its direction must not jump, or arcs against it get teeth."""
    points, normals = surface.points[vertices], surface.normals[vertices]
    edge = np.diff(points, axis=0)
    own = edge - dot_rows(edge, normals[:-1])[:, None] * normals[:-1], edge - dot_rows(edge, normals[1:])[:, None] * normals[1:]
    way = _ways_at(points, edge, normals, bool(vertices[0] == vertices[-1]))
    length = np.linalg.norm(edge, axis=1)[:, None]
    columns = []
    for step in range(_BETWEEN):
        t = step / _BETWEEN
        on_skin = curved_edge(points[:-1], points[1:], normals[:-1], normals[1:], np.full(len(edge), t))[0]
        bend = t * (1 - t) ** 2 * (length * way[:-1] - own[0]) - t * t * (1 - t) * (length * way[1:] - own[1])
        columns.append(on_skin + bend)
    return Side(np.concatenate([np.stack(columns, axis=1).reshape(-1, 3), points[-1:]]))


def _ways_at(points: Array, edge: Array, normals: Array, closed: bool) -> Array:
    """(k, 3) unit directions of a line at its points, along the skin: of the circle through each and its neighbors."""
    unit, length = unit_rows(edge), np.linalg.norm(edge, axis=1)[:, None]
    way = np.concatenate([unit[:1], length[1:] * unit[:-1] + length[:-1] * unit[1:], unit[-1:]])
    if closed:
        way[0] = way[-1] = length[0] * unit[-1] + length[-1] * unit[0]
    return unit_rows(way - dot_rows(way, normals)[:, None] * normals)


def _gap(point: Array, side: Side) -> float:
    return float(side.distance(point[None], np.zeros((1, 3)))[0][0])
