# SPDX-License-Identifier: GPL-3.0-or-later
"""A body set somewhere else: turned, shifted, scaled evenly, mirrored."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array, as_points
from .body import Body, FarAside, Shell

_EVEN = 1e-6
"""Relative difference of scales along the axes up to which a placement is even; float32 matrices of the host have 1e-7."""


def even_scale(linear: Array) -> float | None:
    """Scale of a linear map (3, 3) that keeps angles; None if it does not, or is flat.

    A is such a map if A^T A is a multiple of the unit matrix.
    """
    gram = linear.T @ linear
    square = float(np.trace(gram)) / 3.0
    if square <= 0.0 or np.abs(gram - square * np.eye(3)).max() > _EVEN * square:
        return None
    return float(np.sqrt(square))


class PlacedBody:
    """body, moved by p -> linear p + shift, where linear turns, mirrors and scales evenly.

    A distance is that in the body's own space, times the scale.
    """

    def __init__(self, body: Body, linear: Array, shift: Array) -> None:
        """linear : (3, 3) float; shift : (3,) float, mm. Raises ValueError if linear does not keep angles."""
        scale = even_scale(linear)
        if scale is None:
            raise ValueError("linear: expected a map that keeps angles")
        self._body, self._scale, self._shift = body, scale, np.asarray(shift, np.float64)
        self._turn = np.asarray(linear, np.float64) / scale

    @property
    def convex(self) -> bool:
        return self._body.convex

    def distance(self, points: Array) -> Array:
        """Signed distance (n,), mm. points : (n, 3) float."""
        return self._scale * self._body.distance(self._own(points))

    def distance_and_gradient(self, points: Array) -> tuple[Array, Array]:
        """Signed distance (n,) and its unit gradient (n, 3)."""
        distance, gradient = self._body.distance_and_gradient(self._own(points))
        return self._scale * distance, gradient @ self._turn.T

    def distance_within(self, points: Array, near: float) -> tuple[Array, Array]:
        """As distance_and_gradient; beyond near, mm, a distance may be told as any lower bound not under it."""
        own = self._own(points)
        if not isinstance(self._body, FarAside):
            distance, gradient = self._body.distance_and_gradient(own)
        else:
            distance, gradient = self._body.distance_within(own, near / self._scale)
        return self._scale * distance, gradient @ self._turn.T

    @property
    def open_edges(self) -> int:
        """Of a body that may be open, how many of its edges are not between two faces; 0 for others."""
        return self._body.open_edges if isinstance(self._body, Shell) else 0

    def _own(self, points: Array) -> Array:
        return (as_points(points) - self._shift) @ (self._turn / self._scale)


def mirror_image(body: Body) -> PlacedBody:
    """The body on the other side of the center plane x = 0."""
    return PlacedBody(body, np.diag([-1.0, 1.0, 1.0]), np.zeros(3))
