# SPDX-License-Identifier: GPL-3.0-or-later
"""What a job's trim takes from a skin, without cutting it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import JobError, ShapeError
from ..clearance.keepout import MeshBodyMaker
from ..job.job_sheet import Job
from ..mesh.open_surface import Surface
from ..mesh.refine import unique_edges
from ..mesh.triangle_mesh import connected_components
from ..wall.job_edges import job_edges
from ..wall.rim_profile import rim_reach
from .job_trim import trim_field
from .trim_field import TrimField
from .trimmed import check_seat, trimmed


@dataclass(frozen=True, eq=False)
class TrimPreview:
    """values : (n,) float, mm at the points of the skin, negative where it is cut away; None if there is no field

    trouble : why the skin cannot be trimmed so, None if nothing speaks against it
    """

    values: Array | None
    trouble: JobError | ShapeError | None


def trim_preview(job: Job, surface: Surface, mesh_body: MeshBodyMaker | None = None) -> TrimPreview | None:
    """The field of a job's trim at the points of a skin; None if the job trims nothing. See trimmed for the arguments.

    The skin is cut, which takes ten times as long, only where its points show that it may fall apart, get narrow, or an opening
    may run into an edge.
    """
    try:
        field = trim_field(job, surface, mesh_body)
    except (JobError, ShapeError) as error:
        return TrimPreview(None, error)
    if field is None:
        return None
    values = field.values(surface.points, surface.normals)
    trouble: JobError | ShapeError | None = None
    try:
        check_seat(job, surface, field)
        if _may_be_refused(job, surface, field, values):
            trimmed(job, surface, mesh_body)
    except (JobError, ShapeError) as error:
        trouble = error
    return TrimPreview(values, trouble)


def _may_be_refused(job: Job, surface: Surface, field: TrimField, values: Array) -> bool:
    """Whether the cut must be made to know: the kept skin falls apart where it is narrow, or an opening is near an edge."""
    wall = job.wall.thickness
    # where the edges take a wall more, a strip of less than twice that parts, or is gone and joins the edges beside it
    kept = _parts_and_euler(surface.triangles[(values[surface.triangles] > 0.0).all(axis=1)], len(values))
    thin = _parts_and_euler(surface.triangles[(values[surface.triangles] > wall).all(axis=1)], len(values))
    if kept[0] != 1 or thin != kept or _comes_near_the_rim(surface, field, 6.0 * wall):
        return True
    reach = rim_reach(job_edges(job).openings, wall) + job_edges(job).far(wall) + 2.0 * wall
    rim = np.zeros(len(values), bool)
    rim[surface.boundary.vertex] = True
    for opening in (edge for edge in field.edges if edge.opening):
        near = opening.distance(surface.points, surface.normals)[0] < reach
        others = replace(field, edges=tuple(edge for edge in field.edges if edge is not opening))
        if rim[near].any() or (others.values(surface.points[near], surface.normals[near]) < 0.0).any():
            return True
    return False


def _comes_near_the_rim(surface: Surface, field: TrimField, near: float) -> bool:
    """Whether a line or scallop comes near to the edge of the skin and goes away again without crossing it."""
    boundary = surface.boundary
    points, normals = surface.points[boundary.vertex], surface.normals[boundary.vertex]
    for edge in (edge for edge in field.edges if not edge.opening):
        away = edge.distance(points, normals)[0]
        nearest = (away <= away[boundary.before]) & (away <= away[boundary.after])
        if (nearest & (away > 0.0) & (away < near)).any():
            return True
    return False


def _parts_and_euler(triangles: Index, count: int) -> tuple[int, int]:
    """Number of parts, and points less edges plus triangles: a part less for each hole."""
    if not len(triangles):
        return 0, 0
    parts = len(np.unique(connected_components(count, triangles)[triangles[:, 0]]))
    edges, _ = unique_edges(triangles, count)
    return parts, len(np.unique(triangles)) - len(edges) + len(triangles)
