# SPDX-License-Identifier: GPL-3.0-or-later
"""Everything behind a plane."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points, frozen


class HalfSpace:
    """All points on the side of a plane that its normal points away from; convex."""

    def __init__(self, point: ArrayLike, normal: ArrayLike) -> None:
        """point : (3,) float, mm, on the plane; normal : (3,) float, away from the body, any length but 0.

        Raises ValueError if a value is not finite or the normal has no length.
        """
        given = as_points([np.asarray(point, dtype=np.float64), np.asarray(normal, dtype=np.float64)], "half-space")
        length = float(np.linalg.norm(given[1]))
        if length == 0.0:
            raise ValueError("half-space normal: has no length")
        self.point: Array = frozen(given[0])
        self.normal: Array = frozen(given[1] / length)

    @property
    def convex(self) -> bool:
        return True

    def distance(self, points: ArrayLike) -> Array:
        """Signed distance (n,), mm: height over the plane."""
        return np.asarray((as_points(points) - self.point) @ self.normal)

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Signed distance (n,) and unit gradient (n, 3), the same everywhere."""
        distance = self.distance(points)
        return distance, np.tile(self.normal, (len(distance), 1))
