# SPDX-License-Identifier: GPL-3.0-or-later
"""The room between the seat with its screws and the tire at its largest."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..bodies.body import Body
from ..job.job_sheet import Job
from ..seat.mount import MountFrame, mount_frame
from ..seat.seat_offset import wall_shares
from ..wall.job_edges import skin_shares
from ..wall.job_laminate import laminate_mm
from .budget import LATERAL, Budget, budget
from .clearance_field import tire_limit
from .envelope import envelope
from .hardware_clearance import hardware_clearances, stated_hardware


@dataclass(frozen=True, eq=False)
class Room:
    """Room under a seat, mm.

    available_mm : least distance from what is over it to the envelope; required_mm : what it must be
    point : (3,) float, wheel axes, where the least is
    key : of the sheet, that says where the seat is; what : is over the envelope there
    """

    available_mm: float
    required_mm: float
    point: Array
    key: str
    what: str

    @property
    def missing_mm(self) -> float:
        """How much is missing; zero or less if there is room."""
        return self.required_mm - self.available_mm


SEAT_FACE = "the inner face under the seat"


def room(job: Job) -> Room:
    """The least room of a job: under the seat's face, or under the heads, washers and nuts of all seats.

    Raises JobError as seat_room and stated_hardware do.
    """
    return min((seat_room(job), *hardware_rooms(job)), key=lambda one: -one.missing_mm)


def hardware_rooms(job: Job) -> tuple[Room, ...]:
    """Room under each head and nut that stands toward the tire, as the sheet has them; see stated_hardware."""
    limit = tire_limit(job, "part")
    found = hardware_clearances(stated_hardware(job, mount_frame(job)), [limit])
    return tuple(
        Room(one.proof.min_mm, limit.required_mm, one.proof.point, _height_key(one.hardware.key), f"the {one.hardware.name}")
        for one in found
    )


def _height_key(section: str) -> str:
    return "mount.height" if section == "mount" else f"{section}.center"


def seat_room(job: Job) -> Room:
    """Room under the seat's face; raises JobError if the mount plane misses the tire or the profile is unusable.

    The inner face is the mount plane if the fender lies over the plate, else a wall's thickness beneath it. The skin also keeps
    what a bead stands past the wall.
    """
    frame = mount_frame(job)
    above = 0.0 if job.mount.side == "over" else -job.wall.thickness
    available, point = least_over_seat(frame, above, envelope(job).body)
    past_wall = skin_shares(job)[1] - wall_shares(job.wall)[1]
    return Room(available, budget(job).required_mm + past_wall, point, "mount.height", SEAT_FACE)


def check_room(job: Job) -> None:
    """JobError if there is not enough room under a seat: how much is missing, and which budget lines eat it, or that the laminate does."""
    found = room(job)
    deeper = laminate_mm(job) - job.wall.thickness
    if 0.0 < found.missing_mm <= deeper:
        raise JobError(
            "laminate.plies",
            f"make a laminate of {laminate_mm(job):.2f} mm, {deeper:.2f} mm more than the wall, but under the seat there are only "
            f"{deeper - found.missing_mm:.2f} mm left for that; take fewer or thinner plies, or raise mount.height",
        )
    if found.missing_mm > 0.0 and job.mount.carried_by != "axle":
        _refuse_travel(job, found)
    if found.missing_mm > 0.0:
        stated = f"{job.mount.height:g} leaves" if found.key == "mount.height" else "leaves"
        help_ = "" if found.what == SEAT_FACE else "; mount it higher, or sink the screws by another hardware"
        raise JobError(
            found.key,
            f"{stated} {found.available_mm:.1f} mm from {found.what} to the tire at its largest, but {found.required_mm:.1f} mm are "
            f"required: {found.missing_mm:.1f} mm are missing; the room goes to {_users_of_room(job, budget(job))}{help_}",
            None if found.what == SEAT_FACE else found.point,
        )


def _refuse_travel(job: Job, found: Room) -> None:
    """JobError if the wheel's travel takes the room that would be there without it."""
    bump = job.travel.bump or 0.0
    if not _has_room(job, 0.0):
        return
    allowed, refused = 0.0, bump
    while refused - allowed > _WHOLE_MM:
        middle = 0.5 * (allowed + refused)
        allowed, refused = (middle, refused) if _has_room(job, middle) else (allowed, middle)
    raise JobError(
        "travel.bump",
        f"{bump:g} brings the tire at its largest to {found.available_mm:.1f} mm from {found.what}, but {found.required_mm:.1f} mm are "
        f"required: allowed is about {math.floor(allowed):d} mm under this mount; mount it higher by what is over that",
        found.point,
    )


_WHOLE_MM = 0.5


def _has_room(job: Job, bump: float) -> bool:
    return room(replace(job, travel=replace(job.travel, bump=bump))).missing_mm <= 0.0


def least_over_seat(frame: MountFrame, above: float, body: Body) -> tuple[float, Array]:
    """Least distance to a convex body over the seat's outline and its inside, in a plane `above` mm over the mount plane.

    Returns the distance and the point (3,). The distance is a convex function on a convex region, so a grid that closes in
    on its best point finds the least; the outline is sampled besides, as the grid misses it.
    """
    outline = frame.outline(512)
    low, high = outline.min(axis=0), outline.max(axis=0)
    best, best_uv = np.inf, outline[0]
    for _ in range(_ROUNDS):
        uv = np.concatenate([_grid(low, high), outline])
        uv = uv[frame.outline_distance(uv) <= 1e-9]
        distance = body.distance(frame.to_axes(uv, above))
        i = int(np.argmin(distance))
        if distance[i] < best:
            best, best_uv = float(distance[i]), uv[i]
        reach = (high - low) / _CLOSER
        low, high = best_uv - reach, best_uv + reach
    return best, frame.to_axes(best_uv, above)


_ROUNDS = 4
_GRID = 25
_CLOSER = 8.0


def _grid(low: Array, high: Array) -> Array:
    u, v = np.meshgrid(np.linspace(low[0], high[0], _GRID), np.linspace(low[1], high[1], _GRID))
    return np.column_stack([u.ravel(), v.ravel()])


def _users_of_room(job: Job, allowances: Budget) -> str:
    parts = [f"{line.name} {line.mm:.1f}" for line in allowances.lines if line.direction != LATERAL and line.code != "wall"]
    if job.mount.side == "under":
        parts.append(f"wall {job.wall.thickness:.1f}")
    if laminate_mm(job) > job.wall.thickness:
        parts.append(f"laminate beyond the wall {laminate_mm(job) - job.wall.thickness:.1f}")
    return ", ".join(parts) + " mm"
