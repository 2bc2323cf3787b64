# SPDX-License-Identifier: GPL-3.0-or-later
"""An axis of revolution, and points seen from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array
from ...base.row_vectors import dot_rows
from ...fits.directions import across


@dataclass(frozen=True, eq=False)
class Axis:
    """The line through point (3,) with unit direction (3,)."""

    point: Array
    direction: Array

    def meridian(self, points: Array) -> tuple[Array, Array]:
        """Radius from the axis and position along it, (n,) each. points : (n, 3) float."""
        away = points - self.point
        along = away @ self.direction
        square = dot_rows(away, away) - along**2
        return np.sqrt(np.maximum(square, 0.0)), along

    def angle(self, points: Array) -> Array:
        """Angle (n,) about the axis, radians, -pi to pi, from the first of across(direction)."""
        flat = (points - self.point) @ across(self.direction).T
        return np.asarray(np.arctan2(flat[:, 1], flat[:, 0]))

    def at(self, along: float) -> Axis:
        """The same line with its point moved along it."""
        return Axis(self.point + along * self.direction, self.direction)

    def angle_to_deg(self, other: Axis) -> float:
        """Angle between the two lines, degrees, 0 to 90."""
        cross = float(np.linalg.norm(np.cross(self.direction, other.direction)))
        return float(np.degrees(np.arctan2(cross, abs(float(self.direction @ other.direction)))))

    def distance_to(self, point: Array) -> float:
        """Distance of a point (3,) from the line."""
        return float(np.linalg.norm(np.cross(point - self.point, self.direction)))
