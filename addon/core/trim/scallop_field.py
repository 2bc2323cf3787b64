# SPDX-License-Identifier: GPL-3.0-or-later
"""A scallop round a body as a field over the skin."""

from __future__ import annotations

from ..base.arrays import Array
from ..bodies.body import Body
from .trim_edge import Field


def scallop_field(body: Body, distance: float) -> Field:
    """What comes nearer to a body than a distance, mm, is cut away."""

    def field(points: Array, normals: Array) -> tuple[Array, Array]:
        value, gradient = body.distance_and_gradient(points)
        return value - distance, gradient

    return field
