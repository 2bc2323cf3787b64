# SPDX-License-Identifier: GPL-3.0-or-later
"""A body that turns about an axis: chassis parts as the swingarm sees them, the wheel as it is steered."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points, frozen
from ..base.rotation import turned
from .body import Body
from .lowest_along import lowest_along

_SLACK = 1e-6
"""mm over the least distance at the ends of the pieces, so that the piece that holds it is searched."""


class RotationSweep:
    """All places of a body while it turns about an axis; not convex.

    Seen from the body, a point p runs along an arc of radius r about the axis. The arc is taken in pieces, each replaced by its
    chord. A chord is within its rise r (1 - cos(piece / 2)) of the arc, and the distance changes by no more than that: what is
    returned is the least distance along the chords less this rise, so it is never above the true one and below it by no more
    than error_at(p). The number of pieces keeps the error under a wanted one out to a given reach.
    """

    def __init__(
        self,
        body: Body,
        pivot: ArrayLike,
        end_deg: float,
        begin_deg: float = 0.0,
        *,
        axis: ArrayLike = (1.0, 0.0, 0.0),
        reach: float = 1200.0,
        error: float = 0.2,
    ) -> None:
        """pivot : (3,) float, mm, on the axis; axis : (3,) float, of any length; begin_deg, end_deg : turns, degrees, right-handed
        about the axis, within -90..90, in either order.

        reach, error : mm > 0; points within reach of the axis get the wanted error or a smaller one
        Raises ValueError otherwise.
        """
        for degrees in (begin_deg, end_deg):
            if not -90.0 <= degrees <= 90.0:
                raise ValueError(f"turn: {degrees} degrees, expected -90 to 90")
        if not (reach > 0.0 and error > 0.0):
            raise ValueError(f"reach {reach} and error {error}: expected lengths over 0")
        given = as_points([np.asarray(pivot, dtype=np.float64), np.asarray(axis, dtype=np.float64)], "pivot and axis")
        length = float(np.linalg.norm(given[1]))
        if length == 0.0:
            raise ValueError("axis: has no length, expected a direction")
        self.body = body
        self.pivot: Array = frozen(given[0])
        self.axis: Array = frozen(given[1] / length)
        begin, end = math.radians(begin_deg), math.radians(end_deg)
        # Two chord rises make the error: the chord may pass outside or inside of what the arc comes near to.
        largest_piece = 2.0 * math.acos(max(0.0, 1.0 - 0.5 * error / reach))
        self.piece_count = max(1, math.ceil(abs(end - begin) / largest_piece))
        self._angles = np.linspace(begin, end, self.piece_count + 1)
        self._rise_share = 1.0 - math.cos(0.5 * (end - begin) / self.piece_count)

    @property
    def convex(self) -> bool:
        return False

    def error_at(self, points: ArrayLike) -> Array:
        """How far the distance (n,) may be below the true one, mm; a body that is not convex adds MARCH_TOLERANCE."""
        return 2.0 * self._rise(as_points(points))

    def distance(self, points: ArrayLike) -> Array:
        """Distance (n,), mm, as the class says."""
        return self.distance_and_gradient(points)[0]

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Distance (n,) and unit gradient (n, 3): that of the body in the position that comes nearest."""
        return self.distance_within(points, np.inf)

    def distance_within(self, points: ArrayLike, near: float) -> tuple[Array, Array]:
        """As distance_and_gradient; beyond near, mm, a distance may be told as any lower bound not under it."""
        points = as_points(points)
        far = self._farther(points, near)
        if far is None:
            return self._all(points, np.inf)
        distance, gradient = far.copy(), np.tile([0.0, 0.0, 1.0], (len(points), 1))
        ask = np.flatnonzero(far < near)
        distance[ask], gradient[ask] = self._all(points[ask], near)
        return distance, gradient

    def _farther(self, points: Array, near: float) -> Array | None:
        """Lower bounds (n,) by one look from the middle of the turn; None if no point can be left out by it."""
        if not np.isfinite(near):
            return None
        middle = 0.5 * (self._angles[0] + self._angles[-1])
        away = points - self.pivot
        radius = np.linalg.norm(away - np.outer(away @ self.axis, self.axis), axis=1)
        return np.asarray(self.body.distance(self._seen_at(points, middle)) - radius * abs(self._angles[-1] - middle))

    def _all(self, points: Array, near: float) -> tuple[Array, Array]:
        return self._by_tangents(points) if self.body.convex else self._marched(points, near)

    def _marched(self, points: Array, near: float) -> tuple[Array, Array]:
        """Of a body that is not convex, piece by piece: its distances alone first, as its gradients cost much more."""
        seen = [self._seen_at(points, angle) for angle in self._angles]
        at_ends = np.stack([self.body.distance(view) for view in seen])
        lowest = at_ends.min(axis=0) + _SLACK
        gradient = np.zeros((len(points), 3))
        for piece in range(self.piece_count):
            travel = seen[piece + 1] - seen[piece]
            # Between two ends the distance falls by no more than the way.
            least = 0.5 * (at_ends[piece] + at_ends[piece + 1] - np.linalg.norm(travel, axis=1))
            open_ = np.flatnonzero(least < lowest)
            if len(open_) == 0:
                continue
            distance, normal, t = lowest_along(
                self.body, seen[piece][open_], travel[open_], near + float(self._rise(points).max(initial=0.0))
            )
            lower = np.flatnonzero(distance < lowest[open_])
            lowest[open_[lower]] = distance[lower]
            angle = self._angles[piece] + t[lower] * (self._angles[piece + 1] - self._angles[piece])
            gradient[open_[lower]] = turned(normal[lower], self.axis, angle)
        return lowest - self._rise(points), gradient

    def _by_tangents(self, points: Array) -> tuple[Array, Array]:
        """Of a convex body, all pieces at once."""
        seen = np.stack([self._seen_at(points, angle) for angle in self._angles])
        at_end, normal = self.body.distance_and_gradient(seen.reshape(-1, 3))
        at_end, normal = at_end.reshape(seen.shape[:2]), normal.reshape(seen.shape)
        best = at_end.argmin(axis=0)
        rows = np.arange(len(points))
        lowest, angle, toward = at_end[best, rows], self._angles[best], normal[best, rows]
        travel = np.diff(seen, axis=0)
        piece, row = np.nonzero(self._least_between(at_end, normal, travel) < lowest - _SLACK)
        if len(piece):
            value, slope, t = lowest_along(self.body, seen[piece, row], travel[piece, row])
            order = np.lexsort((value, row))
            first = order[np.concatenate([[True], np.diff(row[order]) > 0])]  # of each point the piece with the least distance
            first = first[value[first] < lowest[row[first]]]
            of = row[first]
            lowest[of], toward[of] = value[first], slope[first]
            angle[of] = self._angles[piece[first]] + t[first] * (self._angles[1] - self._angles[0])
        return lowest - self._rise(points), turned(toward, self.axis, angle)

    def _least_between(self, at_end: Array, normal: Array, travel: Array) -> Array:
        """(k, n) bounds that the distance to a convex body along each chord is not under.

        at_end, normal : (k + 1, n), (k + 1, n, 3) at the ends; travel : (k, n, 3). The distance stays over its tangents at both ends,
        which meet where the bound is least.
        """
        start, end = at_end[:-1], at_end[1:]
        falling = np.minimum(np.einsum("kni,kni->kn", normal[:-1], travel), 0.0)
        rising = np.maximum(np.einsum("kni,kni->kn", normal[1:], travel), 0.0)
        apart = np.maximum(rising - falling, 1e-12)
        meets = np.clip((start - end + rising) / apart, 0.0, 1.0)
        return np.asarray(start + meets * falling)

    def _rise(self, points: Array) -> Array:
        away = points - self.pivot
        return np.asarray(self._rise_share * np.linalg.norm(away - np.outer(away @ self.axis, self.axis), axis=1))

    def _seen_at(self, points: Array, angle: float) -> Array:
        """Points in the body's own axes when it has turned by the angle."""
        return turned(points - self.pivot, self.axis, -angle) + self.pivot
