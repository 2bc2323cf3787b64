# SPDX-License-Identifier: GPL-3.0-or-later
"""Bolt holes through the seat."""

from __future__ import annotations

import numpy as np

from ..arrays import Array
from ..errors import JobError
from .closed_wall import ClosedWall
from .prism import prism
from .seat import Seat
from .seat_outline import outline_distance
from .triangle_mesh import TriangleMesh, joined

SIDES = 64
"""Corners of a hole; for M12 the flats are within 0.01 mm of the corners' circle."""

PAST_FACE = 1.0
"""How far a cutter stands out of the wall, mm, so that its ends never lie in a face."""


def hole_cutter(wall: ClosedWall, seat: Seat, diameter: float) -> TriangleMesh:
    """Prisms through the wall at each bolt, square to the seat, no longer than the wall is thick there.

    diameter : mm, of the hole; the prisms go around that circle
    Raises JobError if two holes meet.
    """
    _check_apart(seat, diameter)
    return joined([_cutter(wall, seat, bolt, diameter) for bolt in seat.bolts])


def _cutter(wall: ClosedWall, seat: Seat, bolt: Array, diameter: float) -> TriangleMesh:
    heights = [seat.height(face[_near(face, wall, seat, bolt, diameter)]) for face in (wall.outer, wall.inner)]
    low, high = min(h.min() for h in heights) - PAST_FACE, max(h.max() for h in heights) + PAST_FACE
    foot = seat.place(bolt[None])[0]
    return prism(foot + low * seat.normal, foot + high * seat.normal, 0.5 * diameter, SIDES)


def _near(face: Array, wall: ClosedWall, seat: Seat, bolt: Array, diameter: float) -> Array:
    distance, _ = outline_distance(seat.in_plane(face), bolt[None], 0.0)
    seated = wall.seat_weight > 0.5
    return np.asarray(seated & (distance <= np.maximum(diameter, distance[seated].min())))


def _check_apart(seat: Seat, diameter: float) -> None:
    for i, bolt in enumerate(seat.bolts):
        for j in range(i):
            apart = float(np.linalg.norm(bolt - seat.bolts[j]))
            if apart <= 1.5 * diameter:
                raise JobError(
                    "mount.bolts",
                    f"bolts {j + 1} and {i + 1} are {apart:.1f} mm apart, their holes of {diameter:g} mm need more than "
                    f"{1.5 * diameter:.1f} mm",
                )
