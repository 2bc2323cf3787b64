# SPDX-License-Identifier: GPL-3.0-or-later
"""Metal sleeves and washers that take the pull of the screws off the laminate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..job.job_sheet import Job
from ..tables.fasteners import CLEARANCE_HOLE, LARGE_WASHER
from ..tables.mold_rules import SLEEVE_WALL_MM


@dataclass(frozen=True)
class Sleeves:
    """Of one seat. name : of it; count; thread; inner, outer : diameters, mm, the outer one is drilled; length : mm, of the laminate there

    washer : diameter of the large washers, mm, one on each side
    """

    name: str
    count: int
    thread: str
    inner: float
    outer: float
    length: float
    washer: float


def bolt_sleeves(job: Job, thickness: float) -> tuple[Sleeves, ...]:
    """A sleeve in each bolt hole of the mount and of further seats. thickness : mm, of the laminate

    Holes by ISO 273, fit of the sheet; washers by ISO 7093.
    """
    seats: Sequence[tuple[str, str, str, int]] = [
        ("mount", job.mount.thread, job.mount.fit, len(job.mount.bolts)),
        *((seat.name, seat.thread, seat.fit, len(seat.bolts)) for seat in job.seats),
    ]
    return tuple(
        Sleeves(
            name,
            count,
            thread,
            CLEARANCE_HOLE[thread][fit],
            CLEARANCE_HOLE[thread][fit] + 2.0 * SLEEVE_WALL_MM,
            thickness,
            LARGE_WASHER[thread].outer,
        )
        for name, thread, fit, count in seats
    )
