# SPDX-License-Identifier: GPL-3.0-or-later
"""A box in any position: the bracket's plate, brackets, brake parts."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points, frozen


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
        past = np.abs(self._local(points))
        past -= self.half[:, None]
        return _distance(past)

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Signed distance (n,) and unit gradient (n, 3); where several faces are equally near inside, that of one of them."""
        local = self._local(points)
        past = np.abs(local)
        past -= self.half[:, None]
        distance = _distance(past)
        within = np.flatnonzero(distance <= 0.0)
        nearest_face = past[:, within].argmax(axis=0)
        np.maximum(past, 0.0, out=past)
        past[:, within] = 0.0
        past[nearest_face, within] = 1.0
        divisor = distance.copy()
        divisor[within] = 1.0
        past /= divisor
        np.copysign(past, local, out=past)
        return distance, past.T @ self.axes

    def _local(self, points: ArrayLike) -> Array:
        """(3, n) coordinates along the axes of the box; one row an axis, since numpy is slow at rows of three."""
        local: Array = self.axes @ as_points(points).T
        local -= (self.axes @ self.center)[:, None]
        return local


def _distance(past: Array) -> Array:
    """Distance from how far points lie past the faces along each axis, (3, n)."""
    highest = np.maximum(past[0], past[1])
    np.maximum(highest, past[2], out=highest)
    outside = np.maximum(past, 0.0)
    outside *= outside
    squared = outside[0]
    squared += outside[1]
    squared += outside[2]
    np.sqrt(squared, out=squared)
    return np.where(highest > 0.0, squared, highest)
