# SPDX-License-Identifier: GPL-3.0-or-later
"""How deep the free face of a solid pad may lie, so that the heads and nuts on it stay clear of the tire."""

from __future__ import annotations

import numpy as np

from ..job.job_sheet import Job
from ..seat.hardware import Hardware, seat_hardware
from ..seat.mount import MountFrame
from ..seat.pad_prism import PadPrism
from ..seat.placed_seat import PlacedSeat, placed_mount, stated_seats
from ..wall.job_laminate import laminate_mm
from .limit import Limit
from .proof import proven_clearance

_DEEPEST = 150.0
"""mm under a seat's plane, beyond which a face is not looked for."""
_EXACT = 1e-3
_ROUNDS = 200


def pad_limits(job: Job, frame: MountFrame, tire: Limit, share: float) -> tuple[Limit, ...]:
    """For each bolt of a solid pad a body that the skin must not enter, lest its head or nut come too near to the tire.

    tire : as the part keeps from it; share : mm that the wall takes between the skin and its free face
    On a raised land the free face lies where the sheet puts it, whatever the skin does; then there are none.
    """
    if job.wall.seat != "pad":
        return ()
    grip, found = max(job.wall.thickness, laminate_mm(job)), []
    for placed in (placed_mount(job, frame), *stated_seats(job)):
        items = [item for item in seat_hardware(placed, [grip] * len(placed.seat.bolts), grip) if item.on_fender]
        for bolt, item in enumerate(items):
            spare = _spare(item, tire)
            if 0.0 < spare < _DEEPEST:
                body = _below(placed, bolt, item, grip + spare)
                found.append(Limit(f"room for the {item.name}", body, share, bears=True))
    return tuple(found)


def _spare(item: Hardware, tire: Limit) -> float:
    """How much deeper hardware may stand, mm: a distance falls by no more than the way, so steps as long as it never go too far."""
    deeper = 0.0
    for _ in range(_ROUNDS):
        moved = item.mesh.vertices + deeper * item.axis
        excess = proven_clearance(moved, item.mesh.triangles, tire.body).proven_min_mm - tire.required_mm
        deeper += excess
        if excess < _EXACT or deeper > _DEEPEST:
            break
    return deeper


def _below(placed: PlacedSeat, bolt: int, item: Hardware, depth: float) -> PadPrism:
    """All that lies deeper than a depth under the hardware of a bolt."""
    seat, way = placed.seat, placed.bore.slots[bolt]
    flat = seat.in_plane(item.mesh.vertices) - seat.bolts[bolt]
    radius = float(np.linalg.norm(flat, axis=1).max() - np.linalg.norm(way))
    axes = np.stack([seat.x, seat.forward, item.axis])
    return PadPrism(seat.origin + depth * item.axis, axes, seat.bolts[bolt] + np.outer([-1.0, 1.0], way), radius, _DEEPEST)
