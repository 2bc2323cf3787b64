# SPDX-License-Identifier: GPL-3.0-or-later
"""The seats of a job as the wall gets them: that of the mount, then the further ones where the sheet puts them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array
from ..job.job_sheet import FurtherSeat, Job
from ..mesh.open_surface import Surface
from ..tables.edge_distance import edge_distance
from .bore import Bolted, Bore, bore_of
from .mount import MountFrame
from .seat import Seat

_FACING = 0.9
"""Cosine to the way forward from which a plane counts as facing forward or rearward; our choice."""


@dataclass(frozen=True, eq=False)
class PlacedSeat:
    """A seat with its bores. name : of the seat; bolted : its section of the sheet; edge_distance : of its holes, mm

    bracket : thickness of what it bears on, mm, None if not stated
    """

    name: str
    seat: Seat
    bolted: Bolted
    bore: Bore
    edge_distance: float
    bracket: float | None


def placed_seats(job: Job, frame: MountFrame, surface: Surface) -> tuple[PlacedSeat, ...]:
    """The mount's seat first, then each further one, with its mirror image behind it where both sides get it.

    surface : the whole skin, which tells the face that a further seat is on: the outer one if its normal looks as the skin there
    Raises JobError where the hardware of a seat does not go together.
    """
    placed = [placed_mount(job, frame)]
    for i, further in enumerate(job.seats):
        for mirrored in _sides(further):
            placed.append(_placed(job, f"seat[{i}]", further, surface.points, surface.normals, mirrored))
    return tuple(placed)


def stated_seats(job: Job) -> tuple[PlacedSeat, ...]:
    """The further seats as the sheet alone puts them, mirror images behind their seats.

    Without a skin they count as on its outer face: their bracket side is right, but not which face of the wall bears on it.
    Raises JobError where the hardware of a seat does not go together.
    """
    return tuple(
        _placed(job, f"seat[{i}]", further, np.array([further.center]), _toward(further)[None], mirrored)
        for i, further in enumerate(job.seats)
        for mirrored in _sides(further)
    )


def _sides(further: FurtherSeat) -> tuple[bool, ...]:
    """Whether mirrored, of each seat that a section stands for."""
    return (False, True) if further.sides == "both" else (False,)


def _toward(further: FurtherSeat) -> Array:
    """(3,) unit, from the fender to the bracket."""
    return np.asarray(np.array(further.normal) / np.linalg.norm(further.normal))


def placed_mount(job: Job, frame: MountFrame) -> PlacedSeat:
    """The mount's seat with its bores. Raises JobError where its hardware does not go together."""
    mount = job.mount
    return PlacedSeat(
        "mount",
        mount_seat(job, frame),
        mount,
        bore_of("mount", mount),
        edge_distance(mount.thread, job.laminate is not None),
        mount.plate[2] if mount.plate is not None else None,
    )


def mount_seat(job: Job, frame: MountFrame) -> Seat:
    """The seat that the mount asks for."""
    return Seat(
        origin=frame.origin,
        x=frame.x,
        forward=frame.forward,
        normal=frame.up,
        bolts=frame.bolts_uv,
        pad=frame.pad,
        blend=job.mount.blend,
        face="outer" if job.mount.side == "under" else "inner",
        solid=job.wall.seat == "pad",
    )


def further_seat(job: Job, key: str, further: FurtherSeat, points: Array, normals: Array) -> Seat:
    """A further seat as stated, not its mirror image.

    key : its section, such as "seat[0]"; points, normals : (n, 3) float, the skin and its outward unit normals
    """
    toward = _toward(further)
    ahead = np.array([0.0, 0.0, 1.0] if abs(toward[1]) > _FACING else [0.0, -1.0, 0.0])
    ahead -= (ahead @ toward) * toward
    ahead /= np.linalg.norm(ahead)
    across = np.cross(toward, ahead)
    turn = np.radians(further.turn)
    center = np.array(further.center)
    # a skin may pass there twice, as at the end of a flap: the nearest place that looks along the plane's normal counts
    away = np.linalg.norm(points - center, axis=1) / np.maximum(np.abs(normals @ toward), 0.1)
    outer = float(normals[np.argmin(away)] @ toward) >= 0.0
    travel = bore_of(key, further).travel
    least = edge_distance(further.thread, job.laminate is not None) + travel
    return Seat(
        origin=center,
        x=np.cos(turn) * across - np.sin(turn) * ahead,
        forward=np.cos(turn) * ahead + np.sin(turn) * across,
        normal=toward if outer else -toward,
        bolts=np.array(further.bolts),
        pad=least if further.pad is None else further.pad,
        blend=further.blend,
        face="outer" if outer else "inner",
        solid=job.wall.seat == "pad",
        key=key,
        called=f'plane of the seat "{further.name}"',
    )


def called(placed: PlacedSeat) -> str:
    """A further seat as lists name it."""
    name, comma, mirrored = placed.name.partition(", mirrored")
    return f'the seat "{name}"{comma}{mirrored}'


def mirrored_seat(seat: Seat) -> Seat:
    """The mirror image on the other side of the bike."""
    flip = np.array([-1.0, 1.0, 1.0])
    return replace(
        seat,
        origin=seat.origin * flip,
        x=seat.x * flip,
        forward=seat.forward * flip,
        normal=seat.normal * flip,
        called=f"mirrored {seat.called}",
    )


def _placed(job: Job, key: str, further: FurtherSeat, points: Array, normals: Array, mirrored: bool) -> PlacedSeat:
    seat = further_seat(job, key, further, points, normals)
    return PlacedSeat(
        f"{further.name}, mirrored" if mirrored else further.name,
        mirrored_seat(seat) if mirrored else seat,
        further,
        bore_of(key, further),
        edge_distance(further.thread, job.laminate is not None),
        further.bracket,
    )
