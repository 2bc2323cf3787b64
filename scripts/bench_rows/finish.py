# SPDX-License-Identifier: GPL-3.0-or-later
"""A whole finish with trims, beside the host's own modifiers on the same skin."""

import statistics
from dataclasses import replace
from pathlib import Path
from typing import cast

import bpy
import numpy as np

from addon.core.job.job_sheet import Job, read_job_sheet
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.mesh.prism import box
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.shaping.seed import seed_cage
from addon.core.trim.trimmed import trimmed
from addon.host.triangle_mesh_data import mesh_data
from addon.pipeline.job_result import JobResult, Timings, make_job
from bench_row import BenchRow, seconds, sized

SHEET = Path(__file__).resolve().parents[2] / "blend_demo" / "front_21.toml"
STATIONS, COLUMNS = sized((15, 5), (7, 4))
"""Of a cage whose finished part has about 150,000 triangles."""


def rows() -> list[BenchRow]:
    plain = read_job_sheet(SHEET)
    job = replace(plain, cage=replace(plain.cage, stations=STATIONS, columns=COLUMNS))
    cage = seed_cage(job).cage
    result = make_job(job, cage, _silent())
    count = sum(len(part.mesh.triangles) for part in result.finished.parts)
    ours = statistics.median(seconds(lambda: make_job(job, cage, _silent()), 3, warm_up=False))
    skin = result.skin
    surface = trimmed(job, surface_of_quads(skin.points, skin.normals, skin.quads))
    host = statistics.median(seconds(lambda: _host_version(job, surface, result), 3, warm_up=False))
    return [
        BenchRow(
            f"trim, wall, seat, holes, split, proof and print plan, {count:,} triangles (s); reference: the host's Solidify and two "
            "Booleans on the trimmed skin",
            ours,
            host,
            4.0,
        )
    ]


def _silent() -> Timings:
    return Timings(lambda said: None)


def _host_version(job: Job, surface: Surface, result: JobResult) -> None:
    """What a builder would do by hand after the trim: a wall without seat, holes or lap, cut in two by boxes."""
    joint = result.finished.joint
    assert joint is not None
    across = np.array([1.0, 0.0, 0.0])
    axes = np.stack([joint.normal, across, np.cross(joint.normal, across)])
    for low, high in ((0.0, 1000.0), (-1000.0, 0.0)):
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        part = _linked("part", TriangleMesh(surface.points, surface.triangles))
        wall = cast(bpy.types.SolidifyModifier, part.modifiers.new("wall", "SOLIDIFY"))
        wall.thickness = job.wall.thickness
        cut = cast(bpy.types.BooleanModifier, part.modifiers.new("cut", "BOOLEAN"))
        cut.object = _linked("room", box(joint.point, axes, np.array([low, -1000.0, -1000.0]), np.array([high, 1000.0, 1000.0])))
        cut.solver, cut.operation = "MANIFOLD", "INTERSECT"
        evaluated = part.evaluated_get(bpy.context.evaluated_depsgraph_get())
        evaluated.to_mesh()
        evaluated.to_mesh_clear()


def _linked(name: str, mesh: TriangleMesh) -> bpy.types.Object:
    made = bpy.data.objects.new(name, mesh_data(name, mesh))
    bpy.context.collection.objects.link(made)
    return made
