# SPDX-License-Identifier: GPL-3.0-or-later
"""A rod with round ends: fork legs, brake lines, axle nuts."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points, frozen


class Capsule:
    """All points within radius of the segment a b; convex. A ball where a = b."""

    def __init__(self, a: ArrayLike, b: ArrayLike, radius: float) -> None:
        """a, b : (3,) float, mm, wheel axes; radius : mm > 0. Raises ValueError otherwise."""
        ends = as_points([np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)], "capsule ends")
        if not (np.isfinite(radius) and radius > 0.0):
            raise ValueError(f"capsule radius: {radius}, expected a length over 0")
        self.a: Array = frozen(ends[0])
        self.b: Array = frozen(ends[1])
        self.radius = float(radius)

    @property
    def convex(self) -> bool:
        return True

    def distance(self, points: ArrayLike) -> Array:
        """Signed distance (n,), mm: distance to the segment less the radius."""
        distance = np.sqrt(_squared(self._away(points, "C")))
        distance -= self.radius
        return np.asarray(distance)

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Signed distance (n,) and unit gradient (n, 3); on the segment itself the gradient is one square to it."""
        away = self._away(points, "F")  # so that it need not be turned over in the end
        length = np.sqrt(_squared(away))
        on_segment = np.flatnonzero(length == 0.0)
        divisor = length
        if len(on_segment):
            away[:, on_segment] = self._square_to_axis()[:, None]
            divisor = length.copy()
            divisor[on_segment] = 1.0
        away /= divisor
        return length - self.radius, np.ascontiguousarray(away.T)

    def _away(self, points: ArrayLike, order: Literal["C", "F"]) -> Array:
        """Vectors (3, n) from the nearest point of the segment; one row an axis, since numpy is slow at rows of three."""
        away: Array = np.subtract(as_points(points).T, self.a[:, None], order=order)
        along = self.b - self.a
        squared = float(along @ along)
        if squared > 0.0:
            share = along @ away
            share /= squared
            np.maximum(share, 0.0, out=share)
            np.minimum(share, 1.0, out=share)
            for row, length in zip(away, along.tolist(), strict=True):
                row -= share * length
        return away

    def _square_to_axis(self) -> Array:
        along = self.b - self.a
        other = np.eye(3)[np.abs(along).argmin()]
        square = other if not along.any() else np.cross(along, other)
        return np.asarray(square / np.linalg.norm(square))


def _squared(vectors: Array) -> Array:
    """Squared lengths (n,) of vectors (3, n)."""
    squared: Array = vectors[0] * vectors[0]
    squared += vectors[1] * vectors[1]
    squared += vectors[2] * vectors[2]
    return squared
