# SPDX-License-Identifier: GPL-3.0-or-later
"""The wall that a job sheet asks for: its ramps, what was painted, its ribs."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..base.errors import JobError
from ..base.wheel_axes import point_at, radius_of, station_of
from ..job.job_sheet import Job
from ..mesh.open_surface import Surface
from ..seat.mount import mount_frame
from .rib import Rib
from .wall_ramp import WallRamp
from .wall_shape import WallShape

LEAST_RAISED = 0.5
"""Share of its height that a rib must reach somewhere on the skin, else it is beside it; our choice."""


def wall_shape(job: Job) -> WallShape | None:
    """Where the wall differs from wall.thickness; None for a constant one."""
    painted = job.wall.painted_thickness
    ramp, ribs = job_ramp(job), tuple(_ribs(job))
    if ramp is None and painted is None and not ribs:
        return None
    return WallShape(ramp, 1.0 if painted is None else painted / job.wall.thickness, ribs)


def job_ramp(job: Job) -> WallRamp | None:
    """The ramps, which begin where the blend of the mount's seat ends; None if the tips are as thick as the rest."""
    wall = job.wall
    if wall.front_thickness is None and wall.rear_thickness is None:
        return None
    frame = mount_frame(job)
    stations = station_of(frame.to_axes(frame.outline(256)))
    radius = float(radius_of(frame.origin))
    blend = math.degrees(job.mount.blend / radius)
    front, rear = (1.0 if end is None else end / wall.thickness for end in (wall.front_thickness, wall.rear_thickness))
    return WallRamp(float(stations.max()) + blend, float(stations.min()) - blend, front, rear, radius, wall.ramp)


def _ribs(job: Job) -> Iterator[Rib]:
    radius = float(radius_of(mount_frame(job).origin))
    for rib in job.ribs:
        for x in (rib.x, -rib.x) if rib.sides == "both" and rib.x != 0.0 else (rib.x,):
            yield Rib(rib.front, rib.rear, x, rib.width, rib.height, radius)


def check_ribs_on_skin(job: Job, surface: Surface) -> None:
    """Raise JobError, with the place, if a rib of the sheet is beside the skin. surface : the whole skin, wheel axes, mm"""
    radius = float(radius_of(mount_frame(job).origin))
    for i, rib in enumerate(job.ribs):
        raised = Rib(rib.front, rib.rear, rib.x, rib.width, rib.height, radius).height_and_slope(surface.points)[0]
        if raised.max() < LEAST_RAISED * rib.height:
            raise JobError(
                f"rib[{i}].x",
                f'"{rib.name}" at x = {rib.x:g} mm from station {rib.rear:g} to {rib.front:g} deg is beside the skin; move it onto '
                "the fender",
                point_at(radius, 0.5 * (rib.front + rib.rear), rib.x),
            )


def thinnest(job: Job) -> float:
    """The least thickness that the sheet asks of the wall, mm."""
    return min(_thicknesses(job))


def thickest(job: Job) -> float:
    """The greatest thickness that the sheet allows the wall, ribs left out, mm."""
    return max(_thicknesses(job))


def _thicknesses(job: Job) -> tuple[float, ...]:
    wall = job.wall
    stated = (wall.front_thickness, wall.rear_thickness, wall.painted_thickness)
    return (wall.thickness, *(value for value in stated if value is not None))


def wall_at_cut(job: Job) -> float:
    """The least thickness that the middle cut may go through, mm.

    Across it may leave the seat only where the wall is painted; along it reaches both tips.
    """
    if job.split.plane == "along":
        return thinnest(job)
    painted = job.wall.painted_thickness
    return job.wall.thickness if painted is None else min(job.wall.thickness, painted)
