# SPDX-License-Identifier: GPL-3.0-or-later
"""Walls of fenders for tests of stiffness."""

from __future__ import annotations

from typing import Any

import numpy as np

from addon.core.shells.elastic import Elastic
from addon.core.stiffness.support import Support
from addon.core.wall.closed_wall import ClosedWall, closed_wall
from addon.core.wall.wall_shape import WallShape
from tests.core.torus_surface import crown_seat, torus_surface

PLASTIC = Elastic(1600.0, 0.38, 1.27)


def bolted_wall(
    thickness: float = 3.0, shape: WallShape | None = None, **of_torus: Any
) -> tuple[ClosedWall, tuple[Support, ...]]:
    """A segment of a torus with a seat on its crown, and the four bolts there, with washers of 18 mm."""
    seat = crown_seat()
    surface = torus_surface(**{"front": 40.0, "rear": -60.0, **of_torus})
    wall = closed_wall(surface, 0.0, thickness, "round", seat, shape=shape)
    return wall, tuple(Support(place, np.array([0.0, 0.0, 1.0]), 9.0) for place in seat.place(seat.bolts))
