# SPDX-License-Identifier: GPL-3.0-or-later
"""The ramps of the wall that a job sheet asks for."""

from __future__ import annotations

import math

from .job_sheet import Job
from .mount import mount_frame
from .solid.wall_ramp import WallRamp
from .wheel_axes import radius_of, station_of


def job_ramp(job: Job) -> WallRamp | None:
    """The ramps, which begin where the blend of the mount's seat ends; None for a constant wall."""
    wall = job.wall
    if wall.front_thickness is None and wall.rear_thickness is None:
        return None
    frame = mount_frame(job)
    stations = station_of(frame.to_axes(frame.outline(256)))
    radius = float(radius_of(frame.origin))
    blend = math.degrees(job.mount.blend / radius)
    front, rear = (
        1.0 if end is None else end / wall.thickness for end in (wall.front_thickness, wall.rear_thickness)
    )
    return WallRamp(float(stations.max()) + blend, float(stations.min()) - blend, front, rear, radius, wall.ramp)


def thinnest(job: Job) -> float:
    """The least thickness that the sheet asks of the wall, mm."""
    wall = job.wall
    return min((wall.thickness, *(end for end in (wall.front_thickness, wall.rear_thickness) if end is not None)))


def wall_at_cut(job: Job) -> float:
    """The least thickness that the middle cut goes through, mm: across it stays in the seat, along it reaches both tips."""
    return thinnest(job) if job.split.plane == "along" else job.wall.thickness
