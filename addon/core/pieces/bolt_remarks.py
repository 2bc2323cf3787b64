# SPDX-License-Identifier: GPL-3.0-or-later
"""What a builder must be told of the bolts of a finished seat."""

from __future__ import annotations

from collections.abc import Iterable

from ..base.arrays import Array
from ..base.format_place import format_place
from ..clearance.keepout import Keepout
from ..seat.bore import Bore
from ..seat.seat import Seat
from ..tables.bolt_seats import MOST_UNEVEN
from ..wall.closed_wall import ClosedWall
from .holes import bolt_depth
from .tool_access import Cylinder


def uneven_remarks(wall: ClosedWall, seat: Seat, bore: Bore) -> tuple[str, ...]:
    """Where heads or washers would lie on a face that is not flat."""
    if bore.recess:
        return ()
    depths = [bolt_depth(wall, seat, index, bore) for index in range(len(seat.bolts))]
    worst = max(range(len(depths)), key=lambda index: depths[index].most - depths[index].least)
    uneven = depths[worst].most - depths[worst].least
    if uneven <= MOST_UNEVEN:
        return ()
    place = format_place(seat.place(seat.bolts[worst][None])[0])
    where = f"Head and washer of bolt {worst + 1} lie on a face that is {uneven:.1f} mm off flat {place}"
    return (f'{where}: choose {seat.key}.hardware = "washer_flat" or wall.seat = "land".',)


def reach_remarks(cylinders: Iterable[Cylinder], keepouts: Iterable[Keepout]) -> tuple[str, ...]:
    """Keep-outs, with their motion, that stand in the straight way of a screw and its tool."""
    found = []
    for keepout in keepouts:
        for cylinder in cylinders:
            inside = _within(cylinder, keepout)
            if inside is not None:
                found.append(
                    f"{keepout.name} stands in the straight way of the screw and its tool {format_place(inside)}, "
                    f"{2.0 * cylinder.radius:g} mm across and {cylinder.length:g} mm long, at some place of its travel: see that the "
                    "bolt can be reached."
                )
                break
    return tuple(found)


def _within(cylinder: Cylinder, keepout: Keepout) -> Array | None:
    # points 2 mm apart on the axis miss no more than 1 mm of the way to a body
    points = cylinder.points()
    distance = keepout.body.distance(points)
    near = int(distance.argmin())
    return points[near] if distance[near] < cylinder.radius else None
