# SPDX-License-Identifier: GPL-3.0-or-later
"""Laminated parts of the demo sheets, coarse enough for tests."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from addon.core.job.job_sheet import Job, job_to_dict, parse_job, read_job_sheet
from addon.core.laminate.laminated_part import laminated_part
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.seat.mount import mount_frame
from addon.core.seat.placed_seat import placed_seats
from addon.core.seat.seat import Seat
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.trim.trimmed import trimmed
from addon.core.wall.closed_wall import ClosedWall

DEMO = Path(__file__).resolve().parents[3] / "blend_demo"


def job_of(name: str, **laminate: object) -> Job:
    """A demo sheet with changes to its laminate."""
    data = job_to_dict(read_job_sheet(DEMO / f"{name}.toml"))
    data["laminate"] = {**data["laminate"], **laminate}
    return parse_job(data)


@dataclass(frozen=True, eq=False)
class Scene:
    """A job, its trimmed skin, its seats and its laminated part."""

    job: Job
    surface: Surface
    seats: tuple[Seat, ...]
    wall: ClosedWall


@lru_cache(maxsize=4)
def scene(name: str, level: int = 4) -> Scene:
    """The seed of a demo sheet."""
    job = job_of(name)
    cage = seed_cage(job).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, level)))
    surface = trimmed(job, surface_of_quads(whole.points, whole.normals, whole.quads))
    seats = tuple(placed.seat for placed in placed_seats(job, mount_frame(job), surface))
    return Scene(job, surface, seats, laminated_part(job, surface, seats))
