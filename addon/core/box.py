# SPDX-License-Identifier: GPL-3.0-or-later
"""A box in any position: the bracket's plate, brackets, brake parts."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .arrays import Array, as_points, frozen


class Box:
    """A solid box; convex."""

    def __init__(self, center: ArrayLike, size: ArrayLike, axes: ArrayLike | None = None) -> None:
        """center : (3,) float, mm; size : (3,) float, mm > 0, full lengths along its axes.

        axes : (3, 3) float, rows are the unit directions of its edges, square to each other; wheel axes if left out
        Raises ValueError otherwise.
        """
        given = as_points([np.asarray(center, dtype=np.float64), np.asarray(size, dtype=np.float64)], "box")
        if not (given[1] > 0.0).all():
            raise ValueError(f"box size: {given[1].tolist()}, expected three lengths over 0")
        directions = np.eye(3) if axes is None else as_points(axes, "box axes")
        if directions.shape != (3, 3) or np.abs(directions @ directions.T - np.eye(3)).max() > 1e-9:
            raise ValueError("box axes: expected three unit directions, square to each other")
        self.center: Array = frozen(given[0])
        self.half: Array = frozen(0.5 * given[1])
        self.axes: Array = frozen(directions)

    @property
    def convex(self) -> bool:
        return True

    def distance(self, points: ArrayLike) -> Array:
        """Signed distance (n,), mm; inside, to the nearest face."""
        past = self._past(points)[0]
        return _distance(past)

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Signed distance (n,) and unit gradient (n, 3); where several faces are equally near inside, that of one of them."""
        past, side = self._past(points)
        distance = _distance(past)
        gradient = np.maximum(past, 0.0)
        outside = distance > 0.0
        gradient[outside] /= distance[outside, None]
        within = np.flatnonzero(~outside)
        gradient[within] = 0.0
        gradient[within, past[within].argmax(axis=1)] = 1.0
        gradient *= side
        return distance, gradient @ self.axes

    def _past(self, points: ArrayLike) -> tuple[Array, Array]:
        """How far points (n, 3) lie past the faces along each axis of the box, and on which side of its center (+1, -1)."""
        local = (as_points(points) - self.center) @ self.axes.T
        return np.abs(local) - self.half, np.where(local < 0.0, -1.0, 1.0)


def _distance(past: Array) -> Array:
    x, y, z = past.T
    highest = np.maximum(np.maximum(x, y), z)
    outside = np.square(np.maximum(x, 0.0))
    outside += np.square(np.maximum(y, 0.0))
    outside += np.square(np.maximum(z, 0.0))
    return np.where(highest > 0.0, np.sqrt(outside), highest)
