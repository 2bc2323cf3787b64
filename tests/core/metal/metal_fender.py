# SPDX-License-Identifier: GPL-3.0-or-later
"""A fender of sheet metal and its buck, for the tests."""

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import manifold3d
import numpy as np

from addon.core.base.arrays import Array
from addon.core.base.wheel_axes import point_at
from addon.core.drawing.flat_part import FlatPart
from addon.core.job.job_sections import Metal
from addon.core.job.job_sheet import read_job_sheet
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.metal.buck_boards import buck_boards
from addon.core.metal.buck_plan import BuckPlan, buck_plan
from addon.core.metal.metal_faces import Bead, MetalFaces, metal_faces, metal_job, wire_bead
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.trim.trimmed import trimmed

SHEETS = Path(__file__).parents[3] / "blend_demo"
METAL = Metal(plywood=9.0, wire=4.0, across=80.0)


@dataclass(frozen=True, eq=False)
class Buck:
    faces: MetalFaces
    bead: Bead
    plan: BuckPlan
    boards: tuple[FlatPart, ...]


@cache
def buck(sheet: str = "front_17") -> Buck:
    """The buck of a demonstration sheet, with a wired edge."""
    job = metal_job(replace(read_job_sheet(SHEETS / f"{sheet}.toml"), metal=METAL))
    cage = seed_cage(job).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    faces = metal_faces(job, trimmed(job, surface_of_quads(whole.points, whole.normals, whole.quads)))
    bead = wire_bead(faces, METAL.sheet, METAL.wire, METAL.wire_side)
    plan = buck_plan(METAL, faces, 2.0 * bead.radius + METAL.plywood)
    return Buck(faces, bead, plan, buck_boards(METAL, plan, faces, bead))


def board_axes(of: Buck, number: int) -> tuple[Array, Array, Array, Array]:
    """Where a board stands in wheel axes: origin, right, up, and the way through it."""
    stations = of.plan.stations_deg
    if number < len(stations):
        turn = np.radians(stations[number])
        return (
            np.zeros(3),
            np.array([1.0, 0.0, 0.0]),
            point_at(1.0, stations[number]),
            np.array([0.0, -np.cos(turn), -np.sin(turn)]),
        )
    x = of.plan.offsets[number - len(stations)]
    return np.array([x, 0.0, 0.0]), np.array([0.0, -1.0, 0.0]), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])


def board_body(of: Buck, number: int, thickness: float) -> manifold3d.Manifold:
    """A board as a body in wheel axes."""
    section = manifold3d.CrossSection([np.array(ring) for ring in of.boards[number].rings])
    body = section.extrude(thickness).translate((0.0, 0.0, -0.5 * thickness))
    origin, right, up, through = board_axes(of, number)
    if np.linalg.det(np.column_stack([right, up, through])) < 0.0:
        through = -through
    return body.transform(np.column_stack([right, up, through, origin]))
