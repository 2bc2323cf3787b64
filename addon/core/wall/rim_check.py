# SPDX-License-Identifier: GPL-3.0-or-later
"""How round the rim really is, measured on the mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from .closed_wall import ClosedWall


@dataclass(frozen=True, eq=False)
class RimStats:
    """Measured rim. least_radius : mm, of the section, 0 where it is sharp; place : (3,) where that is, mm"""

    least_radius: float
    place: Array


def rim_stats(wall: ClosedWall) -> RimStats:
    """The least radius of the rim's sections: of the circles through three neighbors each of the mesh's points.

    Bolt holes and the cut between the pieces are not part of the rim.
    """
    points = wall.mesh.vertices[wall.rim]
    if points.shape[1] < 3:
        return RimStats(0.0, points[0, 0])
    a, b, c = points[:, :-2], points[:, 1:-1], points[:, 2:]
    doubled_area = np.linalg.norm(np.cross(b - a, c - a), axis=2)
    sides = [np.linalg.norm(one - other, axis=2) for one, other in ((a, b), (b, c), (c, a))]
    with np.errstate(divide="ignore"):
        radius = sides[0] * sides[1] * sides[2] / (2.0 * doubled_area)
    section, number = np.unravel_index(int(np.argmin(radius)), radius.shape)
    return RimStats(float(radius[section, number]), b[section, number])
