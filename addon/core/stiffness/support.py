# SPDX-License-Identifier: GPL-3.0-or-later
"""What holds a fender: its bolts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..seat.placed_seat import PlacedSeat

_RIM_POINTS = 8
"""Points on the rim of what a bolt clamps, the same however fine the rest is."""


@dataclass(frozen=True, eq=False)
class Support:
    """A bolt. place : (3,) float, mm, where its axis meets the seat; axis : (3,) float, unit; radius : of what it clamps, mm"""

    place: Array
    axis: Array
    radius: float

    def off_axis(self, points: Array) -> Array:
        """(n,) distance of points (n, 3) from the axis, mm; from the place itself for what is far along the axis.

        A fender comes back to the axis on the other side of the wheel.
        """
        way = points - self.place
        along = way @ self.axis
        off = np.linalg.norm(way - along[:, None] * self.axis, axis=1)
        return np.asarray(np.where(np.abs(along) > 2.0 * self.radius, np.linalg.norm(way, axis=1), off))

    def rim(self, points: Array) -> Index:
        """The points nearest to evenly spread ones on the rim of what the bolt clamps."""
        one = np.cross(self.axis, np.eye(3)[int(np.argmin(np.abs(self.axis)))])
        one /= np.linalg.norm(one)
        turn = 2.0 * np.pi * np.arange(_RIM_POINTS) / _RIM_POINTS
        nearest = points[np.argmin(self.off_axis(points))]
        center = self.place + ((nearest - self.place) @ self.axis) * self.axis
        rim = center + self.radius * (np.outer(np.cos(turn), one) + np.outer(np.sin(turn), np.cross(self.axis, one)))
        return np.unique([int(np.argmin(np.linalg.norm(points - place, axis=1))) for place in rim])

    def on_rim(self, points: Array) -> Array:
        """Points (n, 3) moved straight away from the axis, or toward it, onto the rim."""
        way = points - self.place
        along = (way @ self.axis)[:, None] * self.axis
        off = way - along
        return np.asarray(self.place + along + self.radius * off / np.linalg.norm(off, axis=1, keepdims=True))


def bolt_supports(seats: Sequence[PlacedSeat]) -> tuple[Support, ...]:
    """The bolts of all seats; each clamps what is under its washer, head or insert. A slot is clamped in its middle."""
    return tuple(
        Support(place, placed.seat.normal, 0.5 * placed.bore.room)
        for placed in seats
        for place in placed.seat.place(placed.seat.bolts)
    )
