# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the skin lies when the part is seated on the mount face."""

from __future__ import annotations

from ..job.job_sheet import Job, Wall


def wall_shares(wall: Wall) -> tuple[float, float]:
    """(outer, inner): mm of wall outward and inward of the skin; their sum is the thickness."""
    outer = {"inside": 0.0, "middle": 0.5, "outside": 1.0}[wall.side] * wall.thickness
    return outer, wall.thickness - outer


def seat_offset(job: Job) -> float:
    """Height of the seated skin over the mount plane, mm along the frame's up; negative is below.

    "under" the plate the outer face bears on the mount plane, "over" it the inner face.
    """
    outer, inner = wall_shares(job.wall)
    return -outer if job.mount.side == "under" else inner
