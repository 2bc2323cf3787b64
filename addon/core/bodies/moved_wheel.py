# SPDX-License-Identifier: GPL-3.0-or-later
"""A wheel wherever its axle may be."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, as_points
from .axle_places import AxlePlaces
from .meridian_body import MeridianBody


class MovedWheel:
    """All places of a wheel that is filled to its axle while the axle moves in the center plane, level; exact.

    The distance to such a wheel never falls with the distance from its axle, so a point is nearest to the wheel on the nearest
    axle place. Outside the distance is exact. Inside it is negative and at least as high as the exact one. Convex if the set
    of places is: then it is the sum of two convex bodies.
    """

    def __init__(self, wheel: MeridianBody, places: AxlePlaces) -> None:
        self.wheel = wheel
        self.places = places

    @property
    def convex(self) -> bool:
        return self.places.convex

    def distance(self, points: ArrayLike) -> Array:
        """Distance (n,), mm, as the class says. points : (n, 3) float, mm, wheel axes"""
        return self.wheel.distance(self._seen(points))

    def distance_and_gradient(self, points: ArrayLike) -> tuple[Array, Array]:
        """Distance (n,) and unit gradient (n, 3): those of the wheel where it comes nearest."""
        return self.wheel.distance_and_gradient(self._seen(points))

    def _seen(self, points: ArrayLike) -> Array:
        """Where the points are for the wheel when it has come nearest."""
        seen = np.array(as_points(points))
        seen[:, 1:] -= self.places.nearest(seen[:, 1:])
        return seen
