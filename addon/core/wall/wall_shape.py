# SPDX-License-Identifier: GPL-3.0-or-later
"""How thick the wall is asked to be where: ramps to the tips, what was painted, ribs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from .rib import Rib
from .wall_ramp import WallRamp


@dataclass(frozen=True)
class WallShape:
    """What makes a wall differ from its plain thickness.

    ramp : toward the tips, None for none; painted : share of the plain thickness where a surface is painted with 1; ribs : on its
    face away from the tire
    """

    ramp: WallRamp | None = None
    painted: float = 1.0
    ribs: tuple[Rib, ...] = ()

    def share(self, points: Array, paint: Array) -> Array:
        """(n,) share of the plain thickness, ribs left out. points : (n, 3) float, mm, wheel axes; paint : (n,) float, 0 to 1

        Paint takes the place of the ramp, the more the nearer it is to 1.
        """
        ramped = np.ones(len(points)) if self.ramp is None else self.ramp.share(points)
        return np.asarray(ramped + paint * (self.painted - ramped))

    def raised(self, points: Array) -> tuple[Array, Array]:
        """Height (n,) of the ribs at points (n, 3), mm, and its gradient (n, 3); where ribs meet, the higher one counts."""
        height, slope = np.zeros(len(points)), np.zeros((len(points), 3))
        for rib in self.ribs:
            own, own_slope = rib.height_and_slope(points)
            higher = own > height
            height, slope = np.where(higher, own, height), np.where(higher[:, None], own_slope, slope)
        return height, slope
