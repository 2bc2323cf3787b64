# SPDX-License-Identifier: GPL-3.0-or-later
"""One edge of a trim, as a scalar field over the skin."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.row_vectors import dot_rows, unit_rows

Field = Callable[[Array, Array], tuple[Array, Array]]
"""Value (n,) and gradient (n, 3) at points (n, 3) with normals (n, 3) of the skin; negative where the skin is cut away."""

FLATTEST = 0.1
"""Least slope of a field along the skin that a distance is taken from; flatter, it is no measure of length any more."""


@dataclass(frozen=True, eq=False)
class TrimEdge:
    """An edge that skin is cut away at.

    key : in the job sheet, such as "trim_line[0]"; name : as the builder calls it; field : see Field
    reach : how far the rim stands past the edge of the skin, mm: the finished rim ends where the field is 0
    to_middle : from the skin to where the field is taken, along the normal, mm: the rim stands about the middle of the wall
    opening : True if it cuts a hole, whose edge meets no other
    """

    key: str
    name: str
    field: Field
    reach: float = 0.0
    to_middle: float = 0.0
    opening: bool = False

    def distance(self, points: Array, normals: Array) -> tuple[Array, Array]:
        """Distance along the skin to where it is cut, (n,), negative in what is cut away, and the unit way inward (n, 3).

        To first order in the distance: the value over its slope along the skin.
        """
        value, gradient = self.field(points + self.to_middle * normals, normals)
        along = gradient - (gradient * normals).sum(axis=1, keepdims=True) * normals
        slope = np.sqrt(dot_rows(along, along))
        return value / np.maximum(slope, FLATTEST) - self.reach, unit_rows(along)
