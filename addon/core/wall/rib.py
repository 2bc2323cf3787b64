# SPDX-License-Identifier: GPL-3.0-or-later
"""A rib along the fender, raised on the face away from the tire."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.smooth_step import smooth_slope, smooth_step
from ..base.wheel_axes import radius_of, station_of


@dataclass(frozen=True)
class Rib:
    """A rib with a rounded back that runs out smoothly to all sides.

    front, rear : stations where it has run out, degrees; x : of its middle, mm; width : at its foot, height : mm
    radius : mm, that lengths along the fender are measured on; it rises over one width at either end
    """

    front: float
    rear: float
    x: float
    width: float
    height: float
    radius: float

    def height_and_slope(self, points: Array) -> tuple[Array, Array]:
        """Height (n,), mm, at points (n, 3), wheel axes, and its gradient (n, 3)."""
        station, rho = station_of(points), radius_of(points)
        off = points[:, 0] - self.x
        end = float(np.degrees(self.width / self.radius))
        cross = 1.0 - np.abs(off) / (0.5 * self.width)
        ahead, behind = (self.front - station) / end, (station - self.rear) / end
        across, front, rear = smooth_step(cross), smooth_step(ahead), smooth_step(behind)
        to_x = -np.sign(off) * smooth_slope(cross) / (0.5 * self.width) * front * rear
        to_station = across * (front * smooth_slope(behind) - rear * smooth_slope(ahead)) / end
        turn = np.radians(station)
        forward = np.stack([np.zeros(len(points)), -np.cos(turn), -np.sin(turn)], axis=1)
        slope = (to_station * np.degrees(1.0) / np.maximum(rho, 1e-300))[:, None] * forward
        slope[:, 0] += to_x
        return self.height * across * front * rear, self.height * slope
