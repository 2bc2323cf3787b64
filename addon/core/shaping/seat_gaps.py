# SPDX-License-Identifier: GPL-3.0-or-later
"""How far the skin is from the planes of the mount and the further seats."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..job.job_sheet import Job
from ..seat.mount import MountFrame
from ..seat.placed_seat import further_seat, mount_seat
from ..seat.seat import MOST_MOVE, Seat, off_plane
from ..seat.seat_offset import wall_shares
from ..skin.skin import Skin

MOUNT = "Mount Seat"


@dataclass(frozen=True)
class SeatGap:
    """Of a seat: greatest distance of its face from the plane under the pad, mm, None if the skin is not there.

    allowed_mm : what the blend can take up
    """

    name: str
    off_mm: float | None
    allowed_mm: float

    @property
    def fits(self) -> bool:
        """Whether the wall can be worked into the seat."""
        return self.off_mm is not None and self.off_mm <= self.allowed_mm


def seat_gaps(job: Job, whole: Skin) -> tuple[SeatGap, ...]:
    """One for each further seat of the sheet, in its order. whole : the whole skin; of mirrored seats the stated side counts."""
    seats = [further_seat(job, f"seat[{i}]", further, whole.points, whole.normals) for i, further in enumerate(job.seats)]
    return tuple(_gap(job, further.name, seat, whole) for further, seat in zip(job.seats, seats, strict=True))


def mount_gap(job: Job, frame: MountFrame, whole: Skin) -> SeatGap:
    """That of the mount's own seat."""
    return _gap(job, MOUNT, mount_seat(job, frame), whole)


def _gap(job: Job, name: str, seat: Seat, whole: Skin) -> SeatGap:
    outward, inward = wall_shares(job.wall)
    reach = float(np.abs(seat.bolts).max()) + 2.0 * seat.pad + seat.blend
    near = np.linalg.norm(whole.points - seat.origin, axis=1) < 2.0 * reach
    points, normals = whole.points[near], whole.normals[near]
    face = points + (outward if seat.face == "outer" else -inward) * normals
    off = off_plane(face, normals, seat) if near.any() else None
    return SeatGap(name, None if off is None else off[0], MOST_MOVE * seat.blend)
