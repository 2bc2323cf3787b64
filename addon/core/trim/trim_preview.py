# SPDX-License-Identifier: GPL-3.0-or-later
"""What a job's trim takes from a skin, without cutting it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..arrays import Array, Index
from ..errors import JobError, ShapeError
from ..job_edges import job_edges
from ..job_sheet import Job
from ..keepout import MeshBodyMaker
from ..solid.refine import unique_edges
from ..solid.rim_profile import rim_reach
from ..solid.sheet import Sheet
from ..solid.triangle_mesh import connected_labels
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


def trim_preview(job: Job, sheet: Sheet, mesh_body: MeshBodyMaker | None = None) -> TrimPreview | None:
    """The field of a job's trim at the points of a skin; None if the job trims nothing. See trimmed for the arguments.

    The skin is cut, which takes ten times as long, only where its points show that it may fall apart, get narrow, or an opening
    may run into an edge.
    """
    try:
        field = trim_field(job, sheet, mesh_body)
    except (JobError, ShapeError) as error:
        return TrimPreview(None, error)
    if field is None:
        return None
    values = field.values(sheet.points, sheet.normals)
    trouble: JobError | ShapeError | None = None
    try:
        check_seat(job, sheet, field)
        if _may_be_refused(job, sheet, field, values):
            trimmed(job, sheet, mesh_body)
    except (JobError, ShapeError) as error:
        trouble = error
    return TrimPreview(values, trouble)


def _may_be_refused(job: Job, sheet: Sheet, field: TrimField, values: Array) -> bool:
    """Whether the cut must be made to know: the kept skin falls apart where it is narrow, or an opening is near an edge."""
    wall = job.wall.thickness
    # where the edges take a wall more, a strip of less than twice that parts, or is gone and joins the edges beside it
    kept = _parts_and_euler(sheet.triangles[(values[sheet.triangles] > 0.0).all(axis=1)], len(values))
    thin = _parts_and_euler(sheet.triangles[(values[sheet.triangles] > wall).all(axis=1)], len(values))
    if kept[0] != 1 or thin != kept or _comes_near_the_rim(sheet, field, 6.0 * wall):
        return True
    reach = rim_reach(job_edges(job).openings, wall) + job_edges(job).far(wall) + 2.0 * wall
    rim = np.zeros(len(values), bool)
    rim[sheet.boundary.vertex] = True
    for opening in (edge for edge in field.edges if edge.opening):
        near = opening.distance(sheet.points, sheet.normals)[0] < reach
        others = replace(field, edges=tuple(edge for edge in field.edges if edge is not opening))
        if rim[near].any() or (others.values(sheet.points[near], sheet.normals[near]) < 0.0).any():
            return True
    return False


def _comes_near_the_rim(sheet: Sheet, field: TrimField, near: float) -> bool:
    """Whether a line or scallop comes near to the edge of the skin and goes away again without crossing it."""
    boundary = sheet.boundary
    points, normals = sheet.points[boundary.vertex], sheet.normals[boundary.vertex]
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
    parts = len(np.unique(connected_labels(count, triangles)[triangles[:, 0]]))
    edges, _ = unique_edges(triangles, count)
    return parts, len(np.unique(triangles)) - len(edges) + len(triangles)
