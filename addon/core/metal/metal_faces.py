# SPDX-License-Identifier: GPL-3.0-or-later
"""Both faces of the fender in sheet metal, and the bead of its wired edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array, Index
from ..job.job_sheet import Job, Wall
from ..mesh.open_surface import Surface
from ..seat.mount import mount_frame
from ..seat.placed_seat import placed_seats
from ..seat.seat_offset import wall_shares
from ..wall.closed_wall import closed_wall


@dataclass(frozen=True, eq=False)
class MetalFaces:
    """The sheet metal. outer, inner : (n, 3) float, mm, wheel axes, point by point; triangles : (m, 3) int of either face

    edges : (k, 3) float each, closed rings, mm, of the inner face; outward : (k, 3) float each, the unit normals there
    """

    outer: Array
    inner: Array
    triangles: Index
    edges: tuple[Array, ...]
    outward: tuple[Array, ...]


@dataclass(frozen=True, eq=False)
class Bead:
    """The wire in the rolled edge, with the metal round it. lines : (k, 3) float each, closed, mm, its middle; radius : over all"""

    lines: tuple[Array, ...]
    radius: float


def metal_job(job: Job) -> Job:
    """The job with a plain wall of its sheet metal: no ribs, openings, beads or recesses, and the skin on the same of its faces.

    Raises ValueError if the sheet has no section [metal].
    """
    if job.metal is None:
        raise ValueError("job: its sheet has no section [metal]")
    sheet_mm = job.metal.sheet
    return replace(
        job,
        mount=replace(job.mount, hardware="plain", washer=None, recess=None),
        seats=tuple(replace(seat, hardware="plain", washer=None, recess=None) for seat in job.seats),
        wall=Wall(thickness=sheet_mm, side=job.wall.side, edge="square", edge_size=0.0),
        ribs=(),
        openings=(),
        edge=type(job.edge)(),
    )


def metal_faces(job: Job, surface: Surface) -> MetalFaces:
    """The faces of a fender of sheet metal, flat at the seats.

    job : as metal_job makes it; surface : the whole skin, trimmed for that job
    Raises JobError or ShapeError with a sentence where such a wall cannot be.
    """
    seats = placed_seats(job, mount_frame(job), surface)
    wall = closed_wall(surface, *wall_shares(job.wall), "square", *(placed.seat for placed in seats))
    rings = [wall.boundary.vertex[ring] for ring in wall.boundary.rings]
    way = (wall.outer - wall.inner) / job.wall.thickness
    return MetalFaces(
        wall.outer, wall.inner, wall.triangles, tuple(wall.inner[ring] for ring in rings), tuple(way[ring] for ring in rings)
    )


def wire_bead(faces: MetalFaces, sheet_mm: float, wire_mm: float, side: str) -> Bead:
    """The bead of a wire of a diameter that the edge is rolled round, flush with the other face. side : "inside" or "outside"

    A wired edge is as thick as the wire and twice the metal (common practice).
    """
    radius = 0.5 * wire_mm + sheet_mm
    # flush with the outer face the middle is one radius under it, that is radius - sheet under the inner one
    away = sheet_mm - radius if side == "inside" else radius
    return Bead(tuple(edge + away * out for edge, out in zip(faces.edges, faces.outward, strict=True)), radius)


def bead_spheres(bead: Bead, step: float) -> Array:
    """Middles (n, 3) of balls of the bead's radius that fill it, at most a step apart, mm."""
    found = []
    for line in bead.lines:
        ahead = np.roll(line, -1, axis=0) - line
        counts = np.maximum(np.ceil(np.linalg.norm(ahead, axis=1) / step).astype(np.int64), 1)
        which = np.repeat(np.arange(len(line)), counts)
        share = (np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[which]
        found.append(line[which] + share[:, None] * ahead[which])
    return np.concatenate(found)
