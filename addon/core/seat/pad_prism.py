# SPDX-License-Identifier: GPL-3.0-or-later
"""A plate with the outline of a seat: what a further seat's bracket takes up over its pad."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points, frozen
from ..base.convex_polygon import convex_hull
from .seat_outline import outline_distance


class PadPrism:
    """The hull of equal discs about bolts, as thick as stated, on one side of its plane; convex."""

    def __init__(self, origin: ArrayLike, axes: ArrayLike, bolts: ArrayLike, pad: float, thickness: float) -> None:
        """origin : (3,) float, mm, on the plane; axes : (3, 3) float, rows square to each other and of length 1: two in the plane,
        the third from it into the plate. bolts : (b, 2) float, mm, in the plane; pad, thickness : mm > 0
        Raises ValueError otherwise.
        """
        directions = as_points(axes, "pad prism axes")
        if directions.shape != (3, 3) or np.abs(directions @ directions.T - np.eye(3)).max() > 1e-9:
            raise ValueError("pad prism axes: expected three unit directions, square to each other")
        if not (np.isfinite([pad, thickness]).all() and pad > 0.0 and thickness > 0.0):
            raise ValueError(f"pad prism: pad {pad}, thickness {thickness}, expected two lengths over 0")
        self.origin: Array = frozen(as_points(np.reshape(np.asarray(origin, dtype=np.float64), (1, 3)), "pad prism origin")[0])
        self.axes: Array = frozen(directions)
        self.bolts: Array = frozen(np.asarray(bolts, dtype=np.float64))
        self._hull = convex_hull(self.bolts)
        self.pad, self.thickness = float(pad), float(thickness)

    @property
    def convex(self) -> bool:
        return True

    def distance(self, points: ArrayLike) -> Array:
        """Signed distance (n,), mm; inside, to the nearest side or face."""
        return self.distance_and_gradient(points)[0]

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Signed distance (n,) and unit gradient (n, 3); where side and face are equally near inside, that of one of them."""
        local = (as_points(points) - self.origin) @ self.axes.T
        beside, outward = self._beside(local[:, :2])
        middle = local[:, 2] - 0.5 * self.thickness
        past = np.abs(middle) - 0.5 * self.thickness
        side, face = np.maximum(beside, 0.0), np.maximum(past, 0.0)
        apart = np.hypot(side, face)
        within = apart == 0.0
        divisor = np.where(within, 1.0, apart)
        side_share = np.where(within, beside > past, side / divisor)
        face_share = np.where(within, beside <= past, face / divisor)
        gradient = np.column_stack([side_share[:, None] * outward, face_share * np.where(middle < 0.0, -1.0, 1.0)])
        return np.where(within, np.maximum(beside, past), apart), gradient @ self.axes

    def _beside(self, flat: Array) -> tuple[Array, Array]:
        """Signed distance (n,) to the outline and the unit direction (n, 2) away from it, among the bolts too."""
        distance, direction = outline_distance(flat, self.bolts, self.pad)
        among = np.flatnonzero(~direction.any(axis=1))
        edge = np.roll(self._hull, -1, axis=0) - self._hull
        square = np.column_stack([edge[:, 1], -edge[:, 0]]) if edge.any() else np.array([[1.0, 0.0]])
        square /= np.linalg.norm(square, axis=1, keepdims=True)
        past = np.einsum("nej,ej->ne", flat[among, None, :] - self._hull, square)
        nearest = past.argmax(axis=1)
        direction[among] = square[nearest]
        distance[among] = np.minimum(past.max(axis=1), 0.0) - self.pad
        return distance, direction
