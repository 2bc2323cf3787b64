# SPDX-License-Identifier: GPL-3.0-or-later
"""How far bolts stay from the real edges of the pieces: rim, trim, openings, and the cut of the split."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..base.format_place import format_place
from ..seat.placed_seat import PlacedSeat, called
from ..tables.edge_distance import SOURCE
from ..wall.closed_wall import ClosedWall
from .joint import Joint


def edge_remarks(wall: ClosedWall, seats: Sequence[PlacedSeat], joint: Joint | None, full_lap: bool) -> tuple[str, ...]:
    """Bolts that are nearer to an edge than the rule of practice asks.

    joint : through the bolts of the mount; full_lap : True if bolts lie in its lap
    Raises JobError with the place of a bolt whose washer, and a millimeter beyond it, does not lie on the wall.
    """
    edge = 0.5 * (wall.outer + wall.inner)[wall.boundary.vertex]
    found = []
    for placed in seats:
        seat, travel = placed.seat, placed.bore.travel
        for number, bolt in enumerate(seat.place(seat.bolts), start=1):
            away = float(np.linalg.norm(edge - bolt, axis=1).min()) - travel
            name = f"bolt {number}" if seat.key == "mount" else f"bolt {number} of {called(placed)}"
            if away < placed.bore.least_edge_distance:
                raise JobError(
                    f"{seat.key}.bolts",
                    f"{name} is {away:.1f} mm from the fender's edge {format_place(bolt)}, at least "
                    f"{placed.bore.least_edge_distance:.1f} mm is needed under what lies on it",
                    bolt,
                )
            found += _remark(name, away, "the fender's edge", bolt, placed)
            if joint is not None and not full_lap:
                found += _remark(name, _from_joint(joint, placed, number - 1, bolt), "the joint", bolt, placed)
    return tuple(found)


def _from_joint(joint: Joint, placed: PlacedSeat, number: int, bolt: Array) -> float:
    way = placed.bore.slots[number]
    slot = abs(float((way[0] * placed.seat.x + way[1] * placed.seat.forward) @ joint.normal))
    return abs(float(joint.along(bolt[None])[0])) - slot - joint.half_length - 0.5 * joint.fit


def _remark(name: str, away: float, what: str, bolt: Array, placed: PlacedSeat) -> list[str]:
    if away >= placed.edge_distance - 1e-6:
        return []
    return [
        (
            f"{name[0].upper()}{name[1:]} is {away:.1f} mm from {what} {format_place(bolt)}, less than {placed.edge_distance:g} mm: the wall "
            f"may tear out there; move it, or give it more wall ({SOURCE})."
        )
    ]
