# SPDX-License-Identifier: GPL-3.0-or-later
"""How each step of the job grows with the number of skin points: its time beside that of the smallest skin, scaled linearly."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from addon.core.clearance.clearance_field import ClearanceField, clearance_field
from addon.core.clearance.proof import proven_clearance
from addon.core.job.job_sheet import Job, read_job_sheet
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.seat.mount import mount_frame
from addon.core.seat.placed_seat import mount_seat
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.wall.closed_wall import closed_wall
from addon.pipeline.finish import finish
from bench_row import BenchRow, seconds, sized

SHEET = Path(__file__).resolve().parents[2] / "blend_demo" / "front_17.toml"
GRIDS = sized(((7, 4, 4), (7, 4, 5), (15, 6, 5), (22, 8, 5)), ((7, 4, 3), (7, 4, 4)))
"""Stations, columns and level of the skins measured: whole skins of about 9,000 to 300,000 points."""


def steps(job: Job, field: ClearanceField, level: int) -> tuple[int, dict[str, float]]:
    """Points of the whole skin, and ms of each step for it."""
    cage = seed_cage(job, field).cage
    stencil = skin_stencil(cage.topology, level)
    whole = full_skin(skin(cage, stencil))
    surface = surface_of_quads(whole.points, whole.normals, whole.quads)
    frame = mount_frame(job)
    wall = closed_wall(surface, 0.0, job.wall.thickness, job.wall.edge, mount_seat(job, frame)).mesh
    tire = field.limits[0].body
    return len(whole.points), {
        "skin": once_ms(lambda: full_skin(skin(cage, stencil))),
        "clearance of the skin": once_ms(lambda: field.excess(whole.points)),
        "wall, holes and split": once_ms(lambda: finish(job, surface, frame)),
        "proof on the triangles": once_ms(lambda: proven_clearance(wall.vertices, wall.triangles, tire)),
    }


def once_ms(run: Callable[[], object]) -> float:
    return 1000.0 * seconds(run, 1, warm_up=False)[0]


def rows() -> list[BenchRow]:
    plain = read_job_sheet(SHEET)
    measured = []
    for stations, columns, level in GRIDS:
        job = replace(plain, cage=replace(plain.cage, stations=stations, columns=columns))
        measured.append(steps(job, clearance_field(job), level))
    least, first = measured[0]
    return [
        BenchRow(f"{name}, {count:,} skin points (ms), beside linear growth from {least:,}", taken, first[name] * count / least)
        for count, figures in measured
        for name, taken in figures.items()
    ]
