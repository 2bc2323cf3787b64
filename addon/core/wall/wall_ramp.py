# SPDX-License-Identifier: GPL-3.0-or-later
"""A wall that is thick at the seat and thins toward the tips."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.smooth_step import smooth_step
from ..base.wheel_axes import station_of


@dataclass(frozen=True)
class WallRamp:
    """How much of the wall's full thickness stands at a station: all between two stations, less past them.

    ahead, behind : stations in degrees where the ramps begin; front, rear : share of the full thickness at their ends, 0 to 1
    radius : mm, that lengths along the fender are measured on; length : of either ramp, mm
    """

    ahead: float
    behind: float
    front: float
    rear: float
    radius: float
    length: float

    def share(self, points: Array) -> Array:
        """(n,) share of the full thickness at points (n, 3), wheel axes; twice differentiable."""
        station = station_of(points)
        per_degree = np.radians(1.0) * self.radius / self.length
        thin_ahead = (1.0 - self.front) * smooth_step((station - self.ahead) * per_degree)
        thin_behind = (1.0 - self.rear) * smooth_step((self.behind - station) * per_degree)
        return np.asarray(1.0 - thin_ahead - thin_behind)
