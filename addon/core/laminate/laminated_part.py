# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminated part itself, and what it takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate, pairwise

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError, ShapeError
from ..base.format_place import format_place
from ..job.job_sheet import Job, Laminate
from ..mesh.open_surface import Surface
from ..mesh.triangle_mesh import TriangleMesh
from ..plies.schedule import Schedule, laminate_schedule
from ..seat.seat import Seat
from ..seat.seat_offset import wall_shares
from ..tables.laminates import PLIES
from ..wall.closed_wall import ClosedWall, closed_wall
from ..wall.curvature import principal_curvatures
from ..wall.edge_plan import EdgePlan
from ..wall.job_laminate import laminate_mix, laminate_mm
from ..wall.rim_profile import RimEdge

_TRIMMED = EdgePlan.all_round(RimEdge("square", 0.0))


def laminated_part(job: Job, surface: Surface, seats: Sequence[Seat]) -> ClosedWall:
    """The part of a job with a laminate: its outer face is that of the print's wall, its thickness that of the plies.

    surface : the trimmed skin, wheel axes; seats : the mount's first. They get a land of constant thickness, since plies have no other.
    Raises JobError or ShapeError, with the place, where the laminate is too thick for the shape.
    """
    thickness, outward = laminate_mm(job), wall_shares(job.wall)[0]
    lands = [replace(seat, solid=False) for seat in seats]
    try:
        return closed_wall(surface, outward, thickness - outward, _TRIMMED, *lands)
    except ShapeError as error:
        raise ShapeError(f"the laminate of {thickness:.2f} mm cannot be: {error}", error.place) from error


def check_bends(wall: ClosedWall, laminate: Laminate) -> None:
    """Raise JobError, with the place, where the part bends more tightly than its stiffest ply lies down."""
    stiffest = max(laminate.plies, key=lambda name: PLIES[name].bend)
    least, greatest = principal_curvatures(Surface(wall.outer, wall.normals, wall.triangles))
    bend = np.maximum(np.abs(least), np.abs(greatest))
    worst = int(np.argmax(bend))
    radius = 1.0 / float(bend[worst])
    if radius < PLIES[stiffest].bend:
        place = wall.outer[wall.triangles[worst]].mean(axis=0)
        index = laminate.plies.index(stiffest)
        raise JobError(
            f"laminate.plies[{index}]",
            f'"{stiffest}" lies on a radius of {PLIES[stiffest].bend:g} mm at least, but the part bends to {radius:.1f} mm '
            f"{format_place(place)}; shape it rounder there, widen the seat's blend, or choose a finer ply",
            place,
        )


def part_schedule(laminate: Laminate, wall: ClosedWall) -> Schedule:
    """The schedule over the part's real area: each ply has the area of the face at its own depth."""
    mix = laminate_mix(laminate)
    outer, inner = (TriangleMesh(points, wall.triangles).area for points in (wall.outer, wall.inner))
    thin = laminate_schedule(laminate.plies, mix, [0.0] * len(laminate.plies), 0.0)
    tops = list(accumulate((layer.thickness for layer in thin.layers), initial=mix.gel_coat))
    middles: Array = np.array([0.5 * (one + two) for one, two in pairwise(tops)])
    # an edge that is turned out adds the half of what it has on both sides
    turned = max(0.5 * (wall.mesh.area - outer - inner), 0.0) if laminate.edge != "trim" else 0.0
    areas = outer + (inner - outer) * middles / thin.thickness + turned
    return laminate_schedule(laminate.plies, mix, areas.tolist(), outer + turned)
