# SPDX-License-Identifier: GPL-3.0-or-later
"""Directions in which cage points may go: on the mirror plane, on the mount plane, or anywhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask


@dataclass(frozen=True, eq=False)
class SeatRows:
    """Cage points that stay on the mount plane.

    points : (n,) bool; normal : (3,) float, normal of the mount plane, any length but zero
    """

    points: Mask
    normal: Array


@dataclass(frozen=True, eq=False)
class PointFreedom:
    """held : (h,) int, places in a list of points; projection : (h, 3, 3) float, onto the directions left to each."""

    held: Index
    projection: Array

    def restrict(self, vectors: Array) -> Array:
        """Vectors (..., m, 3) without the parts that the held points may not take."""
        if len(self.held) == 0:
            return vectors
        free = vectors.copy()
        free[..., self.held, :] = np.einsum("hij,...hj->...hi", self.projection, vectors[..., self.held, :])
        return free


def point_freedom(fixed_x: Mask, seat: SeatRows | None) -> PointFreedom:
    """Freedom of m points. fixed_x : (m,) bool, points that keep their x; seat : its mask is (m,) here."""
    on_seat = np.zeros(len(fixed_x), bool) if seat is None else seat.points
    held = np.flatnonzero(fixed_x | on_seat)
    projection = np.tile(np.eye(3), (len(held), 1, 1))
    along_x = np.array([1.0, 0.0, 0.0])
    projection[fixed_x[held]] -= np.outer(along_x, along_x)
    if seat is not None:
        for at in np.flatnonzero(on_seat[held]):
            # What of the seat's normal is still free: nothing twice when both hold.
            normal = projection[at] @ (seat.normal / np.linalg.norm(seat.normal))
            length = np.linalg.norm(normal)
            if length > np.finfo(float).eps:
                projection[at] -= np.outer(normal, normal) / length**2
    return PointFreedom(held, projection)
