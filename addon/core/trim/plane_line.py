# SPDX-License-Identifier: GPL-3.0-or-later
"""A line drawn in a view: which side of it a point is on, and how far away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, frozen
from ..base.row_vectors import unit_rows

FAR = 1e4
"""How far an open line goes on straight past its ends, mm: past any fender."""

_CHUNK = 4096


@dataclass(frozen=True, eq=False)
class PlaneLine:
    """A polyline in a plane; it is closed if its last point is its first, else it goes on straight past both ends.

    points : (k, 2) float, mm, no point twice in a row
    """

    points: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))

    @property
    def closed(self) -> bool:
        return len(self.points) > 3 and bool((self.points[0] == self.points[-1]).all())

    @property
    def extended(self) -> Array:
        """The points, with those far away that an open line runs to."""
        if self.closed:
            return self.points
        first, last = unit_rows(np.stack([self.points[0] - self.points[1], self.points[-1] - self.points[-2]]))
        return np.concatenate([[self.points[0] + FAR * first], self.points, [self.points[-1] + FAR * last]])

    def crossing(self) -> Array | None:
        """A place (2,) where the line meets itself, or None."""
        knots = self.extended
        start, way = knots[:-1], np.diff(knots, axis=0)
        i, j = np.triu_indices(len(start), 2)
        if self.closed:
            i, j = i[j - i < len(start) - 1], j[j - i < len(start) - 1]
        across = _cross(way[i], way[j])
        between = start[j] - start[i]
        parallel = np.abs(across) <= 1e-9 * np.sqrt(np.square(way[i]).sum(axis=1) * np.square(way[j]).sum(axis=1))
        safe = np.where(parallel, 1.0, across)
        one, two = _cross(between, way[j]) / safe, _cross(between, way[i]) / safe
        met = np.flatnonzero(~parallel & (one >= 0) & (one <= 1) & (two >= 0) & (two <= 1))
        return None if len(met) == 0 else np.asarray(start[i[met[0]]] + one[met[0]] * way[i[met[0]]])

    def distance(self, at: Array) -> tuple[Array, Array]:
        """Signed distance (n,), positive to the left of the line, and its gradient (n, 2). at : (n, 2) float, mm."""
        parts = [self._distance(at[i : i + _CHUNK]) for i in range(0, len(at), _CHUNK)]
        if not parts:
            return np.zeros(0), np.zeros((0, 2))
        return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])

    def _distance(self, at: Array) -> tuple[Array, Array]:
        knots = self.extended
        start, way = knots[:-1], np.diff(knots, axis=0)
        length2 = np.square(way).sum(axis=1)
        left = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.sqrt(length2)[:, None]
        share = np.clip((at @ way.T - (start * way).sum(axis=1)) / length2, 0.0, 1.0)
        dx = at[:, :1] - start[:, 0] - share * way[:, 0]
        dy = at[:, 1:] - start[:, 1] - share * way[:, 1]
        nearest = np.argmin(dx * dx + dy * dy, axis=1)
        rows = np.arange(len(at))
        away = np.stack([dx[rows, nearest], dy[rows, nearest]], axis=1)
        at_share = share[rows, nearest]
        side = left[nearest]
        # at a corner the side is told by both of its segments (Baerentzen and Aanaes, Signed distance computation using the
        # angle weighted pseudonormal, 2005; in a plane the weights are equal)
        other = nearest + (at_share == 1.0) - (at_share == 0.0)
        count = len(start)
        other = other % count if self.closed else np.clip(other, 0, count - 1)
        positive = ((side + left[other]) * away).sum(axis=1) >= 0.0
        gap = np.sqrt(np.square(away).sum(axis=1))
        sign = np.where(positive, 1.0, -1.0)
        on_line = gap < 1e-9
        gradient = np.where(on_line[:, None], side, sign[:, None] * away / np.where(on_line, 1.0, gap)[:, None])
        return sign * gap, gradient


def filleted(line: PlaneLine, radius: float, step: float = np.radians(5.0)) -> PlaneLine:
    """The line with its corners rounded to a radius, mm, or to the largest that half of the shorter segment beside them allows.

    step : angle between points on an arc, radians
    """
    points = line.points
    inner = np.arange(0 if line.closed else 1, len(points) - 1)
    pieces = [] if line.closed else [points[:1]]
    for i in inner:
        before = points[i - 1] if i > 0 else points[-2]
        pieces.append(_fillet(before, points[i], points[i + 1], radius, step))
    pieces.append(pieces[0][:1] if line.closed else points[-1:])
    joined = np.concatenate(pieces)
    return PlaneLine(joined[np.concatenate([[True], (np.diff(joined, axis=0) != 0.0).any(axis=1)])])


def _fillet(before: Array, corner: Array, after: Array, radius: float, step: float) -> Array:
    back, ahead = before - corner, after - corner
    room = 0.5 * min(float(np.hypot(*back)), float(np.hypot(*ahead)))
    back, ahead = back / np.hypot(*back), ahead / np.hypot(*ahead)
    half = 0.5 * float(np.arccos(np.clip(back @ ahead, -1.0, 1.0)))
    if half > 0.5 * np.pi - 1e-4 or half < 1e-4 or radius == 0.0:
        return corner[None]
    radius = min(radius, room * np.tan(half))
    middle = back + ahead
    center = corner + radius / np.sin(half) * middle / np.hypot(*middle)
    first = corner + radius / np.tan(half) * back - center
    turn = np.copysign(np.pi - 2.0 * half, first[0] * ahead[1] - first[1] * ahead[0])
    angle = np.linspace(0.0, turn, max(2, int(np.ceil(abs(turn) / step)) + 1))
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray(center + np.stack([cos * first[0] - sin * first[1], sin * first[0] + cos * first[1]], axis=1))


def _cross(one: Array, other: Array) -> Array:
    return np.asarray(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
