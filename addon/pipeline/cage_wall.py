# SPDX-License-Identifier: GPL-3.0-or-later
"""The wall of a cage, before anything is bored or cut."""

from __future__ import annotations

from ..core.clearance.keepout import MeshBodyMaker
from ..core.job.job_sheet import Job
from ..core.mesh.open_surface import Surface, surface_of_quads
from ..core.seat.mount import mount_frame
from ..core.seat.placed_seat import PlacedSeat, placed_seats
from ..core.seat.seat_offset import wall_shares
from ..core.skin.cage import Cage
from ..core.skin.skin import full_skin, skin
from ..core.skin.skin_stencil import skin_stencil
from ..core.trim.trimmed import trimmed
from ..core.wall.closed_wall import ClosedWall, closed_wall
from ..core.wall.job_edges import job_edges
from ..core.wall.job_wall import check_ribs_on_skin, wall_shape

_LEVEL = 4


def cage_wall(job: Job, cage: Cage, mesh_body: MeshBodyMaker | None) -> tuple[ClosedWall, tuple[PlacedSeat, ...]]:
    """The trimmed skin of a cage with its wall, and the seats. Raises CageError, JobError or ShapeError with a sentence."""
    surface = cage_surface(job, cage, mesh_body)
    placed = placed_seats(job, mount_frame(job), surface)
    return seated_wall(job, surface, placed), placed


def cage_surface(job: Job, cage: Cage, mesh_body: MeshBodyMaker | None) -> Surface:
    """The trimmed skin of a cage. Raises CageError, JobError or ShapeError with a sentence."""
    whole = full_skin(skin(cage, skin_stencil(cage.topology, _LEVEL)))
    return trimmed(job, surface_of_quads(whole.points, whole.normals, whole.quads, whole.paint), mesh_body)


def seated_wall(job: Job, surface: Surface, placed: tuple[PlacedSeat, ...]) -> ClosedWall:
    """The wall around a trimmed skin, with its seats worked in. Raises JobError or ShapeError with a sentence."""
    check_ribs_on_skin(job, surface)
    outward, inward = wall_shares(job.wall)
    seats = (each.seat for each in placed)
    return closed_wall(surface, outward, inward, job_edges(job), *seats, shape=wall_shape(job))
