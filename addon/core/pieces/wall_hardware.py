# SPDX-License-Identifier: GPL-3.0-or-later
"""Heads, washers and nuts where they lie on the finished wall."""

from __future__ import annotations

from collections.abc import Iterable

from ..seat.hardware import Hardware, seat_hardware
from ..seat.placed_seat import PlacedSeat
from ..wall.closed_wall import ClosedWall
from .holes import bolt_depth


def wall_hardware(wall: ClosedWall, seats: Iterable[PlacedSeat]) -> tuple[Hardware, ...]:
    """What stands at the bolts of all seats of a wall, each on the highest place of the face around it.

    A recess begins at the lowest place of that face.
    """
    found: list[Hardware] = []
    for placed in seats:
        depths = [bolt_depth(wall, placed.seat, bolt, placed.bore) for bolt in range(len(placed.seat.bolts))]
        faces = [at.least if placed.bore.recess else at.most for at in depths]
        found += seat_hardware(placed, faces, max(faces))
    return tuple(found)
