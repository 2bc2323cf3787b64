# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a fender ends: angles of its tips, and heights over the ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.wheel_axes import station_of
from ..mesh.section import plane_cut
from ..mesh.triangle_mesh import TriangleMesh


@dataclass(frozen=True, eq=False)
class Tips:
    """front_deg, rear_deg : stations of both ends in the center plane; front_height, rear_height : over ground there, mm

    lowest_height : of the whole fender, over ground, mm; lowest : (3,) float, where
    rear_point : (2,) float, (forward, up) from the axle, mm, of the rear end
    """

    front_deg: float
    rear_deg: float
    front_height: float
    rear_height: float
    lowest_height: float
    lowest: Array
    rear_point: Array


def fender_tips(fender: TriangleMesh, axle_height: float) -> Tips:
    """Ends of a fender. fender : wheel axes, mm; axle_height : of the axle over the ground, mm

    Raises ValueError if nothing of the fender is in the center plane.
    """
    cut = plane_cut(fender.vertices, fender.triangles, np.zeros(3), np.array([1.0, 0.0, 0.0]))
    if not cut:
        raise ValueError("fender: nothing of it is in the center plane")
    line = np.concatenate(cut)
    station = station_of(line)
    front, rear = line[np.argmax(station)], line[np.argmin(station)]
    lowest = fender.vertices[np.argmin(fender.vertices[:, 2])]
    return Tips(
        float(station.max()),
        float(station.min()),
        float(front[2]) + axle_height,
        float(rear[2]) + axle_height,
        float(lowest[2]) + axle_height,
        lowest,
        np.array([-rear[1], rear[2]]),
    )
