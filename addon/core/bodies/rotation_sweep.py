# SPDX-License-Identifier: GPL-3.0-or-later
"""A body that turns about a pivot: chassis parts as the swingarm sees them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points, frozen
from .body import Body
from .lowest_along import lowest_along

_SLACK = 1e-6
"""mm over the least distance at the ends of the pieces, so that the piece that holds it is searched."""


class RotationSweep:
    """All places of a body while it turns about an axis along x through a pivot; not convex.

    Seen from the body, a point p runs along an arc of radius r about the pivot axis. The arc is taken in pieces, each
    replaced by its chord. A chord is within its rise r (1 - cos(piece / 2)) of the arc, and the distance changes by no more
    than that: what is returned is the least distance along the chords less this rise, so it is never above the true one and
    below it by no more than error_at(p). The number of pieces keeps the error under a wanted one out to a given reach.
    """

    def __init__(self, body: Body, pivot: ArrayLike, turn_deg: float, *, reach: float = 1200.0, error: float = 0.2) -> None:
        """pivot : (3,) float, mm; turn_deg : degrees, right-handed about +x, within -90..90.

        reach, error : mm > 0; points within reach of the pivot axis get the wanted error or a smaller one
        Raises ValueError otherwise.
        """
        if not -90.0 <= turn_deg <= 90.0:
            raise ValueError(f"turn: {turn_deg} degrees, expected -90 to 90")
        if not (reach > 0.0 and error > 0.0):
            raise ValueError(f"reach {reach} and error {error}: expected lengths over 0")
        self.body = body
        self.pivot: Array = frozen(as_points([np.asarray(pivot, dtype=np.float64)], "pivot")[0])
        turn = math.radians(turn_deg)
        # Two chord rises make the error: the chord may pass outside or inside of what the arc comes near to.
        largest_piece = 2.0 * math.acos(max(0.0, 1.0 - 0.5 * error / reach))
        self.piece_count = max(1, math.ceil(abs(turn) / largest_piece))
        self._angles = np.linspace(0.0, turn, self.piece_count + 1)
        self._rise_share = 1.0 - math.cos(0.5 * turn / self.piece_count)

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
        points = as_points(points)
        seen = [self._seen_at(points, angle) for angle in self._angles]
        at_ends = np.stack([self.body.distance(view) for view in seen])
        lowest = at_ends.min(axis=0) + _SLACK
        gradient = np.zeros((len(points), 3))
        for piece in range(self.piece_count):
            travel = seen[piece + 1] - seen[piece]
            # Between two ends the distance falls by no more than the way.
            least = 0.5 * (at_ends[piece] + at_ends[piece + 1] - np.linalg.norm(travel, axis=1))
            open_ = np.flatnonzero(least < lowest)
            distance, normal, t = lowest_along(self.body, seen[piece][open_], travel[open_])
            lower = np.flatnonzero(distance < lowest[open_])
            lowest[open_[lower]] = distance[lower]
            turned = self._angles[piece] + t[lower] * (self._angles[piece + 1] - self._angles[piece])
            gradient[open_[lower]] = _turned(normal[lower], turned)
        return lowest - self._rise(points), gradient

    def _rise(self, points: Array) -> Array:
        return np.asarray(self._rise_share * np.linalg.norm((points - self.pivot)[:, 1:], axis=1))

    def _seen_at(self, points: Array, angle: float) -> Array:
        """Points in the body's own axes when it has turned by the angle."""
        return _turned(points - self.pivot, np.full(len(points), -angle)) + self.pivot


def _turned(vectors: Array, angles: Array) -> Array:
    """Vectors (n, 3) turned about x by angles (n,), radians."""
    cosine, sine = np.cos(angles), np.sin(angles)
    x, y, z = vectors.T
    return np.stack([x, cosine * y - sine * z, sine * y + cosine * z], axis=1)
