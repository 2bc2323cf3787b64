# SPDX-License-Identifier: GPL-3.0-or-later
"""A chassis mesh that moves against the skin, beside its mesh at many poses one by one; Follow Line; the buck for sheet metal."""

from dataclasses import replace
from pathlib import Path

import bpy  # noqa: F401  first: it brings mathutils
import numpy as np

from addon.core.base.arrays import Array
from addon.core.bodies.cached_body import CachedBody
from addon.core.bodies.swept import Swept
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import BikeLine, Metal, read_job_sheet
from addon.core.lines.follow_lines import follow_lines
from addon.core.lines.own_line import own_line, own_rows
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.metal.metal_faces import metal_job
from addon.core.metal.metal_part import metal_part
from addon.core.seat.mount import mount_frame
from addon.core.shaping.point_freedom import SeatRows
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.host.keepouts.mesh_body import MeshBody
from bench_row import BenchRow, median_ms, sized

_SHEET = Path(__file__).resolve().parents[2] / "blend_demo" / "front_17.toml"
_AROUND, _ALONG = sized((390, 390), (40, 40))
"""Quads of the chassis: a tube of 300,000 triangles that runs over the fender's rear."""
_POINTS = sized(31_000, 1_000)
_POSES = 30
_WAY = np.array([0.0, -15.0, -60.0])
_NEAR_MM = 37.0
"""Of a usual keep-out: what is required, and what the map shows."""
_CAGE = sized((40, 12), (7, 4))


def rows() -> list[BenchRow]:
    return [*_chassis_rows(), *_follow_rows(), *_metal_rows()]


def _chassis_rows() -> list[BenchRow]:
    job = read_job_sheet(_SHEET)
    cage = seed_cage(job).cage
    points = full_skin(skin(cage, skin_stencil(cage.topology, 5))).points[:_POINTS]
    chassis = MeshBody(_tube(), "chassis")
    count = len(chassis.mesh.triangles)
    swept_ms = median_ms(lambda: CachedBody(Swept(chassis, _WAY), _NEAR_MM).distance(points), 3)
    poses_ms = _POSES / 3 * median_ms(lambda: [chassis.distance(points - share * _WAY) for share in (0.0, 0.5, 1.0)], 1)
    cached, moved = CachedBody(Swept(chassis, _WAY), _NEAR_MM), np.flatnonzero(points[:, 1] > np.percentile(points[:, 1], 80.0))
    cached.distance(points)
    here = points.copy()

    def step() -> None:
        here[moved, 2] += 0.5
        cached.distance_and_gradient(here)

    return [
        BenchRow(
            f"chassis of {count:,} triangles through its travel, {len(points):,} points (ms); reference: {_POSES} poses one by one",
            swept_ms,
            poses_ms,
            1000.0,
        ),
        BenchRow(
            f"the same after {len(moved):,} of the points moved (ms); reference: all anew", median_ms(step, 9), swept_ms, 33.0
        ),
    ]


def _follow_rows() -> list[BenchRow]:
    job = read_job_sheet(_SHEET)
    job = replace(job, cage=replace(job.cage, stations=_CAGE[0], columns=_CAGE[1], level=3))
    field = clearance_field(job)
    seed = seed_cage(job, field)
    stencil = skin_stencil(seed.cage.topology, job.cage.level)
    crown = own_line(seed.cage, stencil, own_rows(seed.cage, stencil, "crown"), "side")
    rear = 1.03 * crown[crown[:, 0] > 120.0][::4]
    line = BikeLine(name="tank", points=tuple((float(y), float(z)) for y, z in rear), follow=1.0)
    held = SeatRows(seed.seat, mount_frame(job).up)
    took = median_ms(lambda: follow_lines(seed.cage, stencil, field, (line,), held), 3)
    return [BenchRow(f"follow a line with {len(seed.cage.points)} cage points (ms)", took, goal=1000.0)]


def _metal_rows() -> list[BenchRow]:
    job = metal_job(replace(read_job_sheet(_SHEET), metal=Metal(wire=3.0)))
    cage = seed_cage(job).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    surface = surface_of_quads(whole.points, whole.normals, whole.quads)
    limits = clearance_field(job, "part").limits
    return [
        BenchRow("buck, templates and flat crown for sheet metal (ms)", median_ms(lambda: metal_part(job, surface, limits), 3))
    ]


def _tube() -> TriangleMesh:
    """A closed, bumpy tube along the bike over the rear of the fender, from 30 to 150 mm above it."""
    around, along = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False), np.linspace(0.0, 1.0, _ALONG)
    turn, share = np.meshgrid(around, along)
    radius = 60.0 * np.sqrt(np.clip(1.0 - (2.0 * share - 1.0) ** 8, 1e-6, 1.0)) + 2.0 * np.sin(9.0 * turn) * np.sin(40.0 * share)
    places = np.stack([radius * np.cos(turn), 60.0 + 420.0 * share, 470.0 - 130.0 * share + radius * np.sin(turn)], axis=-1)
    return _closed_tube(places)


def _closed_tube(places: Array) -> TriangleMesh:
    rows, columns = places.shape[:2]
    i = np.arange(rows - 1)[:, None] * columns + np.arange(columns)
    right = np.arange(rows - 1)[:, None] * columns + (np.arange(columns) + 1) % columns
    sides = np.concatenate([np.stack([i, right, right + columns], -1), np.stack([i, right + columns, i + columns], -1)]).reshape(
        -1, 3
    )
    first, last = rows * columns, rows * columns + 1
    ring = np.arange(columns)
    low = np.stack([np.full(columns, first), (ring + 1) % columns, ring], -1)
    top = (rows - 1) * columns
    high = np.stack([np.full(columns, last), top + ring, top + (ring + 1) % columns], -1)
    middles = np.stack([places[0].mean(axis=0), places[-1].mean(axis=0)])
    return TriangleMesh(np.concatenate([places.reshape(-1, 3), middles]), np.concatenate([sides, low, high]))
